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
from portgeom.job.shape_readings import ShapeReadings
from portgeom.job.values import Accuracy, Job, SectionTable
from portgeom.model.lofted import loft_job
from portgeom.questions.uncertainty.campaign import campaign
from portgeom.questions.uncertainty.interval import difference

STATIONS = np.linspace(0.0, 100.0, 6)
DIAMETER = 42.0
ACCURACY = Accuracy(gauge_mm=0.15, tool_bias_mm=0.3, distance_mm=0.0, pitch_deg=0.0)
PAIRS, DRAWS = 150, 250

# V = integral of pi d2 / 4, so dV = pi d / 2 times the weights of the trapezoid rule
WEIGHTS = np.array([10.0, 20.0, 20.0, 20.0, 20.0, 10.0])
SD_MM3 = pi * DIAMETER / 2.0 * ACCURACY.gauge_mm * np.sqrt((WEIGHTS**2).sum()) * np.sqrt(2.0)
"""Standard uncertainty of the difference of two such volumes: the shared error of the caliper is not in it."""

FURTHER_MM = 3.0 * SD_MM3 / (pi * DIAMETER / 2.0 * 100.0)
"""By how much a tube's diameter is larger that holds 3 such uncertainties more."""


@pytest.fixture
def called_different(job_of: Callable[..., Job], table_of: Callable[..., SectionTable]) -> Callable[[float], float]:
    """Return which share of simulated pairs is called different, the second of each larger by so much."""

    def table(diameters: np.ndarray) -> SectionTable:
        readings = [ShapeReadings("circle", ("width",), np.array([d])) for d in diameters]
        made = table_of(STATIONS, [r.outline() for r in readings])
        rows = tuple(replace(row, readings=r) for row, r in zip(made.rows, readings, strict=True))
        return SectionTable(made.file, rows)

    def share(larger_mm: float) -> float:
        rng = np.random.default_rng(11)
        different = 0
        for k in range(PAIRS):
            bias = rng.normal(0.0, ACCURACY.tool_bias_mm)
            ports = []
            for name, true in (("a", DIAMETER), ("b", DIAMETER + larger_mm)):
                read = true + bias + rng.normal(0.0, ACCURACY.gauge_mm, len(STATIONS))
                ports.append(replace(job_of(table(read)).ports[0], name=name))
            job = replace(job_of(table(np.full(6, DIAMETER))), ports=tuple(ports), accuracy=ACCURACY)
            lofted = loft_job(job, resolution=Resolution(slab_mm=10.0, rays=48))
            draws = campaign(job, lofted, draws=DRAWS, seed=k)
            one, other = (draws.of(n, "as cast").volume_mm3 for n in ("a", "b"))
            value = float(lofted[0].cast.surface.volume_mm3.sum() - lofted[1].cast.surface.volume_mm3.sum())
            different += difference(value, one, other).significant
        return different / PAIRS

    return share


@pytest.mark.slow
def test_two_ports_alike_are_called_different_in_at_most_5_percent(called_different: Callable[[float], float]) -> None:
    # of 150 pairs 5 percent are 7.5, give or take 2.7
    assert called_different(0.0) <= 0.05 + 2.0 * np.sqrt(0.05 * 0.95 / PAIRS)


@pytest.mark.slow
def test_two_ports_3_sigma_apart_are_called_different_in_at_least_80_percent(
    called_different: Callable[[float], float],
) -> None:
    assert called_different(FURTHER_MM) >= 0.80
