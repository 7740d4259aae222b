"""Curves are drawn to within what was asked, and wild ones are given up."""

from __future__ import annotations

import numpy as np
import pytest

from portgeom.geometry.arrays import F64, frozen
from portgeom.geometry.curves import Curve, CurveError, bezier, elliptic_arc, straight


def sag(points: F64, radius: float) -> float:
    """Return how far the chords of points on a circle about (0, 0) run inside it."""
    middle = 0.5 * (points[:-1] + points[1:])
    return float(radius - np.linalg.norm(middle, axis=1).min())


@pytest.mark.parametrize("within", [0.1, 0.01, 0.001, 1e-5])
def test_chords_of_a_circle_keep_within_what_was_asked(within: float) -> None:
    points = elliptic_arc((0.0, 0.0), (20.0, 0.0), (0.0, 20.0), 0.3, 2.0 * np.pi).points(within)
    assert np.allclose(np.linalg.norm(points, axis=1), 20.0)
    assert sag(points, 20.0) <= within
    assert np.allclose(points[0], points[-1])


def test_an_arc_may_run_clockwise() -> None:
    points = elliptic_arc((1.0, 2.0), (5.0, 0.0), (0.0, 3.0), 0.5 * np.pi, -0.5 * np.pi).points(0.01)
    assert points[0] == pytest.approx([1.0, 5.0])
    assert points[-1] == pytest.approx([6.0, 2.0])


def test_a_straight_line_is_its_corners() -> None:
    corners = [[0.0, 0.0], [3.0, 4.0], [3.0, 9.0]]
    assert straight(corners).points(0.001).tolist() == corners


def test_a_quadratic_bezier_keeps_its_area_under_the_curve() -> None:
    points = bezier([[0.0, 0.0], [10.0, 20.0], [20.0, 0.0]]).points(1e-4)
    # a parabola's segment is two thirds of base times height (Archimedes)
    assert np.trapezoid(points[:, 1], points[:, 0]) == pytest.approx(2.0 / 3.0 * 20.0 * 10.0, rel=1e-4)


def test_a_curve_that_is_not_finite_is_refused() -> None:
    curve = Curve(lambda t: np.column_stack([t, np.where(t > 0.5, np.inf, 0.0)]), frozen([0.0, 1.0]))
    with pytest.raises(CurveError, match="not finite"), np.errstate(invalid="ignore"):
        curve.points(0.01)


def test_a_curve_that_never_settles_is_given_up() -> None:
    rng = np.random.default_rng(5)
    curve = Curve(lambda t: rng.normal(size=(len(t), 2)), frozen([0.0, 1.0]))
    with pytest.raises(CurveError, match="wildly"):
        curve.points(1e-3)
