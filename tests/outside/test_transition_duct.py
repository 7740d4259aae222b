"""A published duct, circle to rectangle, from its published coefficients.

Source: D. O. Davis and F. B. Gessner, "Experimental investigation of turbulent flow through a
circular-to-rectangular transition duct", AIAA Journal 30 (1992) 367; coefficients as kept in the ERCOFTAC Classic
Collection, case 7. Sections are |y/a|^n + |z/b|^n = 1 with a/R, b/R and n fifth-order polynomials in x/R. Areas
from the closed form 4 a b G(1 + 1/n)^2 / G(1 + 2/n); the volume is its quadrature.
"""

from __future__ import annotations

from collections.abc import Callable
from itertools import pairwise
from math import gamma, pi

import numpy as np
import pytest
import shapely
import trimesh
from scipy.integrate import quad

from portgeom.geometry.arrays import F64
from portgeom.geometry.outline import Outline
from portgeom.geometry.solid import solid_of
from portgeom.job.values import Line, Target
from portgeom.questions.whole import Answers

R = 102.15  # mm, inlet radius
PIECES = (  # from x/R, coefficients c0 to c5 of a/R, of b/R, of n
    (
        1.0,
        (0.875682170, 0.386998680, -0.387831440, 0.096543991, 0.041969148, -0.013362557),
        (1.110219900, -0.343102010, 0.343807210, -0.085532496, -0.037245857, 0.011853259),
        (8.483346500, -21.329880000, 26.148548000, -15.173079000, 4.361414300, -0.490349400),
    ),
    (
        1.96,
        (-0.373365600, 3.351019300, -3.279659000, 1.552321700, -0.336649300, 0.027262234),
        (2.216277900, -2.968311200, 2.905634800, -1.375475300, 0.298313020, -0.024157751),
        (1.097110900, 2.362357900, -2.878524200, 2.062091200, -0.641363010, 0.080685615),
    ),
    (
        2.92,
        (14.292266, -19.643522, 11.204615, -3.0380988, 0.39689283, -0.020128978),
        (-10.787227, 17.419488, -9.9360792, 2.6941403, -0.3519577, 0.01784994),
        (-1858.4412, 2828.7353, -1704.8063, 508.59846, -74.96037, 4.3651652),
    ),
)
# fmt: off
STATIONS = np.array([0.0, 0.5, 1.0, 1.25, 1.5, 1.75, 1.96, 2.25, 2.5, 2.75, 2.92, 3.25, 3.5, 3.75, 4.125, 5.0, 6.0])
# fmt: on
WIDENS_TO = 2.2895  # x/R of the largest area
CORNERS = 512


def shape_at(x: float) -> tuple[float, float, float]:
    """Return a/R, b/R and n at x/R."""
    if x <= 1.0:
        return 1.0, 1.0, 2.0
    if x >= 4.125:
        return 1.5463591, 0.51544988, 10.0
    piece = next(p for p in reversed(PIECES) if x >= p[0])
    a, b, n = (float(np.polynomial.polynomial.polyval(x, c)) for c in piece[1:])
    return a, b, n


def area_ratio(x: float) -> float:
    a, b, n = shape_at(x)
    return 4.0 * a * b * gamma(1.0 + 1.0 / n) ** 2 / gamma(1.0 + 2.0 / n) / pi


def corners(x: float, count: int = CORNERS) -> F64:
    a, b, n = shape_at(x)
    angle = np.linspace(0.0, 2.0 * pi, count, endpoint=False)
    c, s = np.cos(angle), np.sin(angle)
    reach = R * (np.abs(c) ** n + np.abs(s) ** n) ** (-1.0 / n)
    return np.column_stack([a * c * reach, b * s * reach])


