"""A port's record holds what was measured before and after, and nothing that was not."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from math import pi

import numpy as np
import pytest

from portgeom.geometry.shapes import circle
from portgeom.job.values import Hazard, Job, SectionTable, Valve
from portgeom.model.lofted import loft_job
from portgeom.questions.handover.record import port_record

S = np.array([0.0, 40.0, 80.0])
PLACES = ("face", "pinch", "throat")
VALVE = Valve("intake", 50.0, 40.0, 8.0, 45.0, 1.0)


@pytest.fixture
def job(job_of: Callable[..., Job], table_of: Callable[..., SectionTable]) -> Job:
    before = table_of(S, [circle(d) for d in (44.0, 41.0, 42.0)], places=PLACES)
    after = table_of(S, [circle(d) for d in (46.0, 44.0, 43.0)], places=PLACES)
    return job_of(before, after)


def test_areas_at_named_places_and_throat_before_and_after(job: Job) -> None:
    port = loft_job(job)[0]
    record = port_record(replace(job, valves=(VALVE,)), port, port.stage(None))
    assert [p.place for p in record.places] == list(PLACES)
    assert [p.before_mm2 for p in record.places] == pytest.approx([pi * d**2 / 4.0 for d in (44.0, 41.0, 42.0)])
    assert [p.after_mm2 for p in record.places] == pytest.approx([pi * d**2 / 4.0 for d in (46.0, 44.0, 43.0)])
    assert record.after is not None
    assert record.before.throat_mm == pytest.approx(42.0)
    assert record.after.throat_percent == pytest.approx(100.0 * 43.0 / 50.0)
    assert (record.before.stage, record.after.stage) == ("as cast", "stage 2")
    assert record.before.poured_cc is None
    assert record.walls == ()


def test_a_port_measured_once_has_no_after(job: Job) -> None:
    port = loft_job(job)[0]
    record = port_record(job, port, port.cast)
    assert record.after is None
    assert record.before.throat_percent is None
    assert all(p.after_mm2 is None for p in record.places)


def test_walls_are_told_from_the_thinnest_and_opened_ones_apart(job: Job) -> None:
    up = np.array([0.0, 0.0, 1.0])
    planes = [
        Hazard(name, "plane", point_mm=np.array([0.0, 40.0, z]), normal=up)
        for name, z in (("far", 33.0), ("cut into", 21.0), ("near", 26.0))
    ]
    port = loft_job(job)[0]
    record = port_record(replace(job, hazards=tuple(planes), min_wall_mm=3.0), port, port.stage(None))
    assert [w.hazard for w in record.walls] == ["cut into", "near", "far"]
    assert [w.hazard for w in record.opened] == ["cut into"]
    assert [w.hazard for w in record.standing] == ["near", "far"]
    assert record.standing[1].least is not None
    # the roof is highest at the face, of radius 23
    assert record.standing[1].least.wall_mm == pytest.approx(33.0 - 23.0, abs=0.02)
