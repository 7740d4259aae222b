"""What came off between stages, what is left, how the plan came true, and the rates: against ducts of known size."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import TypeAlias

import numpy as np
import pytest

from portgeom.geometry.outline import Outline
from portgeom.job.values import CutPass, Cutter, Job, Line, SectionTable, Target
from portgeom.model.lofted import LoftedPort, loft_job
from portgeom.questions.compare.between import stage_cuts, stage_metal
from portgeom.questions.compare.habit import Levelled, habit
from portgeom.questions.compare.progress import Progress, progress
from portgeom.questions.compare.rates import cutter_rates

Measured: TypeAlias = Callable[..., tuple[Job, tuple[LoftedPort, ...]]]

WIDTH, HEIGHT, LENGTH = 40.0, 44.0, 100.0
CHART = 5e-3  # by which rays past sharp corners may miss the metal between two surfaces
STATIONS = (0.0, 25.0, 50.0, 75.0, LENGTH)
BALL_10 = Cutter("ball 10", "ball", 10.0, 10.0, 6.0, 120.0)
GROOVES = CutPass(
    "grooves", "grooves", "roof", "ball 10", rows=3, from_mm=0.0, to_mm=LENGTH, depth_mm=3.0, leave_mm=0.5
)
LEVEL = CutPass("level", "level", "roof", "ball 10", from_mm=0.0, to_mm=LENGTH, leave_mm=0.5, overshoot_mm=0.4)
BLEND = CutPass("blend", "blend", "roof", "ball 10")
LINE = Target("line", roof=Line(np.array([[0.0, 26.5], [LENGTH, 26.5]])))  # 4.5 mm over the casting


def duct(raised_mm: float = 0.0) -> Outline:
    """Return a duct with sharp corners whose roof lies at 22 mm and as much more."""
    top, low, wide = 0.5 * HEIGHT + raised_mm, -0.5 * HEIGHT, 0.5 * WIDTH
    return Outline.polygon(np.array([[wide, low], [wide, top], [-wide, top], [-wide, low]]))


@pytest.fixture
def measured(job_of: Callable[..., Job], table_of: Callable[..., SectionTable]) -> Measured:
    """Return a job of one duct whose roof was raised from stage to stage, and its lofted port.

    Each later stage is (how far its roof is raised, after which pass, minutes).
    """

    def of(*later: tuple[float, str, float | None], target: Target | None = LINE) -> tuple[Job, tuple[LoftedPort, ...]]:
        tables = [table_of(STATIONS, [duct(x)] * len(STATIONS)) for x in (0.0, *(r for r, _, _ in later))]
        job = job_of(*tables, target=target)
        (port,) = job.ports
        said = [
            replace(stage, after=after, minutes=minutes)
            for stage, (_, after, minutes) in zip(port.stages[1:], later, strict=True)
        ]
        port = replace(port, stages=(port.stages[0], *said))
        job = replace(job, ports=(port,), cutters=(BALL_10,), passes=(GROOVES, LEVEL, BLEND))
        return job, loft_job(job)

    return of


def of_latest(job: Job, ports: tuple[LoftedPort, ...]) -> Progress:
    return progress(job, ports, ports[0], ports[0].stage(None))


def test_metal_between_stages_is_the_strip_that_was_cut(measured: Measured) -> None:
    job, (port,) = measured((1.5, "", None), (4.5, "", None))
    cast, roughed, finished = port.stages
    for before, after, raised in ((cast, roughed, 1.5), (roughed, finished, 3.0), (cast, finished, 4.5)):
        metal = stage_metal(port, before, after, density_g_cc=job.density_g_cc)
        assert metal.volume_mm3 == pytest.approx(raised * WIDTH * LENGTH, rel=CHART)
        assert metal.by_side.roof == pytest.approx(metal.volume_mm3, rel=CHART)
        assert metal.missing_mm3 == pytest.approx(0.0, abs=CHART * WIDTH * LENGTH)
        assert metal.deepest is not None
        assert metal.deepest.depth_mm == pytest.approx(raised, rel=CHART)


def test_a_later_stage_that_reads_smaller_is_told_as_an_error_of_readings(
    measured: Measured,
) -> None:
    job, (port,) = measured((-0.2, "", None))
    (cut,) = stage_cuts(job, port, port.stage(None))
    assert cut.metal.volume_mm3 == pytest.approx(0.0, abs=CHART * WIDTH * LENGTH)
    assert cut.metal.missing_mm3 == pytest.approx(0.2 * WIDTH * LENGTH, abs=CHART * WIDTH * LENGTH)
    assert cut.net_mm3 == pytest.approx(-0.2 * WIDTH * LENGTH, rel=1e-9)


def test_off_and_left_add_up_to_the_whole(measured: Measured) -> None:
    result = of_latest(*measured((1.5, "", None)))
    assert result.off.volume_mm3 == pytest.approx(1.5 * WIDTH * LENGTH, rel=CHART)
    assert result.left.volume_mm3 == pytest.approx(3.0 * WIDTH * LENGTH, rel=CHART)
    assert result.share_done == pytest.approx(1.5 / 4.5, rel=2.0 * CHART)


def test_nothing_off_is_nothing_done_and_nothing_to_do_is_all_done(
    measured: Measured,
) -> None:
    job, ports = measured((4.5, "", None))
    assert progress(job, ports, ports[0], ports[0].cast).share_done == 0.0
    assert of_latest(job, ports).share_done == pytest.approx(1.0, abs=CHART)
    assert progress(job, ports, ports[0], ports[0].cast).cuts == ()


def test_passes_between_two_measurings_are_those_after_the_one_before(
    measured: Measured,
) -> None:
    job, (port,) = measured((3.4, "level", 10.0), (4.5, "blend", 20.0))
    roughed, finished = stage_cuts(job, port, port.stage(None))
    assert [p.name for p in roughed.passes] == ["grooves", "level"]
    assert [p.name for p in finished.passes] == ["blend"]


def test_rates_are_metal_over_minutes(measured: Measured) -> None:
    job, (port,) = measured((3.4, "level", 10.0), (4.5, "blend", 20.0))
    (rate,) = cutter_rates(stage_cuts(job, port, port.stage(None)))
    assert rate.cutters == ("ball 10",)
    assert rate.cc_per_min == pytest.approx(4.5 * WIDTH * LENGTH / 1000.0 / 30.0, rel=1e-9)
    assert rate.stages == 2


@pytest.mark.parametrize("said", [("", 10.0), ("level", None)], ids=["no pass", "no minutes"])
def test_no_rate_without_minutes_and_a_pass(measured: Measured, said: tuple[str, float | None]) -> None:
    job, (port,) = measured((3.4, *said))
    assert cutter_rates(stage_cuts(job, port, port.stage(None))) == ()


def test_levelling_that_ends_2_tenths_deeper_than_planned_is_told_so(
    measured: Measured,
) -> None:
    """Grooves 3.0 mm deep, planned to be levelled 0.4 mm below their bottoms; the roof was raised by 3.6 mm."""
    result = of_latest(*measured((3.6, "level", None)))
    (seen,) = result.levellings
    assert seen.planned_mm == pytest.approx(np.full(len(STATIONS), 0.4), abs=0.01)
    assert seen.overshoot_mm == pytest.approx(np.full(len(STATIONS), 0.6), abs=0.01)
    mean = habit(result.levellings)
    assert mean is not None
    assert mean.further_mm == pytest.approx(0.2, abs=0.01)
    assert mean.clear


def test_no_habit_from_a_stage_that_was_blended_since(measured: Measured) -> None:
    result = of_latest(*measured((4.5, "blend", None)))
    assert result.levellings == ()
    assert habit(()) is None


def test_the_interval_is_students_t() -> None:
    """0.1, 0.2, 0.3, 0.4, 0.5: mean 0.3, standard deviation sqrt(0.025), t for 4 degrees of freedom 2.776 (tables)."""
    further = np.array([0.1, 0.2, 0.3, 0.4, 0.5])
    mean = habit([Levelled("1", "roughed", "level", "grooves", 0.8, STATIONS, 0.4 + further, np.full(5, 0.4))])
    assert mean is not None
    assert mean.further_mm == pytest.approx(0.3)
    assert mean.standard_mm == pytest.approx(np.sqrt(0.025 / 5.0))
    assert mean.half_width_mm == pytest.approx(2.776 * np.sqrt(0.025 / 5.0), rel=1e-3)
    assert mean.clear


def test_the_plan_is_held_against_what_was_measured(measured: Measured) -> None:
    result = of_latest(*measured((3.6, "level", None)))
    (check,) = result.checks
    assert [r.plan.name for r in check.passes] == ["grooves", "level"]
    assert check.planned_mm3 == pytest.approx(sum(r.volume_mm3 for r in check.passes))
    assert check.measured_mm3 == pytest.approx(3.6 * WIDTH * LENGTH, rel=1e-9)
    assert check.measured_smallest.area_mm2 == pytest.approx(WIDTH * (HEIGHT + 3.6), rel=1e-9)
    # the line lies 4.5 mm over the casting
    assert check.measured_peak.proud_mm == pytest.approx(0.9, abs=1e-6)
    # the plan leaves at least as much as the levelling in the middle, and the corners that a ball does not reach
    assert check.planned_peak.proud_mm > 1.0
    assert check.planned_mm3 < check.measured_mm3
    assert check.area_off.percent > 0.0


def test_a_plan_cut_exactly_as_planned_agrees(measured: Measured) -> None:
    """The casting blended to its line, and measured on it."""
    job, ports = measured((4.5, "blend", None))
    job = replace(job, passes=(BLEND,))
    (check,) = of_latest(job, ports).checks
    assert check.measured_mm3 == pytest.approx(check.planned_mm3, rel=CHART)
    assert abs(check.area_off.percent) < 0.05
