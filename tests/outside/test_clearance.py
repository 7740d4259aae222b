"""Distances of points from holes, against worked examples of calculus books."""

from __future__ import annotations

from math import sqrt

import numpy as np
import pytest

from portgeom.geometry.distance import cylinder_distance_mm

FAR = 100.0
HOLE = 0.5


@pytest.mark.parametrize(
    ("point", "base", "along", "distance"),
    [
        # G. B. Thomas, Calculus, 12.5 (from memory): S(1, 1, 5) to x = 1 + t, y = 3 - t, z = 2 t
        ((1.0, 1.0, 5.0), (1.0, 3.0, 0.0), (1.0, -1.0, 2.0), sqrt(5.0)),
        # R. J. Miech's exercises for calculus, UCLA: (1, 2, 3) to x = 2 + t, y = 2 - 3 t, z = 5 t
        ((1.0, 2.0, 3.0), (2.0, 2.0, 0.0), (1.0, -3.0, 5.0), sqrt(22.0 / 5.0)),
    ],
)
def test_a_point_stands_off_a_hole_by_the_distance_of_its_axis_less_the_radius(
    point: tuple[float, ...], base: tuple[float, ...], along: tuple[float, ...], distance: float
) -> None:
    middle, way = np.array(base), np.array(along)
    found = cylinder_distance_mm(np.array([point]), middle - FAR * way, middle + FAR * way, HOLE)
    assert found[0] == pytest.approx(distance - 0.5 * HOLE, rel=1e-12)


@pytest.mark.parametrize(
    ("first", "second", "distance"),
    [
        # J. Stewart, Calculus, 12.5 example 10: D = 8 / sqrt(230), about 0.53
        (((1.0, -2.0, 4.0), (1.0, 3.0, -1.0)), ((0.0, 3.0, -3.0), (2.0, 1.0, 4.0)), 8.0 / sqrt(230.0)),
        # a worked forum exercise on skew lines: 1 exactly
        (((0.0, -1.0, 1.0), (2.0, 2.0, 1.0)), ((0.0, -2.0, 3.0), (1.0, 2.0, 0.0)), 1.0),
    ],
)
def test_a_hole_passes_a_skew_line_at_the_published_distance(
    first: tuple[tuple[float, ...], ...], second: tuple[tuple[float, ...], ...], distance: float
) -> None:
    (base, along), (start, way) = (tuple(np.array(v) for v in line) for line in (first, second))
    places = start + np.linspace(-20.0, 20.0, 400001)[:, None] * way
    near = cylinder_distance_mm(places, base - FAR * along, base + FAR * along, HOLE)
    # sampled every 0.0001 of the line's own parameter: at worst half a step along it from the nearest place
    assert near.min() == pytest.approx(distance - 0.5 * HOLE, abs=1e-6)
