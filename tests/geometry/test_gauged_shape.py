"""A section gauged at six places and four corners comes back with its area."""

from __future__ import annotations

from math import pi

import numpy as np
import pytest
import shapely

from portgeom.geometry.gauged_shape import NAMES, QUARTERS, Gauged, gauged_outline
from portgeom.geometry.outline import Outline, OutlineError
from portgeom.geometry.shapes import CornerRadii, circle, obround, rectangle


def gauge(outline: Outline, radii: CornerRadii) -> Gauged:
    """Return the readings of an outline about (0, 0), cut by an independent library."""
    polygon = shapely.Polygon(outline.points_mm)
    w, h = outline.width_mm, outline.height_mm

    def across(line: list[tuple[float, float]]) -> float:
        return float(polygon.intersection(shapely.LineString(line)).length)

    widths = [across([(-500.0, v), (500.0, v)]) for v in (QUARTERS - 0.5) * h]
    heights = [across([(u, -500.0), (u, 500.0)]) for u in (QUARTERS - 0.5) * w]
    return Gauged(np.array(widths), np.array(heights), radii)


def alike(radius: float) -> CornerRadii:
    return CornerRadii(radius, radius, radius, radius)


SHAPES = {
    "square corners": (rectangle(40.0, 48.0, alike(0.0)), alike(0.0)),
    "corners short of the readings": (rectangle(41.5, 49.9, alike(9.0)), alike(9.0)),
    "corners over the readings": (rectangle(38.0, 48.0, alike(16.0)), alike(16.0)),
    "four radii": (rectangle(40.0, 48.0, CornerRadii(9.0, 14.0, 17.0, 6.0)), CornerRadii(9.0, 14.0, 17.0, 6.0)),
    "obround": (obround(50.6, 46.4), alike(23.2)),
    "circle": (circle(46.0), alike(23.0)),
}


@pytest.mark.parametrize("name", SHAPES)
def test_exact_readings_give_area_centroid_and_readings_back(name: str) -> None:
    shape, radii = SHAPES[name]
    found = gauged_outline(gauge(shape, radii))
    assert found.outline.area_mm2 == pytest.approx(shape.area_mm2, rel=1e-4)
    assert found.outline.perimeter_mm == pytest.approx(shape.perimeter_mm, rel=1e-3)
    assert found.outline.centroid_mm == pytest.approx(shape.centroid_mm, abs=0.01)
    assert np.abs(found.misses_mm).max() < 1e-3


def test_leaning_walls_make_a_trapezoid() -> None:
    # 30 wide at the floor, 46 at the roof, 40 high, sharp corners
    found = gauged_outline(Gauged(np.array([34.0, 38.0, 42.0]), np.array([40.0, 40.0, 40.0]), alike(0.0)))
    assert found.outline.area_mm2 == pytest.approx(0.5 * (30.0 + 46.0) * 40.0)
    assert found.outline.width_mm == pytest.approx(46.0)


def test_a_roof_that_falls_to_the_right_is_higher_on_the_left() -> None:
    found = gauged_outline(Gauged(np.array([40.0, 40.0, 40.0]), np.array([44.0, 42.0, 40.0]), alike(0.0)))
    points = found.outline.points_mm
    assert found.outline.area_mm2 == pytest.approx(40.0 * 42.0)
    assert points[np.argmax(points[:, 1])] == pytest.approx([-20.0, 25.0])


def test_bulged_walls_are_parabolas() -> None:
    # a parabola through 40, 42, 40 a quarter of the height apart: Milne's rule is exact for it
    found = gauged_outline(Gauged(np.array([40.0, 42.0, 40.0]), np.array([50.0, 50.0, 50.0]), alike(0.0)))
    mean = (2.0 * 40.0 - 42.0 + 2.0 * 40.0) / 3.0
    assert found.outline.area_mm2 == pytest.approx(mean * 50.0, rel=2e-4)  # its chords are short by 1 in 32^2


@pytest.mark.parametrize("radius", [6.0, 11.0])
def test_corners_touch_their_sides(radius: float) -> None:
    widths, heights = np.array([36.0, 38.0, 39.0]), np.array([47.0, 48.0, 46.0])
    points = gauged_outline(Gauged(widths, heights, alike(radius))).outline.points_mm
    along = np.diff(points, axis=0, append=points[:1])
    turn = np.cross(np.column_stack([along, np.zeros(len(along))]), np.roll(along, -1, axis=0) @ np.eye(2, 3))[:, 2]
    length = np.linalg.norm(along, axis=1)
    angle = np.degrees(np.arcsin(turn / (length * np.roll(length, -1))))
    assert np.abs(angle).max() < 3.0  # a corner that did not touch would turn by more at once


def test_a_reading_that_does_not_suit_its_corner_is_shown_by_how_much() -> None:
    shape = rectangle(38.0, 48.0, alike(16.0))
    readings = gauge(shape, alike(17.5))
    found = gauged_outline(readings)
    worst = NAMES[int(np.argmax(np.abs(found.misses_mm)))]
    assert worst in ("height_left", "height_right", "width_low", "width_high")
    assert 0.3 < np.abs(found.misses_mm).max() < 3.0


@pytest.mark.parametrize(
    ("widths", "heights", "radius", "found"),
    [
        ([40.0, 40.0, 40.0], [48.0, 48.0, 48.0], 21.0, "corner radii 21 and 21 are longer than the"),
        ([40.0, 0.0, 40.0], [48.0, 48.0, 48.0], 5.0, "not above zero"),
        ([1.0, 40.0, 1.0], [48.0, 48.0, 48.0], 5.0, "."),
    ],
)
def test_readings_of_no_section_are_refused(
    widths: list[float], heights: list[float], radius: float, found: str
) -> None:
    with pytest.raises(OutlineError, match=found):
        gauged_outline(Gauged(np.array(widths), np.array(heights), alike(radius)))


def test_wild_readings_end_in_an_outline_or_a_refusal() -> None:
    rng = np.random.default_rng(3)
    made = 0
    for _ in range(40):
        low, high = 5.0, 60.0
        try:
            found = gauged_outline(
                Gauged(rng.uniform(low, high, 3), rng.uniform(low, high, 3), CornerRadii(*rng.uniform(0.0, 15.0, 4)))
            )
        except OutlineError:
            continue
        made += 1
        assert 0.0 < found.outline.area_mm2 < 4.0 * high**2
    assert made > 2


def test_area_moves_with_the_readings_as_quadrature_says() -> None:
    # 0.15 mm on every reading: Milne's rule gives the three widths weights 2/3, -1/3, 2/3
    rng = np.random.default_rng(7)
    areas = []
    for _ in range(150):
        noise = rng.normal(0.0, 0.15, 6)
        areas.append(gauged_outline(Gauged(40.0 + noise[:3], 48.0 + noise[3:], alike(0.0))).outline.area_mm2)
    expected = 0.15 * np.hypot(48.0, 40.0)  # both ways together, a root of the weights' squares of 1 each
    assert np.std(areas) == pytest.approx(expected, rel=0.2)
    assert np.mean(areas) == pytest.approx(40.0 * 48.0, abs=3.0 * expected / np.sqrt(150))


def test_a_circle_is_its_own_closed_form() -> None:
    assert gauged_outline(gauge(circle(30.0), alike(15.0))).outline.area_mm2 == pytest.approx(pi * 15.0**2, rel=1e-4)
