"""What do stations marked a little off do to a bulge? The second road: marked anew, and made and asked anew."""

from __future__ import annotations

from pathlib import Path

import numpy as np

from portgeom.geometry.arrays import F64
from portgeom.geometry.chart import Resolution
from portgeom.job.shape_readings import ShapeReadings
from portgeom.job.values import Accuracy, Job, Limits, Port, SectionTable, Stage, StationRow
from portgeom.model.lofted import loft_job
from portgeom.questions.uncertainty.sure import stage_sure
from portgeom.questions.whole import answers

CHART = Resolution(slab_mm=1.0, rays=128)
S = np.array([0.0, 15.0, 35.0, 50.0, 70.0, 90.0])
HEIGHT = (30.0, 30.0, 26.5, 29.0, 30.0, 31.0)
MARKED = 0.5
AGAIN = 40


def job_at(distance: F64) -> Job:
    """A straight port 40 wide whose roof hangs at 35 mm; a straightedge of 40 mm reaches from 15 to 55."""
    rows = []
    for k, (s, height) in enumerate(zip(distance.tolist(), HEIGHT, strict=True)):
        values = {"width": 40.0, "height": height, "radius": 6.0}
        readings = ShapeReadings("rectangle", tuple(values), np.array(list(values.values())))
        rows.append(StationRow(str(k), k + 2, s, None, None, None, None, "", readings.outline(), readings))
    port = Port("1", "intake", (Stage("cast", SectionTable("made.csv", tuple(rows))),))
    accuracy = Accuracy(gauge_mm=0.0, tool_bias_mm=0.0, trace_mm=0.0, distance_mm=MARKED, pitch_deg=0.0)
    return Job(Path("."), "made", "mm", "grey iron", 7.2, (port,), accuracy=accuracy, limits=Limits())


def test_a_bulge_is_as_unsure_as_marking_its_stations_again_shows() -> None:
    rng = np.random.default_rng(11)
    seen = []
    for _ in range(AGAIN):
        job = job_at(S + np.append(0.0, rng.normal(0.0, MARKED, len(S) - 1)))
        ports = loft_job(job, resolution=CHART)
        bulge = answers(job, ports, ports[0], ports[0].cast).roof.bulges[0]
        seen.append([bulge.stands_out_mm, bulge.volume_mm3])
    again = np.std(seen, axis=0, ddof=1)
    job = job_at(S)
    ports = loft_job(job, resolution=CHART)
    own = stage_sure(job, ports, ports[0], ports[0].cast, draws=400, seed=1, parts=("roof",)).bulges[0]
    for sd, spread in zip(again, (own.stands_out_mm.spread, own.volume_mm3.spread), strict=True):
        # forty markings tell a standard deviation within 11 percent; the draws' chart is coarse
        assert 0.6 < spread.sd / sd < 1.6
        middle = 0.5 * (spread.interval.low + spread.interval.high)
        assert abs(middle - spread.value) < sd
