"""Areas, perimeters and diameters of sections against handbook tables, the source beside each."""

from __future__ import annotations

from math import pi, sqrt

import fluids
import numpy as np
import pytest
import shapely
from scipy.special import ellipe

from portgeom.geometry.moments import polygon_moments
from portgeom.geometry.outline import Outline
from portgeom.geometry.shapes import CornerRadii, circle, ellipse, obround, rectangle

SHARP = CornerRadii(0.0, 0.0, 0.0, 0.0)
FOOT = 304.8


def equivalent_diameter_mm(outline: Outline) -> float:
    """Return the round duct of equal friction, R. G. Huebscher (1948): 1.55 A^0.625 / P^0.25."""
    return 1.55 * outline.area_mm2**0.625 / outline.perimeter_mm**0.25


@pytest.mark.parametrize(
    ("major", "minor", "diameter"),
    # ASHRAE Handbook Fundamentals (SI) 2021, ch. 21, table 4: flat oval ducts. The table rounds its axes
    # to 5 mm, so its own formula is met to 1.6 mm.
    [
        (205, 70, 125),
        (475, 70, 180),
        (380, 100, 200),
        (490, 100, 224),
        (840, 150, 355),
        (1490, 150, 450),
        (1680, 200, 560),
        (1425, 275, 630),
        (2795, 550, 1250),
        (2495, 600, 1250),
    ],
)
def test_area_and_perimeter_of_an_obround_give_the_tabled_diameter(major: int, minor: int, diameter: int) -> None:
    assert equivalent_diameter_mm(obround(major, minor)) == pytest.approx(diameter, abs=1.6)
    assert equivalent_diameter_mm(obround(minor, major)) == pytest.approx(diameter, abs=1.6)


@pytest.mark.parametrize(
    ("a", "b", "diameter"),
    # The same, table 3: rectangular ducts, by 1.30 (a b)^0.625 / (a + b)^0.25. With the perimeter 2 (a + b)
    # the factor is 1.30 x 2^0.25.
    [(100, 200, 152), (150, 600, 310), (300, 500, 420), (500, 1000, 762), (800, 2000, 1348), (1200, 2000, 1680)],
)
def test_area_and_perimeter_of_a_rectangle_give_the_tabled_diameter(a: int, b: int, diameter: int) -> None:
    outline = rectangle(a, b, SHARP)
    assert 1.30 * 2.0**0.25 * outline.area_mm2**0.625 / outline.perimeter_mm**0.25 == pytest.approx(diameter, abs=0.5)


def test_hydraulic_diameter_of_a_large_duct_is_the_published_one() -> None:
    # Crane TP-410 (2009), problem 7.25: 16.5 by 25 ft: 19.8795 ft; ASHRAE, as above, eq. 24
    assert rectangle(16.5 * FOOT, 25.0 * FOOT, SHARP).hydraulic_diameter_mm / FOOT == pytest.approx(19.8795, abs=1e-4)


def test_hydraulic_diameter_of_a_flat_oval_is_the_handbook_formula() -> None:
    # ASHRAE, as above: 475 by 70: area 32,198.45 mm2, perimeter 1029.911 mm, 4 A / P = 125.05 mm
    oval = obround(475.0, 70.0)
    assert oval.area_mm2 == pytest.approx(pi * 70.0**2 / 4.0 + 70.0 * (475.0 - 70.0), rel=1e-12)
    assert oval.perimeter_mm == pytest.approx(pi * 70.0 + 2.0 * (475.0 - 70.0), rel=1e-12)
    assert oval.hydraulic_diameter_mm == pytest.approx(125.05, abs=0.005)


def test_a_rounded_corner_takes_off_the_handbook_spandrel() -> None:
    # Machinery's Handbook, 31st ed., p. 80: fillet of radius 0.7: 0.105 in2
    lost = 4.0 * 5.0 - rectangle(4.0, 5.0, CornerRadii(0.7, 0.0, 0.0, 0.0)).area_mm2
    assert lost == pytest.approx(0.105, abs=1e-3)
    assert lost == pytest.approx((1.0 - pi / 4.0) * 0.7**2, rel=1e-12)


def test_a_circle_has_the_handbook_area_and_circumference() -> None:
    # Machinery's Handbook, 31st ed., p. 78: diameter 2.75 in: 5.9396 in2 and 8.6394 in
    assert circle(2.75).area_mm2 == pytest.approx(5.9396, abs=5e-5)
    assert circle(2.75).perimeter_mm == pytest.approx(8.6394, abs=5e-5)


