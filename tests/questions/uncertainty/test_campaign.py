"""What draws of a port must hold: nothing without errors, closed forms with one error, shared errors cancel."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from portgeom.job.shape_readings import ShapeReadings
from portgeom.job.values import Accuracy, Job, Port, SectionTable, Stage, StationRow
from portgeom.model.lofted import loft_job
from portgeom.questions.uncertainty.campaign import Campaign, campaign

NOTHING = Accuracy(0.0, 0.0, 0.0, 0.0, 0.0, 0.0)
DIAMETER, LENGTH = 40.0, 120.0


def gauged(shape: str, **columns: float) -> ShapeReadings:
    return ShapeReadings(shape, tuple(columns), np.array(list(columns.values())))


def tube(
    *, diameters: Sequence[float] = (DIAMETER,) * 13, read: bool = True, pitch: float | None = None
) -> SectionTable:
    """A straight round tube of even stations, its diameters gauged or its outlines traced."""
    rows = []
    for k, (s, d) in enumerate(zip(np.linspace(0.0, LENGTH, len(diameters)), diameters, strict=True)):
        readings = gauged("circle", width=d)
        rows.append(
            StationRow(str(k + 1), k + 2, float(s), pitch, None, None, None, "", readings.outline(),
                       readings if read else None)
        )  # fmt: skip
    return SectionTable("tube.csv", tuple(rows))


def job_of(*ports: Port, accuracy: Accuracy = NOTHING) -> Job:
    return Job(Path("."), "made", "mm", "grey iron", 7.2, ports, accuracy=accuracy)


def port(name: str, *tables: SectionTable) -> Port:
    return Port(name, "intake", tuple(Stage(f"stage {k}", t) for k, t in enumerate(tables)))


def drawn(job: Job, *, draws: int = 400) -> Campaign:
    return campaign(job, loft_job(job), draws=draws)


def test_without_errors_every_draw_is_the_port_itself() -> None:
    job = job_of(port("1", tube(), tube(read=False)))
    (lofted,) = loft_job(job)
    for stage in lofted.stages:
        draws = drawn(job, draws=30).of("1", stage.stage.name)
        assert (draws.volume_mm3 == stage.surface.volume_mm3.sum()).all()
        assert (draws.smallest_area_mm2 == stage.surface.flow_area_mm2.min()).all()
        assert draws.kept.all()


@pytest.mark.parametrize("read", [True, False])
def test_a_tool_that_reads_wide_swells_a_round_tube_by_its_wall(read: bool) -> None:
    # V = pi D^2 L / 4, so a bias b of every diameter adds pi D L b / 2 + pi L b^2 / 4
    job = job_of(port("1", tube(read=read)), accuracy=replace(NOTHING, tool_bias_mm=0.1))
    draws = drawn(job).of("1", "stage 0")
    grown = np.sort(draws.volume_mm3 - math.pi * DIAMETER**2 * LENGTH / 4.0)
    sd = grown.std(ddof=1)
    assert sd == pytest.approx(math.pi * DIAMETER * LENGTH / 2.0 * 0.1, rel=4.0 / math.sqrt(2.0 * len(grown)))
    flow = draws.flow_area_mm2[:, 7] - math.pi * DIAMETER**2 / 4.0
    bias = flow / (math.pi * DIAMETER / 2.0)  # to first order in the bias, whose square is 2e-3 of it
    together = math.pi * DIAMETER * LENGTH / 2.0 * bias
    assert np.abs(np.sort(together) - grown).max() < 0.01 * 0.3 * sd + 1e-3 * np.abs(grown).max()


def test_shared_errors_cancel_between_ports_and_stages() -> None:
    wide = tube(diameters=(DIAMETER + 1.0,) * 13)
    job = job_of(port("1", tube(), wide), port("2", tube()), accuracy=replace(NOTHING, tool_bias_mm=0.1))
    found = drawn(job)
    one, two = found.of("1", "stage 0"), found.of("2", "stage 0")
    assert np.abs(one.volume_mm3 - two.volume_mm3).max() < 1e-6
    # what is left between unlike diameters is their difference's own share: pi L / 2 (D' - D) b
    left = (found.of("1", "stage 1").volume_mm3 - one.volume_mm3).std()
    assert left == pytest.approx(one.volume_mm3.std() / DIAMETER, rel=0.02)


def test_independent_diameters_add_up_as_the_loft_weighs_them() -> None:
    # every station's diameter weighs with the length it stands for: sum of (pi D w sd / 2)^2, w = 10 mm within
    job = job_of(port("1", tube()), accuracy=replace(NOTHING, gauge_mm=0.1))
    volume = drawn(job, draws=2000).of("1", "stage 0").volume_mm3
    step = LENGTH / 12.0
    weight = np.array([0.5, *[1.0] * 11, 0.5]) * step
    expected = math.pi * DIAMETER / 2.0 * 0.1 * math.sqrt((weight**2).sum())
    # a shape-preserving cubic flattens at a turning point, so its weights are not exactly the trapezoid's
    assert volume.std() == pytest.approx(expected, rel=0.08)


def test_distances_stretch_a_tube_by_their_last_one() -> None:
    job = job_of(port("1", tube()), accuracy=replace(NOTHING, distance_mm=0.5))
    volume = drawn(job, draws=2000).of("1", "stage 0").volume_mm3
    area = math.pi * DIAMETER**2 / 4.0
    assert volume.std() == pytest.approx(area * 0.5, rel=4.0 / math.sqrt(4000.0))


def test_a_port_has_the_same_draws_whatever_is_drawn_beside_it() -> None:
    job = job_of(port("1", tube()), port("2", tube()), accuracy=Accuracy())
    alone = campaign(job, loft_job(job)[1:], draws=60).of("2", "stage 0")
    beside = campaign(job, loft_job(job), draws=60).of("2", "stage 0")
    assert (alone.volume_mm3 == beside.volume_mm3).all()


def test_draws_whose_planes_cross_are_left_out_and_counted() -> None:
    job = job_of(port("1", tube(pitch=0.0)), accuracy=replace(NOTHING, pitch_deg=15.0))
    found = drawn(job)
    kept = found.of("1", "stage 0").kept
    assert found.port("1").folded == (~kept).sum() > 0
    assert np.isnan(found.of("1", "stage 0").volume_mm3[~kept]).all()
    assert np.isfinite(found.of("1", "stage 0").volume_mm3[kept]).all()
