"""Do the intervals hold the truth as often as they say, when a known port is measured again and again?

The port is known, its readings are drawn with errors, and every such measuring is asked for its own intervals. Slow:
run once by CI.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np
import pytest

from portgeom.geometry.chart import Resolution
from portgeom.job.shape_readings import ShapeReadings
from portgeom.job.values import Accuracy, Job, Limits, Port, SectionTable, Stage, StationRow
from portgeom.model.lofted import loft_job
from portgeom.questions.uncertainty.again import job_again
from portgeom.questions.uncertainty.campaign import campaign
from portgeom.questions.uncertainty.draws import measuring, tool_bias
from portgeom.questions.uncertainty.figures import Part
from portgeom.questions.uncertainty.interval import difference
from portgeom.questions.uncertainty.sure import StageSure, stage_sure

CAMPAIGNS, DRAWS = 500, 200
CHART = Resolution(slab_mm=5.0, rays=64)
ACCURACY = Accuracy(gauge_mm=0.15, tool_bias_mm=0.08, trace_mm=0.2, distance_mm=0.3, pitch_deg=0.0)
LIMITS = Limits(straightedge_mm=60.0)

pytestmark = pytest.mark.slow


def known_port(heights: list[float], *, hangs: float = 0.0, name: str = "1", seen: str = "cast") -> Port:
    """A straight port 40 wide; its heights at even stations 12 mm apart, the roof of the middle one hanging lower."""
    rows = []
    for k, height in enumerate(heights):
        low = hangs if k == len(heights) // 2 else 0.0
        values = {"width": 40.0, "height": height - low, "radius": 8.0, "up": -0.5 * low}
        readings = ShapeReadings("rectangle", tuple(values), np.array(list(values.values())))
        rows.append(StationRow(str(k), k + 2, 12.0 * k, None, None, None, None, "", readings.outline(), readings))
    return Port(name, "intake", (Stage(seen, SectionTable("made.csv", tuple(rows))),))


def job_of(*ports: Port) -> Job:
    return Job(Path("."), "made", "mm", "grey iron", 7.2, ports, accuracy=ACCURACY, limits=LIMITS)


def measured(job: Job, seed: int) -> list[Job]:
    """The job as measured in many campaigns: every reading with an error of its own, the tools' shared."""
    bias = tool_bias(job.accuracy, draws=CAMPAIGNS, seed=seed)
    its = [measuring(p, job.accuracy, bias, seed=seed) for p in loft_job(job, resolution=CHART)]
    return [job_again(job, its, k) for k in range(CAMPAIGNS)]


@dataclass(frozen=True)
class Truth:
    """What the known port measures."""

    volume_mm3: float
    smallest_mm2: float


def truth_of(job: Job) -> Truth:
    (port,) = loft_job(job, resolution=CHART)
    surface = port.cast.surface
    return Truth(float(surface.volume_mm3.sum()), float(surface.flow_area_mm2.min()))


def asked(job: Job, k: int, *parts: Part) -> StageSure:
    (port,) = loft_job(job, resolution=CHART)
    return stage_sure(job, [port], port, port.cast, draws=DRAWS, seed=1000 + k, parts=parts)


def held(job: Job, seed: int) -> dict[str, float]:
    """In which share of the campaigns the intervals of volume and smallest area hold the truth, and places tie."""
    truth, count = truth_of(job), {"volume": 0, "smallest": 0, "ties": 0}
    for k, one in enumerate(measured(job, seed)):
        sure = asked(one, k)
        count["volume"] += sure.volume_mm3.spread.interval.holds(truth.volume_mm3)
        count["smallest"] += sure.smallest_mm2.spread.interval.holds(truth.smallest_mm2)
        count["ties"] += bool(sure.ties)
    return {name: n / CAMPAIGNS for name, n in count.items()}


def test_volume_and_a_clear_smallest_area_are_held_in_95_percent() -> None:
    shares = held(job_of(known_port([34.0, 32.0, 29.0, 32.0, 34.0])), seed=3)
    print(shares)
    assert 0.93 <= shares["volume"] <= 0.97
    assert 0.93 <= shares["smallest"] <= 0.97
    assert shares["ties"] <= 0.01


def test_where_places_tie_the_basic_interval_still_holds_and_the_ties_are_told() -> None:
    shares = held(job_of(known_port([33.0, 30.0, 33.0, 30.0, 33.0, 30.0, 33.0])), seed=4)
    print(shares)
    assert 0.93 <= shares["volume"] <= 0.97
    assert shares["smallest"] >= 0.85
    assert shares["ties"] >= 0.9


def test_a_bulge_that_stands_clear_is_held_in_95_percent() -> None:
    job = job_of(known_port([32.0] * 5, hangs=4.0))
    exact = replace(job, accuracy=Accuracy(*[0.0] * 6))
    height = asked(exact, 0, "roof").bulges[0].stands_out_mm.spread.value
    inside = [
        asked(one, k, "roof").bulges[0].stands_out_mm.spread.interval.holds(height)
        for k, one in enumerate(measured(job, seed=5))
    ]
    print(np.mean(inside))
    assert 0.93 <= np.mean(inside) <= 0.97


def called_different(other: Port, seed: int) -> float:
    """The share of campaigns in which two ports of one head are called unlike in volume."""
    job = job_of(known_port([32.0] * 5), other)
    unlike = 0
    for k, one in enumerate(measured(job, seed)):
        ports = loft_job(one, resolution=CHART)
        found = campaign(one, ports, draws=DRAWS, seed=2000 + k, parts=())
        first, second = (p.cast.surface.volume_mm3.sum() for p in ports)
        a, b = (found.of(p.port.name, "cast").volume_mm3 for p in ports)
        unlike += difference(float(first - second), a, b).significant
    print(unlike / CAMPAIGNS)
    return unlike / CAMPAIGNS


def test_like_ports_are_called_unlike_in_5_percent_at_most() -> None:
    assert called_different(known_port([32.0] * 5, name="2"), seed=7) <= 0.05


def test_ports_three_sigma_apart_are_called_unlike_in_80_percent_at_least() -> None:
    job = job_of(known_port([32.0] * 5), known_port([32.0] * 5, name="2"))
    ports = loft_job(job, resolution=CHART)
    found = campaign(job, ports, draws=2000, parts=())
    sigma = float((found.of("1", "cast").volume_mm3 - found.of("2", "cast").volume_mm3).std())
    higher = 32.0 + 3.0 * sigma / (40.0 * 48.0)
    assert called_different(known_port([higher] * 5, name="2"), seed=8) >= 0.80
