"""Smoothing takes the grain out, keeps areas, and never moves an edge further than it says."""

from __future__ import annotations

import numpy as np
import pytest
import shapely

from portgeom.capture.tracing.smooth import MOST_MOVED_MM, smoothed
from portgeom.geometry.arrays import F64
from portgeom.geometry.moments import polygon_moments


def circle(radius: float, count: int = 3000) -> F64:
    angle = np.linspace(0.0, 2.0 * np.pi, count, endpoint=False)
    return radius * np.column_stack([np.cos(angle), np.sin(angle)])


def square(side: float) -> F64:
    return 0.5 * side * np.array([[-1.0, -1.0], [1.0, -1.0], [1.0, 1.0], [-1.0, 1.0]])


def dense(points: F64) -> F64:
    return ring_of(shapely.segmentize(shapely.Polygon(points), 0.05))


def ring_of(polygon: shapely.Polygon) -> F64:
    return np.asarray(shapely.geometry.polygon.orient(polygon).exterior.coords)[:-1]


@pytest.mark.parametrize("radius", [3.0, 10.0, 25.0])
def test_smoothing_keeps_the_area_of_a_round_wall(radius: float) -> None:
    # left over is the fourth power of sigma / R, (0.2 / 3)^4 = 2e-5 at the smallest, and the chords of 0.25 mm steps
    area = float(polygon_moments(smoothed(circle(radius)).points_mm).area_mm2)
    chords = (0.25 / radius) ** 2 / 6.0
    assert area == pytest.approx(np.pi * radius**2, rel=2e-4 + chords)


def test_smoothing_takes_the_grain_out_and_says_how_far_it_moved() -> None:
    rng = np.random.default_rng(8)
    rough = circle(12.0) * (1.0 + rng.normal(0.0, 0.01 / 12.0, (3000, 1)))
    found = smoothed(rough)
    radius = np.hypot(*found.points_mm.T)
    assert np.abs(radius - 12.0).max() < 0.012
    ring = shapely.LinearRing(found.points_mm)
    furthest = float(shapely.distance(shapely.points(rough), ring).max())
    assert furthest == pytest.approx(found.moved_mm, abs=1e-9)
    assert found.moved_mm <= MOST_MOVED_MM


def test_a_sharp_corner_is_not_smoothed_further_than_is_said() -> None:
    found = smoothed(dense(square(30.0)))
    ring = shapely.LinearRing(found.points_mm)
    assert float(shapely.distance(shapely.points(square(30.0)), ring).max()) <= found.moved_mm + 1e-9
    assert found.moved_mm <= MOST_MOVED_MM
