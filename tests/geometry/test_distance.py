"""Distances to holes and faces against closed forms, and published distances between lines."""

from __future__ import annotations

from math import cos, radians, sin, sqrt, tan

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.optimize import minimize_scalar
from scipy.spatial.transform import Rotation

from portgeom.geometry.distance import DRILL_POINT_DEG, cylinder_distance_mm, half_space_distance_mm

THIN = 0.5  # diameter of a hole whose axis stands in for a line
EXACT = 1e-12
HALF_POINT = radians(DRILL_POINT_DEG / 2.0)

coordinate = st.floats(-60.0, 60.0)
points = st.tuples(coordinate, coordinate, coordinate).map(np.array)


def to_axis(point: np.ndarray, base: tuple[float, ...], along: tuple[float, ...]) -> float:
    """Distance from a point to a line, by way of a long thin hole on it."""
    middle, far = np.array(base, float), 1000.0 * np.array(along, float)
    return float(cylinder_distance_mm(point, middle - far, middle + far, THIN)) + THIN / 2.0


@pytest.mark.parametrize(
    ("point", "base", "along", "distance"),
    [
        # Thomas, Calculus, 12.5: S(1, 1, 5) to x = 1 + t, y = 3 - t, z = 2t
        ((1, 1, 5), (1, 3, 0), (1, -1, 2), sqrt(5)),
        # a worked answer for x = 2 + t, y = 2 - 3t, z = 5t, checked by hand: |PQ x d| / |d|
        ((1, 2, 3), (2, 2, 0), (1, -3, 5), sqrt(22 / 5)),
    ],
)
def test_the_distance_of_a_point_from_a_line_is_the_textbooks(point, base, along, distance) -> None:
    assert to_axis(np.array(point, float), base, along) == pytest.approx(distance, abs=1e-9)


@pytest.mark.parametrize(
    ("first", "second", "distance"),
    [
        # Stewart, Calculus, 12.5, example 10: skew lines
        (((1, -2, 4), (1, 3, -1)), ((0, 3, -3), (2, 1, 4)), 8 / sqrt(230)),
        # x = 2s, y = 2s - 1, z = s + 1 and x = t, y = 2t - 2, z = 3: the cross product has length 3
        (((0, -1, 1), (2, 2, 1)), ((0, -2, 3), (1, 2, 0)), 1.0),
    ],
)
def test_the_least_distance_between_skew_lines_is_the_textbooks(first, second, distance) -> None:
    base, along = (np.array(v, float) for v in first)
    least = minimize_scalar(lambda t: to_axis(base + t * along, *second), bounds=(-10, 10), options={"xatol": 1e-9})
    assert least.fun == pytest.approx(distance, abs=1e-9)


@pytest.mark.parametrize(
    ("point", "distance"),
    [
        ((0, 0, 20), -5),  # on the axis: the wall of the hole is nearest
        ((0, 0, 38), -2),  # on the axis near the bottom: the bottom is nearest
        ((8, 0, 20), 3),
        ((0, 0, -4), 4),
        ((2, 0, 44), 4),
        ((8, 0, 44), 5),  # off the rim: 3 out, 4 beyond
        ((0, 8, -4), 5),
    ],
)
def test_a_flat_ended_hole_is_exact_in_every_region(point, distance) -> None:
    start, end = np.zeros(3), np.array([0.0, 0.0, 40.0])
    assert cylinder_distance_mm(np.array(point, float), start, end, 10.0) == pytest.approx(distance, abs=EXACT)


def test_a_drill_point_adds_a_cone_of_118_degrees_beyond_the_end() -> None:
    start, end, radius = np.zeros(3), np.array([0.0, 0.0, 40.0]), 5.0
    tip = radius / tan(HALF_POINT)
    out = np.array([cos(HALF_POINT), 0.0, sin(HALF_POINT)])  # square to the cone's side
    half_way = np.array([radius / 2.0, 0.0, 40.0 + tip / 2.0])
    asked = np.array([[0.0, 0.0, 40.0 + tip + 3.0], half_way + 2.0 * out, half_way - 0.5 * out])
    found = cylinder_distance_mm(asked, start, end, 2.0 * radius, drill_point=True)
    assert found == pytest.approx([3.0, 2.0, -0.5], abs=EXACT)


def test_a_drill_point_is_at_the_end_and_not_at_the_start() -> None:
    start, end = np.zeros(3), np.array([0.0, 0.0, 40.0])
    below = np.array([[0.0, 0.0, -3.0], [1.0, 0.0, -3.0]])
    assert cylinder_distance_mm(below, start, end, 10.0, drill_point=True) == pytest.approx(3.0, abs=EXACT)


def test_a_half_space_is_positive_where_its_normal_points_whatever_its_length() -> None:
    point, towards = np.array([0.0, 0.0, 93.0]), np.array([0.0, 0.0, -4.0])
    asked = np.array([[7.0, 9.0, 90.0], [0.0, 0.0, 95.0]])
    assert half_space_distance_mm(asked, point, towards) == pytest.approx([3.0, -2.0], abs=EXACT)


def test_an_inclined_plane_is_as_far_as_hesses_form_says() -> None:
    # 2x + 3y + 6z = 14, normal of length 7; (1, 2, 3): |2 + 6 + 18 - 14| / 7
    found = half_space_distance_mm(np.array([1.0, 2.0, 3.0]), np.array([7.0, 0.0, 0.0]), np.array([2.0, 3.0, 6.0]))
    assert found == pytest.approx(12 / 7, abs=EXACT)


@given(points, points, points, points, st.floats(0.5, 30.0), st.booleans())
def test_moving_everything_moves_no_distance(point, start, end, shift, diameter, drill_point) -> None:
    if np.linalg.norm(end - start) < 0.01:
        end = start + np.array([1.0, 2.0, 2.0])
    turn = Rotation.from_rotvec(shift / 20.0)
    moved = [turn.apply(p) + shift for p in (point, start, end)]
    before = cylinder_distance_mm(point, start, end, diameter, drill_point=drill_point)
    after = cylinder_distance_mm(*moved, diameter, drill_point=drill_point)
    assert after == pytest.approx(before, abs=1e-9)


@given(points, points, st.floats(0.5, 30.0), st.booleans())
def test_no_step_changes_a_distance_by_more_than_its_own_length(first, second, diameter, drill_point) -> None:
    # what stopping short of a hazard, and leaving far blocks out, both rest on
    start, end = np.array([1.0, -4.0, 2.0]), np.array([3.0, 20.0, 18.0])
    found = cylinder_distance_mm(np.stack([first, second]), start, end, diameter, drill_point=drill_point)
    assert abs(found[1] - found[0]) <= np.linalg.norm(second - first) + 1e-9
