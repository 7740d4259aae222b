"""What is told of the head as a whole comes from its ports as they are; a quote from the ports as they came in."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from math import pi

import numpy as np
import pytest

from portgeom.geometry.shapes import circle
from portgeom.job.flow_values import Engine
from portgeom.job.match_values import Milling
from portgeom.job.quote_values import Quote, Range
from portgeom.job.values import Cutter, Guide, Job, SectionTable, Target, Valve
from portgeom.job.valve_values import Chamber, ValveGuide
from portgeom.model.lofted import loft_job
from portgeom.questions.handover.sheets import chamber_of, head_sheets, quote_of, seat_sheets

S = np.linspace(0.0, 80.0, 5)


@pytest.fixture
def job(job_of: Callable[..., Job], table_of: Callable[..., SectionTable]) -> Job:
    return job_of(table_of(S, [circle(40.0)] * 5), table_of(S, [circle(44.0)] * 5))


def test_a_job_that_says_nothing_of_the_head_has_no_sheets(job: Job) -> None:
    bare = Valve("intake", 50.0, 44.0, 8.0, 45.0, 1.0)
    sheets = head_sheets(replace(job, valves=(bare,)), loft_job(job))
    assert (sheets.seats, sheets.chamber, sheets.quote) == ((), None, None)


def test_throats_are_those_of_the_ports_as_last_measured(job: Job) -> None:
    valve = Valve("intake", 50.0, 44.0, 8.0, 45.0, 1.0, guide=ValveGuide(outer_diameter_mm=12.0))
    (sheet,) = seat_sheets(replace(job, valves=(valve,)), loft_job(job))
    assert sheet.figures[0].name.startswith("throat to valve, port 1")
    assert sheet.figures[0].value == pytest.approx(100.0 * 44.0 / 50.0)


def test_the_boss_of_the_port_stands_in_for_the_guide_s(job: Job) -> None:
    axis = np.array([[0.0, 60.0, 22.0], [0.0, 62.0, -20.0]])
    port = replace(job.ports[0], guide=Guide(axis, 16.0, 5.0))
    valve = Valve("intake", 50.0, 44.0, 8.0, 45.0, 1.0, guide=ValveGuide(outer_diameter_mm=12.0))
    whole = replace(job, ports=(port,), valves=(valve,))
    (sheet,) = seat_sheets(whole, loft_job(whole))
    assert [f.value for f in sheet.figures if f.name == "metal left round the guide"] == [2.0]


def test_the_chamber_takes_the_job_s_milling_and_engine(job: Job) -> None:
    chamber = Chamber(deck_area_mm2=5000.0, poured_cc=60.0, gasket_thickness_mm=1.0)
    engine = Engine(bore_mm=90.0, stroke_mm=80.0, speed_rpm=5000.0)
    found = chamber_of(replace(job, chamber=chamber, milling=Milling(deck_mm=0.4), engine=engine))
    assert found is not None
    assert found.milled is not None
    assert found.milled.volume_cc == pytest.approx(58.0)
    assert found.milled.ratio is not None


def test_a_quote_is_for_the_port_as_it_came_in_unless_a_stage_is_named(job: Job) -> None:
    # a target 2 mm wider on either side of a tube as cast; finishing covers its wall
    wanted = Target("wide", widen=np.array([[0.0, 2.0, 2.0], [80.0, 2.0, 2.0]]))
    rates = Quote(metal_cc_per_min=Range(0.5, 1.0, 2.0), finish_cm2_per_min=Range(4.0, 4.0, 4.0))
    cutter = Cutter("ball", "ball", 10.0, 9.0, 6.0, 120.0)
    port = replace(job.ports[0], target="wide")
    whole = replace(job, ports=(port,), targets=(wanted,), quote=rates, cutters=(cutter,))
    ports = loft_job(whole)
    found = quote_of(whole, ports, ports)
    assert found is not None
    finish = next(line for line in found.lines if line.what == "finish")
    # girth of the widened tube: a circle of 40 drawn apart by 4 has about the girth pi 40 + 2 x 4
    assert finish.minutes.likely == pytest.approx((pi * 40.0 + 8.0) * 80.0 / 100.0 / 4.0, rel=0.02)
    cut = [line for line in found.lines if line.what.startswith("cut")]
    # what comes off is the 40 by 4 that the two halves were drawn apart, along 80
    assert sum(line.minutes.likely for line in cut) == pytest.approx(40.0 * 4.0 * 80.0 / 1000.0, rel=0.03)
    later = quote_of(whole, ports, ports, stage_name="stage 2")
    assert later is not None
    assert sum(x.minutes.likely for x in later.lines if x.what.startswith("cut")) < sum(x.minutes.likely for x in cut)
    assert quote_of(replace(whole, quote=None), ports, ports) is None