def corners_spread_by_power(x: float, count: int) -> F64:
    a, b, n = shape_at(x)
    angle = np.linspace(0.0, 2.0 * pi, count, endpoint=False)
    c, s = np.cos(angle), np.sin(angle)
    power = 2.0 / n
    return R * np.column_stack([a * np.sign(c) * np.abs(c) ** power, b * np.sign(s) * np.abs(s) ** power])


def volume_mm3(start: float, end: float) -> float:
    pieces = [start, *(x for x in (1.0, 1.96, 2.92, 4.125) if start < x < end), end]
    return sum(pi * R**3 * quad(area_ratio, a, b)[0] for a, b in pairwise(pieces))


@pytest.fixture(scope="module")
def duct(ask: Callable[..., Answers], line: Callable[..., Line]) -> Answers:
    straight = Target("straight", roof=line((R, R), (4.125 * R, 0.515453 * R)))
    return ask(STATIONS * R, [Outline.polygon(corners(x)) for x in STATIONS], target=straight)


@pytest.mark.parametrize(
    ("x", "a", "b", "n", "ratio"),
    [
        (1.50, 1.020392, 0.981914, 2.46969, 1.074598),
        (2.25, 1.189193, 0.832209, 3.54370, 1.147675),
        (3.50, 1.524600, 0.534747, 8.34023, 1.017325),
    ],
)
def test_the_coefficients_are_written_down_right(x: float, a: float, b: float, n: float, ratio: float) -> None:
    assert shape_at(x) == pytest.approx((a, b, n), rel=1e-5)
    assert area_ratio(x) == pytest.approx(ratio, abs=1e-6)
    assert volume_mm3(1.0, 4.125) == pytest.approx(10.5278093 * R**3, rel=1e-7)


def test_every_station_has_the_area_of_its_polygon(duct: Answers) -> None:
    assert [f.area_mm2 for f in duct.profile.stations] == pytest.approx(
        [shapely.Polygon(corners(x)).area for x in STATIONS], rel=1e-12
    )


def test_every_station_has_the_area_of_the_formula_less_its_chords(duct: Answers) -> None:
    low = [
        1.0 - f.area_mm2 / (pi * R * R * area_ratio(x)) for f, x in zip(duct.profile.stations, STATIONS, strict=True)
    ]
    assert min(low) > 0.0
    assert max(low) < 1e-4


def test_perimeter_and_hydraulic_diameter_are_the_published_shapes(duct: Answers) -> None:
    expected = {
        1.0: (6.28319, 1.0),
        1.5: (6.54081, 1.03227),
        2.25: (7.01043, 1.02862),
        2.92: (7.48817, 0.91581),
    }
    figures = dict(zip(STATIONS.tolist(), duct.profile.stations, strict=True))
    for x, (perimeter, hydraulic) in expected.items():
        assert figures[x].perimeter_mm / R == pytest.approx(perimeter, rel=1e-4)
        assert figures[x].hydraulic_diameter_mm / (2.0 * R) == pytest.approx(hydraulic, rel=1e-4)


def test_the_area_peaks_where_the_formula_does(duct: Answers) -> None:
    (belly,) = duct.profile.taper.bellies
    assert belly.area_mm2 / duct.profile.flow_area_mm2[0] == pytest.approx(1.147923, abs=5e-4)
    assert belly.distance_mm / R == pytest.approx(WIDENS_TO, abs=0.01)
    assert not duct.profile.taper.necks


def test_the_volume_is_the_quadrature_of_the_formula(duct: Answers) -> None:
    knots, volume = duct.port.chart.knots_mm, duct.stage.surface.volume_mm3
    inside = (knots[:-1] >= R * (1.0 - 1e-9)) & (knots[1:] <= 4.125 * R * (1.0 + 1e-9))
    assert volume[inside].sum() == pytest.approx(10.5278093 * R**3, rel=1e-3)


def proud_at(duct: Answers, x: float) -> float:
    roof = duct.roof.map
    crown = roof.proud_mm[:, int(np.argmin(np.abs(roof.across_mm)))]
    return float(np.interp(x * R, roof.distance_mm, crown))


