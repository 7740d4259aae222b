"""Moments of polygons and of their strips, against shapely's cuts."""

from __future__ import annotations

from math import pi

import numpy as np
import pytest
import shapely

from portgeom.geometry.arrays import F64
from portgeom.geometry.moments import polygon_moments, polygon_perimeter_mm, strip_moments


def star(seed: int) -> F64:
    rng = np.random.default_rng(seed)
    angle = np.sort(rng.uniform(0.0, 2.0 * pi, 50))
    return rng.uniform(8.0, 25.0, 50)[:, None] * np.column_stack([np.cos(angle), np.sin(angle)]) + rng.normal(size=2)


@pytest.mark.parametrize("seed", range(4))
@pytest.mark.parametrize(("low", "high"), [(-np.inf, np.inf), (-5.0, 8.0), (-np.inf, 0.0), (3.0, np.inf), (30.0, 40.0)])
def test_a_strip_of_a_polygon_is_what_shapely_cuts_out(seed: int, low: float, high: float) -> None:
    points = star(seed)
    strip = strip_moments(points, np.roll(points, -1, axis=0), np.float64(low), np.float64(high))
    cut = shapely.intersection(shapely.Polygon(points), shapely.box(max(low, -100.0), -100.0, min(high, 100.0), 100.0))
    assert strip.area_mm2 == pytest.approx(cut.area, rel=1e-12, abs=1e-12)
    if not cut.is_empty:
        assert strip.first_mm3 == pytest.approx(cut.area * np.array(cut.centroid.coords[0]), rel=1e-10, abs=1e-9)


def test_many_polygons_are_measured_as_each_alone() -> None:
    many = np.stack([star(k) for k in range(6)])
    together = polygon_moments(many)
    for k, points in enumerate(many):
        assert together.area_mm2[k] == polygon_moments(points).area_mm2
        assert polygon_perimeter_mm(many)[k] == pytest.approx(shapely.Polygon(points).length, rel=1e-14)


def test_a_small_polygon_far_away_loses_no_digits() -> None:
    points = star(3)
    far = polygon_moments(points + (1e5, -2e5))
    assert far.area_mm2 == pytest.approx(polygon_moments(points).area_mm2, rel=1e-9)


def test_a_clockwise_polygon_has_negative_area() -> None:
    points = star(2)
    assert polygon_moments(points[::-1]).area_mm2 == pytest.approx(-polygon_moments(points).area_mm2, rel=1e-13)
