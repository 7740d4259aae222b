"""Jobs to draw: one with a boss in its roof, one without a target, one past its line, and the example."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np
import pytest

from portgeom.geometry.outline import Outline
from portgeom.geometry.shapes import CornerRadii, rectangle
from portgeom.job.read import read_job
from portgeom.job.values import CutPass, Cutter, Hazard, Job, Line, SectionTable, Target, Units
from portgeom.model.lofted import loft_job
from portgeom.questions.whole import Answers, answers
from portgeom.questions.whole_cutting import Cutting, cutting
from portgeom.questions.whole_job import WholeJob, WholeStage

CAP_RADIUS, CAP_BASE, CAP_HIGH, CAP_AT = 15.0, 12.0, 6.0, 50.0
HALF_WIDTH, HALF_HEIGHT = 21.0, 25.0
EXAMPLE = Path(__file__).parents[2] / "examples" / "workshop-pair"


@dataclass(frozen=True, slots=True)
class Asked:
    """A job and all its answers."""

    job: Job
    answers: tuple[Answers, ...]


def asked(job: Job) -> Asked:
    """Return a job with every answer for the latest stage of each of its ports."""
    ports = loft_job(job)
    return Asked(job, tuple(answers(job, ports, port, port.stage(None)) for port in ports))


def capped(distance_mm: float) -> Outline:
    """Return a section of a 42 by 50 duct with a spherical cap hanging 6 mm from its roof at 50 mm."""
    u = np.linspace(HALF_WIDTH - 0.001, -HALF_WIDTH + 0.001, 201)
    reach = np.sqrt(np.maximum(0.0, CAP_RADIUS**2 - (distance_mm - CAP_AT) ** 2 - u**2))
    roof = HALF_HEIGHT - np.maximum(0.0, reach - (CAP_RADIUS - CAP_HIGH))
    rest = [[-HALF_WIDTH, 20.0], [-HALF_WIDTH, -25.0], [HALF_WIDTH, -25.0], [HALF_WIDTH, 20.0]]
    return Outline.polygon(np.concatenate([np.column_stack([u, roof]), rest]))


@pytest.fixture(scope="session")
def asking() -> Callable[[Job], Asked]:
    """Return the function that answers a job."""
    return asked


@pytest.fixture(scope="session")
def cut() -> Callable[..., tuple[Cutting, ...]]:
    """Return the function that says how the ports of a job are cut, once for each job and unit."""
    known: dict[tuple[int, Units], tuple[Asked, tuple[Cutting, ...]]] = {}

    def of(asked: Asked, units: Units = "mm") -> tuple[Cutting, ...]:
        key = id(asked), units
        if key not in known:
            known[key] = asked, tuple(cutting(asked.job, a, units=units) for a in asked.answers)
        return known[key][1]

    return of


@pytest.fixture(scope="session")
def whole(cut: Callable[..., tuple[Cutting, ...]]) -> Callable[..., WholeJob]:
    """Return the function that gathers all about a job."""

    def of(asked: Asked, units: Units = "mm") -> WholeJob:
        pairs = zip(asked.answers, cut(asked, units), strict=True)
        ports = tuple(a.port for a in asked.answers)
        return WholeJob(asked.job, units, ports, tuple(WholeStage(a, c) for a, c in pairs))

    return of


@pytest.fixture(scope="session")
def boss(job_of: Callable[..., Job], table_of: Callable[..., SectionTable]) -> Asked:
    """Return a straight port with a boss in its roof, whose roof line is the roof without it."""
    s = np.arange(0.0, 101.0, 2.0)
    target = Target("flat", roof=Line(np.array([[0.0, HALF_HEIGHT], [100.0, HALF_HEIGHT]])))
    return asked(job_of(table_of(s, [capped(x) for x in s]), target=target))


HOLE_START = (0.0, CAP_AT, HALF_HEIGHT + 3.0)
BALL = Cutter("ball 10", "ball", 10.0, 9.0, 6.0, 150.0, rate_cc_per_min=0.5, vibration_m_s2=10.0)
PASSES = tuple(CutPass(kind, kind, "roof", "ball 10") for kind in ("grooves", "level", "blend"))


@pytest.fixture(scope="session")
def drilled(boss: Asked) -> Asked:
    """Return the port with the boss, cut in three passes, 3 mm under a hole that needs 3.5 mm."""
    ends = {"start_mm": np.array(HOLE_START), "end_mm": np.array([0.0, CAP_AT, 60.0])}
    hole = Hazard("bolt hole", "cylinder", diameter_mm=11.0, min_wall_mm=3.5, **ends)
    face = Hazard("rail face", "plane", point_mm=np.array([0.0, 0.0, 37.0]), normal=np.array([0.0, 0.0, 1.0]))
    job = replace(boss.job, hazards=(hole, face), cutters=(BALL,), passes=PASSES, min_wall_mm=3.0)
    return Asked(job, boss.answers)


@pytest.fixture(scope="session")
def plain(job_of: Callable[..., Job], table_of: Callable[..., SectionTable]) -> Asked:
    """Return a straight 42 by 50 by 100 duct with no target."""
    s = np.linspace(0.0, 100.0, 6)
    return asked(job_of(table_of(s, [rectangle(42.0, 50.0, CornerRadii(6.0, 6.0, 6.0, 6.0))] * 6)))


@pytest.fixture(scope="session")
def box(job_of: Callable[..., Job], table_of: Callable[..., SectionTable]) -> Asked:
    """Return a straight 40 by 50 by 100 duct with sharp corners."""
    s = np.linspace(0.0, 100.0, 6)
    return asked(job_of(table_of(s, [rectangle(40.0, 50.0, CornerRadii(0.0, 0.0, 0.0, 0.0))] * 6)))


@pytest.fixture(scope="session")
def bend(job_of: Callable[..., Job], table_of: Callable[..., SectionTable]) -> Asked:
    """Return a 40 by 50 duct with sharp corners, turned down through 90 degrees round 80 mm."""
    pitch = np.linspace(0.0, 90.0, 10)
    outlines = [rectangle(40.0, 50.0, CornerRadii(0.0, 0.0, 0.0, 0.0))] * 10
    return asked(job_of(table_of(np.radians(pitch) * 80.0, outlines, pitch_deg=pitch)))


@pytest.fixture(scope="session")
def past(job_of: Callable[..., Job], table_of: Callable[..., SectionTable]) -> Asked:
    """Return a straight duct whose roof is already 0.4 mm past its line everywhere."""
    s = np.linspace(0.0, 100.0, 6)
    target = Target("low", roof=Line(np.array([[0.0, 24.6], [100.0, 24.6]])))
    outlines = [rectangle(42.0, 50.0, CornerRadii(6.0, 6.0, 6.0, 6.0))] * 6
    return asked(job_of(table_of(s, outlines), target=target))


@pytest.fixture(scope="session")
def pair() -> Asked:
    """Return the example job."""
    return asked(read_job(EXAMPLE))