@pytest.mark.parametrize(("x", "proud_mm"), [(1.708, -6.751), (3.284, 8.649)])
def test_the_roof_is_past_the_straight_line_then_proud_of_it(duct: Answers, x: float, proud_mm: float) -> None:
    assert proud_mm == pytest.approx(R * (1.0 + (x - 1.0) * (0.515453 - 1.0) / 3.125 - shape_at(x)[1]), abs=1e-3)
    assert proud_at(duct, x) == pytest.approx(proud_mm, abs=0.05)


def test_peak_and_lowest_place_of_the_roof_are_those_of_the_formula(duct: Answers) -> None:
    assert duct.roof.peak.proud_mm == pytest.approx(8.649, abs=0.05)
    assert duct.roof.lowest.proud_mm == pytest.approx(-6.751, abs=0.05)


def test_the_widening_part_is_no_steeper_than_its_formula_and_so_raises_no_stall_warning(
    ask: Callable[..., Answers],
) -> None:
    # published: "the flow remains wholly attached". As a cone from end to end the widening part opens 6.34
    # degrees; its steepest 10 mm open 9.19 degrees, by the formula.
    x = np.linspace(1.0, WIDENS_TO, 16)
    taper = ask(x * R, [Outline.polygon(corners(k)) for k in x]).profile.taper
    mean = 2.0 * np.degrees(np.arctan((np.sqrt(area_ratio(WIDENS_TO)) - 1.0) / (WIDENS_TO - 1.0)))
    assert mean == pytest.approx(6.34, abs=0.005)
    fine = np.linspace(1.0, WIDENS_TO - 10.0 / R, 4001)
    radius = [np.sqrt([area_ratio(k) for k in fine + step]) for step in (0.0, 10.0 / R)]
    steepest = 2.0 * np.degrees(np.arctan((radius[1] - radius[0]).max() / (10.0 / R)))
    assert mean < taper.steepest.cone_angle_deg
    assert taper.steepest.cone_angle_deg == pytest.approx(steepest, rel=0.01)
    assert taper.smooth


def test_seventeen_stations_raise_no_stall_warning_either(duct: Answers) -> None:
    # from station to station it opens less steeply than between them
    ends = np.sqrt([area_ratio(x) for x in STATIONS])
    steepest = 2.0 * np.degrees(np.arctan(np.max(np.diff(ends) / np.diff(STATIONS))))
    assert duct.profile.taper.steepest.cone_angle_deg == pytest.approx(steepest, abs=0.02)
    assert duct.profile.taper.smooth


@pytest.mark.parametrize(("sections", "points", "linear"), [(13, 64, -6.8e-4), (26, 128, -1.7e-4), (51, 256, -4.2e-5)])
def test_the_loft_is_nearer_than_flat_facets_between_the_same_sections(
    ask: Callable[..., Answers], sections: int, points: int, linear: float
) -> None:
    # computed once with trimesh: flat facets from section to section miss the volume by this share. Part
    # of it is chords round the sections, the rest the loft between them; only the rest is compared.
    x = np.linspace(1.0, 4.125, sections)
    outlines = [Outline.polygon(corners_spread_by_power(k, points)) for k in x]
    chords = np.mean([o.area_mm2 / (pi * R * R * area_ratio(k)) - 1.0 for o, k in zip(outlines, x, strict=True)])
    miss = ask(x * R, outlines).profile.volume_mm3 / (10.5278093 * R**3) - 1.0
    assert abs(miss - chords) < 0.25 * abs(linear - chords)


def test_the_closed_mesh_has_the_volume_of_the_sections(duct: Answers) -> None:
    solid = solid_of(duct.stage.surface)
    read = trimesh.Trimesh(solid.vertices_mm, solid.faces, process=False)
    assert read.is_volume
    assert read.volume == pytest.approx(duct.profile.volume_mm3, rel=3e-4)
