"""Two ports alike are seldom called different, and two that are 3 standard uncertainties apart mostly are.

Simulated measurings of round tubes of known size: every diameter read with an error of its own, and all of one pair
with what the caliper is off by.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from math import pi

import numpy as np
import pytest

from portgeom.geometry.chart import Resolution
from portgeom.geometry.shapes import circle
from portgeom.job.shape_readings import ShapeReadings
from portgeom.job.values import Accuracy, Job, Port, SectionTable
from portgeom.model.lofted import loft_job
from portgeom.questions.uncertainty.campaign import campaign
from portgeom.questions.uncertainty.interval import difference

STATIONS = np.linspace(0.0, 100.0, 6)
DIAMETER = 42.0
COARSE = Resolution(slab_mm=10.0, rays=48)
ACCURACY = Accuracy(gauge_mm=0.15, tool_bias_mm=0.3, distance_mm=0.0, pitch_deg=0.0)
PAIRS, DRAWS, ALONE = 150, 300, 400

GROWS_MM2 = pi * DIAMETER / 2.0 * 100.0
"""How much a tube's volume grows with its diameter, from V = pi d2 L / 4."""


def measured(job: Job, rng: np.random.Generator, table_of: Callable[..., SectionTable], diameter_mm: float) -> Port:
    """Return a port whose tube was measured at every station."""
    read = diameter_mm + rng.normal(0.0, ACCURACY.gauge_mm, len(STATIONS))
    readings = [ShapeReadings("circle", ("width",), np.array([d])) for d in read]
    made = table_of(STATIONS, [r.outline() for r in readings])
    rows = tuple(replace(row, readings=r) for row, r in zip(made.rows, readings, strict=True))
    (port,) = job.ports
    return replace(port, stages=(replace(port.stages[0], sections=SectionTable(made.file, rows)),))


@pytest.fixture
def tubes(job_of: Callable[..., Job], table_of: Callable[..., SectionTable]) -> Job:
    """Return a job to measure in, with a port of the tube's own size."""
    return replace(job_of(table_of(STATIONS, [circle(DIAMETER)] * len(STATIONS))), accuracy=ACCURACY)


def volumes_mm3(job: Job) -> list[float]:
    return [float(p.cast.surface.volume_mm3.sum()) for p in loft_job(job, resolution=COARSE)]


@pytest.fixture
def called_different(tubes: Job, table_of: Callable[..., SectionTable]) -> Callable[[float], float]:
    """Return which share of simulated pairs is called different, the first of each larger by so much."""

    def share(larger_mm: float) -> float:
        rng = np.random.default_rng(11)
        different = 0
        for k in range(PAIRS):
            bias = rng.normal(0.0, ACCURACY.tool_bias_mm)
            true = {"a": DIAMETER + larger_mm, "b": DIAMETER}
            ports = [replace(measured(tubes, rng, table_of, d + bias), name=n) for n, d in true.items()]
            job = replace(tubes, ports=tuple(ports))
            draws = campaign(job, loft_job(job, resolution=COARSE), draws=DRAWS, seed=k, parts=())
            one, other = (draws.of(n, "as cast").volume_mm3 for n in true)
            first, second = volumes_mm3(job)
            different += difference(first - second, one, other).significant
        return different / PAIRS

    return share


@pytest.mark.slow
def test_two_ports_alike_are_called_different_in_at_most_5_percent(called_different: Callable[[float], float]) -> None:
    # of 150 pairs 5 percent are 7.5, give or take 2.7
    assert called_different(0.0) <= 0.05 + 2.0 * np.sqrt(0.05 * 0.95 / PAIRS)


@pytest.mark.slow
def test_two_ports_3_sigma_apart_are_called_different_in_at_least_80_percent(
    called_different: Callable[[float], float], tubes: Job, table_of: Callable[..., SectionTable]
) -> None:
    # what one measuring scatters by, from measurings alone: no draw has a part in it
    rng = np.random.default_rng(12)
    alone = [volumes_mm3(replace(tubes, ports=(measured(tubes, rng, table_of, DIAMETER),)))[0] for _ in range(ALONE)]
    apart = 3.0 * np.sqrt(2.0) * np.std(alone, ddof=1)
    assert called_different(apart / GROWS_MM2) >= 0.80
