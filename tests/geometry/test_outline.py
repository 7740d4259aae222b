"""Outlines: one plain closed curve, or a refusal that says what was found."""

from __future__ import annotations

import numpy as np
import pytest

from portgeom.geometry.outline import Outline, OutlineError
from portgeom.geometry.shapes import CornerRadii, circle, ellipse, obround, rectangle

SQUARE = [(0.0, 0.0), (10.0, 0.0), (10.0, 10.0), (0.0, 10.0)]


@pytest.mark.parametrize(
    ("points", "message"),
    [
        (SQUARE[:2], "at least 3"),
        (SQUARE[::-1], "clockwise"),
        ([(0, 0), (10, 10), (10, 0), (0, 10)], r"crosses or touches itself at u 5\.00, v 5\.00"),
        ([(0, 0), (10, 0), (10, 10), (5, 0), (0, 10)], "crosses or touches itself"),
        ([(0, 0), (5, 0), (10, 0)], "on one line"),
        ([(0, 0), (10, 0), (float("nan"), 10), (0, 10)], "point 3 is not a number"),
        ([(0, 0), (10, 0), (10, float("inf"))], "point 3 is not a number"),
        ([(0, 0, 0), (10, 0, 0), (10, 10, 0)], "rows of u and v"),
        ([], "rows of u and v"),
    ],
)
def test_a_curve_that_is_no_outline_is_refused(points: list[tuple[float, ...]], message: str) -> None:
    with pytest.raises(OutlineError, match=message):
        Outline.polygon(points)


def test_an_outline_cannot_be_changed() -> None:
    given = np.array(SQUARE)
    outline = Outline.polygon(given)
    with pytest.raises(ValueError, match="read-only"):
        outline.points_mm[0, 0] = 1.0
    given[0] = 99.0
    assert outline.points_mm[0].tolist() == [0.0, 0.0]


def test_moving_carries_the_centroid_and_keeps_the_measures() -> None:
    outline = rectangle(20.0, 30.0, CornerRadii(8.0, 4.0, 2.0, 0.0))
    moved = outline.moved(3.0, -7.0)
    assert moved.centroid_mm == pytest.approx(outline.centroid_mm + (3.0, -7.0), rel=1e-15)
    assert (moved.area_mm2, moved.perimeter_mm) == (outline.area_mm2, outline.perimeter_mm)


def test_mirroring_swaps_left_and_right_and_stays_anticlockwise() -> None:
    outline = rectangle(20.0, 30.0, CornerRadii(8.0, 4.0, 2.0, 0.0)).moved(5.0, 1.0)
    mirrored = outline.mirrored()
    assert Outline.polygon(mirrored.points_mm).area_mm2 == pytest.approx(
        Outline.polygon(outline.points_mm).area_mm2, rel=1e-12
    )
    assert mirrored.centroid_mm == pytest.approx(outline.centroid_mm * (-1.0, 1.0), rel=1e-15)
    assert mirrored.low_mm[0] == pytest.approx(-outline.high_mm[0])


@pytest.mark.parametrize(
    "outline",
    [
        circle(46.0),
        ellipse(30.0, 50.0),
        obround(50.0, 30.0),
        obround(30.0, 50.0),
        obround(30.0, 30.0),
        rectangle(42.0, 50.0, CornerRadii(9.0, 0.0, 25.0, 3.0)),
        rectangle(42.0, 50.0, CornerRadii(0.0, 0.0, 0.0, 0.0)),
    ],
)
def test_every_shape_is_a_plain_anticlockwise_curve_of_its_size(outline: Outline) -> None:
    drawn = Outline.polygon(outline.points_mm)  # refuses anything else
    chord = 2.0 * np.pi / 240.0  # the coarsest: four corner arcs of 60 chords make a circle
    assert 1.0 - drawn.area_mm2 / outline.area_mm2 == pytest.approx(0.0, abs=1.001 * (1.0 - np.sin(chord) / chord))
    assert outline.centroid_mm == pytest.approx(drawn.centroid_mm, abs=1e-3)
    assert outline.hydraulic_diameter_mm == pytest.approx(4.0 * outline.area_mm2 / outline.perimeter_mm, rel=1e-15)


@pytest.mark.parametrize(
    ("radii", "message"),
    [
        (CornerRadii(-1.0, 0.0, 0.0, 0.0), "negative"),
        (CornerRadii(25.0, 20.0, 0.0, 0.0), "longer than the top, 42"),
        (CornerRadii(30.0, 0.0, 0.0, 30.0), "longer than the left side, 50"),
    ],
)
def test_corner_radii_that_do_not_fit_are_refused(radii: CornerRadii, message: str) -> None:
    with pytest.raises(OutlineError, match=message):
        rectangle(42.0, 50.0, radii)


@pytest.mark.parametrize("size", [0.0, -3.0, float("nan"), float("inf")])
def test_a_size_that_is_none_is_refused(size: float) -> None:
    with pytest.raises(OutlineError, match="not above zero"):
        circle(size)
