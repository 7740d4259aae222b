"""What a pass takes, and the wall it leaves, where one error decides them."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from portgeom.job.shape_readings import ShapeReadings
from portgeom.job.values import (
    Accuracy,
    CutPass,
    Cutter,
    Hazard,
    Job,
    Line,
    Port,
    SectionTable,
    Stage,
    StationRow,
    Target,
)
from portgeom.model.lofted import loft_job
from portgeom.questions.cutting.passes import passes
from portgeom.questions.uncertainty.draws import tool_bias
from portgeom.questions.uncertainty.pass_draws import RUNS, spread_out
from portgeom.questions.uncertainty.prepared import Known
from portgeom.questions.uncertainty.sure import StageSure, stage_sure
from portgeom.questions.walls.behind import behind
from portgeom.questions.whole import wanted_of

NOTHING = Accuracy(0.0, 0.0, 0.0, 0.0, 0.0, 0.0)
WIDTH, HEIGHT, LENGTH, ROOF = 42.0, 50.0, 100.0, 31.0
DRAWS, SEED = 400, 7
BLEND = CutPass("blend", "blend", "roof", "ball 10", to_mm=LENGTH)


def box_job(accuracy: Accuracy, *, over_mm: float = ROOF - 0.5 * HEIGHT) -> Job:
    """A straight box, gauged, whose roof is to come up to a line, a plane of metal's end above it and one below."""
    roof = 0.5 * HEIGHT + over_mm
    values = {"width": WIDTH, "height": HEIGHT, "radius": 6.0}
    readings = ShapeReadings("rectangle", tuple(values), np.array(list(values.values())))
    rows = [
        StationRow(str(k), k + 2, float(s), None, None, None, None, "", readings.outline(), readings)
        for k, s in enumerate(np.linspace(0.0, LENGTH, 6))
    ]
    port = Port("1", "intake", (Stage("as cast", SectionTable("box.csv", tuple(rows))),), target="up")
    above = Hazard("above", "plane", point_mm=np.array([0.0, 0.0, 40.0]), normal=np.array([0.0, 0.0, -1.0]))
    below = Hazard("below", "plane", point_mm=np.array([0.0, 0.0, -40.0]), normal=np.array([0.0, 0.0, 1.0]))
    return Job(
        Path("."),
        "made",
        "mm",
        "grey iron",
        7.2,
        (port,),
        targets=(Target("up", roof=Line(np.array([[0.0, roof], [LENGTH, roof]]))),),
        cutters=(Cutter("ball 10", "ball", 10.0, 10.0, 6.0, 100.0),),
        passes=(BLEND,),
        hazards=(above, below),
        accuracy=accuracy,
    )


def sure(job: Job) -> StageSure:
    (port,) = ports = loft_job(job)
    worked = passes(job, port, port.cast, wanted_of(job, ports, port), behind(job, port)).results
    return stage_sure(
        job,
        ports,
        port,
        port.cast,
        draws=DRAWS,
        seed=SEED,
        parts=("roof", "metal", "walls"),
        known=Known(),
        passes=worked,
    )


def test_a_pass_that_takes_all_there_is_to_remove_is_as_sure_as_that() -> None:
    told = sure(box_job(replace(NOTHING, tool_bias_mm=0.1)))
    (only,), removal = told.passes, told.removal_mm3.spread
    assert only.volume_mm3.spread.value == pytest.approx((ROOF - 0.5 * HEIGHT) * WIDTH * LENGTH, rel=0.003)
    assert only.volume_mm3.spread.sd == pytest.approx(removal.sd, rel=0.002)


def test_its_interval_is_that_of_the_metal_where_errors_only_add_to_it() -> None:
    # a roof that stands 0.1 over the line where gauges are good to 0.3: half of what is found is errors
    told = sure(box_job(replace(NOTHING, gauge_mm=0.3), over_mm=0.1))
    (only,), removal = told.passes, told.removal_mm3.spread
    assert removal.interval.low < 0.9 * removal.value
    assert removal.interval.high - removal.value < removal.value - removal.interval.low
    near = 0.1 * (removal.interval.high - removal.interval.low)
    assert only.volume_mm3.spread.interval.low == pytest.approx(removal.interval.low, abs=near)
    assert only.volume_mm3.spread.interval.high == pytest.approx(removal.interval.high, abs=near)


def test_after_the_pass_the_wall_over_a_line_is_sure_and_the_one_under_the_floor_is_as_it_was() -> None:
    accuracy = replace(NOTHING, tool_bias_mm=0.1)
    walls = {(w.hazard, w.state): w.wall_mm.spread for w in sure(box_job(accuracy)).walls}
    bias = tool_bias(accuracy, draws=DRAWS, seed=SEED).gauge_mm
    assert walls["above", "after blend"].value == pytest.approx(40.0 - ROOF, abs=1e-6)
    assert walls["above", "after blend"].sd < 1e-3
    assert walls["below", "after blend"].value == pytest.approx(40.0 - 0.5 * HEIGHT, abs=1e-6)
    assert walls["below", "after blend"].sd == pytest.approx((0.5 * bias).std(ddof=1), rel=0.01)


def test_a_pass_to_the_end_of_the_port_is_worked_in_shorter_draws_too() -> None:
    assert sure(box_job(replace(NOTHING, distance_mm=0.5))).passes_run == RUNS


def test_what_is_known_twice_over_tells_once() -> None:
    # a wall that no pass comes near is known of the stage and of the target, which differ by rounding in most draws
    chance = np.random.default_rng(5)
    wall = 5.0 + chance.normal(0.0, 0.2, 2000)
    again = wall + chance.normal(0.0, 1e-14, 2000)
    again[1000:1200] -= 0.1
    run = np.arange(RUNS)
    moved = wall[run] - 5.0 + chance.normal(0.0, 0.01, RUNS)
    assert spread_out([wall, again], moved, run).std() == pytest.approx(0.2, rel=0.1)
