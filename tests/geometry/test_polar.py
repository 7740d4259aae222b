"""Radii by a pointer become a smooth outline about the point they were taken from."""

from __future__ import annotations

from math import pi

import numpy as np
import pytest

from portgeom.geometry.arrays import F64
from portgeom.geometry.outline import OutlineError
from portgeom.geometry.polar import polar_outline

EIGHT = np.arange(8) * 45.0


def reach(clock_deg: F64, centre: tuple[float, float], radius: float) -> F64:
    """Return how far a circle's wall is from (0, 0) at clock positions, in closed form."""
    way = np.column_stack([np.sin(np.radians(clock_deg)), np.cos(np.radians(clock_deg))])
    along = way @ np.array(centre)
    return along + np.sqrt(along**2 - float(np.dot(centre, centre)) + radius**2)


@pytest.mark.parametrize("centre", [(0.0, 0.0), (3.0, 0.0), (0.0, -3.0), (2.0, 2.0)])
def test_eight_radii_of_a_circle_give_its_area_and_place(centre: tuple[float, float]) -> None:
    outline = polar_outline(EIGHT, reach(EIGHT, centre, 23.0))
    assert outline.area_mm2 == pytest.approx(pi * 23.0**2, rel=2e-4)
    assert outline.centroid_mm == pytest.approx(centre, abs=0.02)


def test_clock_runs_clockwise_from_the_crown() -> None:
    radius = np.array([30.0, 20.0, 20.0, 20.0, 20.0, 20.0, 20.0, 20.0])
    assert polar_outline(EIGHT, radius).centroid_mm[1] > 1.0
    assert polar_outline(EIGHT, np.roll(radius, 2)).centroid_mm[0] > 1.0


def test_uneven_positions_are_taken_as_they_are() -> None:
    clock = np.array([10.0, 50.0, 95.0, 140.0, 170.0, 230.0, 260.0, 330.0])
    outline = polar_outline(clock, reach(clock, (1.0, 2.0), 22.0))
    assert outline.area_mm2 == pytest.approx(pi * 22.0**2, rel=5e-4)


def test_the_curve_goes_through_the_readings() -> None:
    rng = np.random.default_rng(2)
    radius = 22.0 + rng.normal(0.0, 0.5, 8)
    points = polar_outline(EIGHT, radius).points_mm
    for clock, r in zip(np.radians(EIGHT), radius, strict=True):
        nearest = np.linalg.norm(points - r * np.array([np.sin(clock), np.cos(clock)]), axis=1).min()
        assert nearest < 1e-9


@pytest.mark.parametrize(
    ("clock", "radius", "found"),
    [
        (EIGHT[:5], 20.0, "5 radii; at least 6"),
        (np.arange(8) * 30.0, 20.0, "no radius for 150 degrees from clock 210"),
        (EIGHT, np.array([40.0, 40.0, 0.05, 40.0, 0.05, 0.05, 40.0, 40.0]), "comes to nothing"),
    ],
)
def test_radii_of_no_outline_are_refused(clock: F64, radius: F64 | float, found: str) -> None:
    with pytest.raises(OutlineError, match=found):
        polar_outline(clock, np.broadcast_to(radius, len(clock)))