def test_a_twelve_sided_outline_is_measured_as_drawn_and_not_as_the_circle_round_it() -> None:
    # Machinery's Handbook, 31st ed., p. 78: twelve sides in a circle of radius 8 cm: 191.98, exact 192, cm2
    angle = np.arange(12) * pi / 6.0
    drawn = Outline.polygon(8.0 * np.column_stack([np.cos(angle), np.sin(angle)]))
    assert drawn.area_mm2 == pytest.approx(191.98, abs=0.025)
    assert drawn.area_mm2 == pytest.approx(192.0, rel=1e-12)
    assert drawn.area_mm2 < circle(16.0).area_mm2


@pytest.mark.parametrize(
    ("m", "k"),
    # Standard Handbook of Petroleum and Natural Gas Engineering, p. 11: perimeter pi (a + b) K,
    # m = (a - b) / (a + b)
    [(0.2, 1.010), (0.3, 1.023), (0.4, 1.040), (0.5, 1.064), (0.6, 1.092), (0.7, 1.127), (0.8, 1.168), (0.9, 1.216)],
)
def test_an_ellipse_has_the_tabled_perimeter(m: float, k: float) -> None:
    a, b = 20.0 * (1.0 + m), 20.0 * (1.0 - m)
    assert ellipse(2.0 * a, 2.0 * b).perimeter_mm / (pi * (a + b)) == pytest.approx(k, abs=5e-4)
    assert ellipse(2.0 * b, 2.0 * a).perimeter_mm == pytest.approx(4.0 * a * ellipe(1.0 - b * b / a / a), rel=1e-12)


def test_any_ellipse_has_the_perimeter_of_the_library_s_elliptic_integral() -> None:
    rng = np.random.default_rng(12)
    sizes = [*rng.uniform(1.0, 80.0, (3000, 2)), (44.0, 44.0), (44.0, 43.999999), (1.0, 5000.0)]
    for width, height in sizes:
        a, b = 0.5 * max(width, height), 0.5 * min(width, height)
        assert ellipse(width, height).perimeter_mm == pytest.approx(4.0 * a * ellipe(1.0 - (b / a) ** 2), rel=1e-12)


@pytest.mark.parametrize(("radius", "depth", "area"), [(12.0, 2.0, 18.01), (12.1875, 6.0, 89.254148)])
def test_a_round_section_cut_off_level_holds_the_published_segment(radius: float, depth: float, area: float) -> None:
    # Machinery's Handbook, 31st ed., pp. 50-51: R = 12 cm, depth 2 cm: 18.01 cm2. MatheAss, circular
    # sections: chord 21, height 6: 89.254148. Also the `fluids` library.
    half = np.arccos(1.0 - depth / radius)
    angle = np.linspace(-half, half, 4001) - pi / 2.0
    segment = Outline.polygon(radius * np.column_stack([np.cos(angle), np.sin(angle)]))
    assert segment.area_mm2 == pytest.approx(area, abs=0.005)
    assert segment.area_mm2 == pytest.approx(fluids.A_partial_circle(D=2.0 * radius, h=depth), rel=1e-6)
    assert segment.width_mm == pytest.approx(2.0 * sqrt(depth * (2.0 * radius - depth)), rel=1e-12)


OUTLINES = {
    "circle": circle(46.0),
    "ellipse": ellipse(50.0, 38.0),
    "obround": obround(30.0, 52.0),
    "rectangle": rectangle(42.0, 50.0, CornerRadii(9.5, 8.0, 6.0, 4.0)),
    "obround kinked": obround(52.0, 30.0).moved(3.0, -7.0),
}


@pytest.mark.parametrize("name", OUTLINES)
def test_the_drawn_polygon_is_the_closed_form_less_its_chords(name: str) -> None:
    # shapely measures the polygon; the curve round it holds more, by less than a part in 10,000
    outline = OUTLINES[name]
    polygon = shapely.Polygon(outline.points_mm)
    assert polygon.is_valid
    assert 0.0 < 1.0 - polygon.area / outline.area_mm2 < 1e-4
    assert 0.0 < 1.0 - polygon.length / outline.perimeter_mm < 1e-4
    assert np.array(polygon.centroid.coords[0]) == pytest.approx(outline.centroid_mm, abs=1e-3)


def test_moments_of_any_polygon_are_those_of_the_library() -> None:
    rng = np.random.default_rng(20)
    for _ in range(20):
        angle = np.sort(rng.uniform(0.0, 2.0 * pi, 40))
        points = rng.uniform(5.0, 30.0, 40)[:, None] * np.column_stack([np.cos(angle), np.sin(angle)]) + (300.0, -80.0)
        polygon = shapely.Polygon(points)
        moments = polygon_moments(points)
        assert moments.area_mm2 == pytest.approx(polygon.area, rel=1e-12)
        assert moments.first_mm3 / moments.area_mm2 == pytest.approx(np.array(polygon.centroid.coords[0]), rel=1e-12)
