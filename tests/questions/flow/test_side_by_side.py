"""Side by side: every state at one depression, and readings brought to the same depression and air."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from math import pi, sqrt

import pytest

from portgeom.geometry.shapes import circle
from portgeom.job.flow_values import Stated
from portgeom.job.values import Job, SectionTable
from portgeom.model.lofted import loft_job
from portgeom.questions.flow.side_by_side import SideBySide, side_by_side
from portgeom.questions.flow.whole import all_states, flow_state

from .conftest import TWENTY_EIGHT, VALVE, cfm, reading

DISTANCE = [0.0, 40.0, 100.0]


def sections(pinch: float) -> list[object]:
    return [circle(50.0), circle(pinch), circle(46.0)]


@pytest.fixture(scope="module")
def held(job_of: Callable[..., Job], table_of: Callable[..., SectionTable]) -> Callable[..., SideBySide]:
    """Hold a port as cast, pinched to 40 mm, against its next stage, opened to 42, and a sibling of 41."""

    def beside(*readings: object, sibling: bool = False) -> SideBySide:
        places = ["face", "pinch", "throat"]
        cast, opened = (table_of(DISTANCE, sections(p), places=places) for p in (40.0, 42.0))
        job = job_of(cast, opened)
        ports = job.ports
        if sibling:
            other = job_of(table_of(DISTANCE, sections(41.0), places=places)).ports[0]
            ports = (*ports, replace(other, name="2"))
        job = replace(job, ports=ports, flow=readings, valves=(VALVE,))
        return side_by_side(all_states(job, loft_job(job)), TWENTY_EIGHT.amount)

    return beside


def test_all_states_stand_at_one_depression(held: Callable[..., SideBySide]) -> None:
    cast, opened = held().states
    assert (cast.stage, opened.stage) == ("as cast", "stage 2")
    fastest = [max(p.speed_m_s for p in s.places) for s in (cast, opened)]
    # the pinch is the smallest in both, so both run at the theoretical speed there
    assert fastest[0] == pytest.approx(fastest[1], rel=1e-6)
    assert opened.most_m3_s / cast.most_m3_s == pytest.approx(opened.smallest_mm2 / cast.smallest_mm2)
    assert (cast.best_m3_s, cast.best_lift_mm) == (None, None)


def test_stages_follow_each_other_and_latest_siblings_are_paired(held: Callable[..., SideBySide]) -> None:
    names = [(p.before.port, p.before.stage, p.after.port, p.after.stage) for p in held(sibling=True).pairs]
    assert names == [("1", "as cast", "1", "stage 2"), ("1", "stage 2", "2", "as cast")]


def test_volume_and_smallest_area_are_those_of_the_sections(held: Callable[..., SideBySide]) -> None:
    (pair,) = held().pairs
    stem = 8.0**2
    assert pair.smallest_percent == pytest.approx(100.0 * ((42.0**2 - stem) / (40.0**2 - stem) - 1.0), rel=1e-3)
    assert 0.0 < pair.volume_percent < pair.smallest_percent


def test_stages_that_were_read_are_paired_over_one_that_was_not(job_of, table_of) -> None:
    tables = [table_of(DISTANCE, sections(p)) for p in (40.0, 41.0, 42.0)]
    flow = (reading(10.0, 180.0), reading(10.0, 190.0, stage="stage 3"))
    job = replace(job_of(*tables), flow=flow)
    pairs = side_by_side(all_states(job, loft_job(job)), TWENTY_EIGHT.amount).pairs
    names = [(p.before.stage, p.after.stage, len(p.lifts)) for p in pairs]
    assert names == [("as cast", "stage 2", 0), ("stage 2", "stage 3", 0), ("as cast", "stage 3", 1)]


def test_readings_before_and_after_are_paired_by_lift(held: Callable[..., SideBySide]) -> None:
    (pair,) = held(
        reading(5.0, 100.0), reading(10.0, 180.0), reading(10.0, 189.0, stage="stage 2"), reading(12.0, 195.0)
    ).pairs
    (at,) = pair.lifts
    assert (at.lift_mm, at.percent) == (10.0, pytest.approx(5.0))
    assert at.before_m3_s == pytest.approx(cfm(180.0).amount)
    assert pair.unlike == ()


def test_another_depression_is_brought_to_the_first_and_told(held: Callable[..., SideBySide]) -> None:
    ten = Stated(10.0 * 249.08891, "pressure", "inH2O")
    (pair,) = held(reading(10.0, 180.0), reading(10.0, 110.0, stage="stage 2", depression=ten)).pairs
    # nearly as the square root of the depression, and less, for air thins more at the higher one
    scaled = cfm(110.0).amount * sqrt(2.8)
    assert 0.97 * scaled < pair.lifts[0].after_m3_s < scaled
    assert pair.unlike == ("the depression (brought to the first)",)


def test_unlike_benches_are_told(held: Callable[..., SideBySide]) -> None:
    (pair,) = held(
        reading(10.0, 180.0, bench="a", entry_radius_mm=10.0),
        reading(10.0, 185.0, stage="stage 2", bench="b", entry_radius_mm=0.0),
    ).pairs
    assert pair.unlike == ("the bench", "the radius at the entry")


def test_the_best_reading_stands_at_the_common_depression(held: Callable[..., SideBySide]) -> None:
    ten = Stated(10.0 * 249.08891, "pressure", "inH2O")
    cast = held(reading(10.0, 110.0, depression=ten), reading(5.0, 80.0, depression=ten)).states[0]
    assert cast.best_lift_mm == 10.0
    scaled = cfm(110.0).amount * sqrt(2.8)
    assert cast.best_m3_s is not None
    assert 0.97 * scaled < cast.best_m3_s < scaled


def test_states_keep_the_speeds_they_were_asked_for(job_of, table_of) -> None:
    job = job_of(table_of(DISTANCE, sections(40.0)))
    (port,) = loft_job(job)
    state = flow_state(job, port, port.stages[0])
    ideal = state.at_depression(1000.0)
    assert ideal.basis.depression.amount == 1000.0
    assert state.along.basis.depression.amount == pytest.approx(TWENTY_EIGHT.amount)
    area = pi / 4 * 40.0**2
    assert ideal.fastest.net_mm2 == pytest.approx(area, rel=1e-4)
