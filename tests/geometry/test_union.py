"""Unions of pairs of sections, against closed forms and shapely."""

from __future__ import annotations

from math import acos, pi, sqrt

import numpy as np
import pytest
import shapely

from portgeom.geometry.moments import polygon_moments
from portgeom.geometry.union import joined, moments_of, padded


def ring(radius: float, across: float = 0.0, count: int = 360) -> np.ndarray:
    t = np.linspace(0.0, 2.0 * pi, count, endpoint=False)
    return radius * np.column_stack([np.cos(t), np.sin(t)]) + (across, 0.0)


def test_two_overlapping_circles_hold_both_less_their_lens() -> None:
    # radius 1, centres 1 apart: lens 2 acos(1/2) - sqrt(3)/2 = 1.2283697
    lens = 2.0 * acos(0.5) - sqrt(3.0) / 2.0
    (union,) = joined([ring(1.0)], [ring(1.0, 1.0)], np.array([[1.0, -1.0]]))
    assert polygon_moments(union).area_mm2 == pytest.approx(2.0 * pi - lens, rel=1e-4)
    assert polygon_moments(union).first_mm3[0] / polygon_moments(union).area_mm2 == pytest.approx(0.5, rel=1e-9)


@pytest.mark.parametrize(("less", "larger"), [([1.0, 0.0], 0), ([-1.0, 0.0], 1), ([0.0, 0.0], 1)])
def test_of_a_pair_of_which_one_holds_the_other_the_larger_is_taken_as_it_is(less: list[float], larger: int) -> None:
    pair = ring(2.0), ring(1.5)
    (union,) = joined([pair[0]], [pair[1]], np.array([less]))
    assert union is pair[larger]


def test_a_metal_island_between_two_sections_comes_off_with_the_rest() -> None:
    # a U and the bar that closes it: the hole between them is counted in
    u = np.array([(-3, -3), (3, -3), (3, 3), (2, 3), (2, -2), (-2, -2), (-2, 3), (-3, 3)], dtype=float)
    bar = np.array([(-3, 2), (3, 2), (3, 3), (-3, 3)], dtype=float)
    (union,) = joined([u], [bar], np.array([[1.0, -1.0]]))
    assert polygon_moments(union).area_mm2 == pytest.approx(36.0)


def test_every_union_runs_anticlockwise_and_is_shapely_s() -> None:
    rng = np.random.default_rng(4)
    first = [ring(r, 0.0) * (1.0, s) for r, s in rng.uniform(0.8, 1.2, (6, 2)) * (20.0, 1.0)]
    second = [ring(r, a) for r, a in rng.uniform(-3.0, 3.0, (6, 2)) + (20.0, 0.0)]
    both = np.tile([1.0, -1.0], (6, 1))
    for union, a, b in zip(joined(first, second, both), first, second, strict=True):
        exact = shapely.union(shapely.Polygon(a), shapely.Polygon(b))
        assert polygon_moments(union).area_mm2 == pytest.approx(exact.area, rel=1e-12)


def test_padding_changes_no_moment() -> None:
    polygons = [ring(3.0, 1.0, 17), ring(2.0, -4.0, 90), ring(1.0, 0.0, 3)]
    together = moments_of(polygons)
    assert padded(polygons).shape == (3, 90, 2)
    for k, p in enumerate(polygons):
        assert together.area_mm2[k] == pytest.approx(polygon_moments(p).area_mm2, rel=1e-13)
        assert together.first_mm3[k] == pytest.approx(polygon_moments(p).first_mm3, abs=1e-12)
