"""Volumes and wetted surfaces against handbooks and published exercises, the source beside each.

"Handbook" below is Machinery's Handbook, 31st ed., Industrial Press, 2020. Lengths are in the source's own
unit, scaled so that a port is tens of millimetres; volumes are compared in the source's unit.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import partial
from math import pi, sqrt
from typing import TypeAlias

import numpy as np
import pytest
import trimesh

from portgeom.geometry.arrays import F64
from portgeom.geometry.chart import Resolution
from portgeom.geometry.outline import Outline
from portgeom.geometry.shapes import CornerRadii, circle, rectangle
from portgeom.geometry.solid import solid_of
from portgeom.job.values import Target
from portgeom.model.lofted import LoftedPort
from portgeom.questions.whole import Answers

INCH = 25.4
SHARP = CornerRadii(0.0, 0.0, 0.0, 0.0)
Ask: TypeAlias = Callable[..., Answers]
Loft: TypeAlias = Callable[..., LoftedPort]


@pytest.fixture(scope="module")
def loft(lofted: Loft) -> Loft:
    """Return the loft at a coarser slab: nothing here changes quickly along the path."""
    return partial(lofted, resolution=Resolution(slab_mm=1.0))


def bend(loft: Loft, outline: Outline, radius_mm: float, turn_deg: float, stations: int = 9) -> LoftedPort:
    """Return a bend of constant section, its path through the section's middle."""
    pitch = np.linspace(0.0, turn_deg, stations)
    return loft(np.radians(pitch) * radius_mm, [outline] * stations, pitch_deg=pitch)


def round_port(loft: Loft, distance_mm: F64, diameter_mm: F64) -> LoftedPort:
    return loft(distance_mm, [circle(d) for d in diameter_mm])


def volume_mm3(port: LoftedPort) -> float:
    return float(port.cast.surface.volume_mm3.sum())


def wetted_mm2(port: LoftedPort) -> float:
    """Return the area of the mesh's wall, its two ends left out."""
    solid = solid_of(port.cast.surface)
    whole = trimesh.Trimesh(solid.vertices_mm, solid.faces, process=False).area
    return float(whole - port.cast.surface.area_mm2[[0, -1]].sum())


def test_a_quarter_of_a_torus_is_a_quarter_of_the_handbook_volume_and_surface(loft: Loft) -> None:
    # Handbook p. 93: tube 1.5 in, mean diameter 5 in: volume 27.76 in3, surface 74.022 in2
    port = bend(loft, circle(1.5 * INCH), 2.5 * INCH, 90.0)
    assert 4.0 * volume_mm3(port) / INCH**3 == pytest.approx(27.76, abs=0.01)
    assert 4.0 * wetted_mm2(port) / INCH**2 == pytest.approx(74.022, rel=3e-4)


def test_a_torus_about_the_y_axis_has_the_volume_of_the_calculus_book(loft: Loft) -> None:
    # Larson and Edwards, Calculus, section 7.6 example 7: circle of radius 1 about x = 2, 4 pi^2, printed 39.5
    port = bend(loft, circle(2.0 * 20.0), 2.0 * 20.0, 90.0)
    assert 4.0 * volume_mm3(port) / 20.0**3 == pytest.approx(39.5, abs=0.05)
    assert 4.0 * volume_mm3(port) / 20.0**3 == pytest.approx(4.0 * pi**2, rel=1e-4)


def test_half_a_torus_has_the_published_lateral_surface(loft: Loft) -> None:
    # Statics notes on Pappus and Guldinus, section 9.3 example 3: R = 4 m, r = 1 m, 180 degrees: 79.0 m2
    port = bend(loft, circle(2.0 * 10.0), 4.0 * 10.0, 180.0)
    assert wetted_mm2(port) / 10.0**2 == pytest.approx(79.0, abs=0.06)
    assert wetted_mm2(port) / 10.0**2 == pytest.approx(8.0 * pi**2, rel=3e-4)
    assert volume_mm3(port) / 10.0**3 == pytest.approx(4.0 * pi**2, rel=1e-4)


def test_a_ring_has_the_volume_and_surface_of_the_mensuration_book(loft: Loft) -> None:
    # A 19th-century mensuration book, problem 10: section 4 across, centre path 50.2656: both 631.659
    port = bend(loft, circle(4.0 * 10.0), 50.2656 / (2.0 * pi) * 10.0, 180.0)
    assert 2.0 * volume_mm3(port) / 10.0**3 == pytest.approx(631.659, abs=0.005)
    assert 2.0 * wetted_mm2(port) / 10.0**2 == pytest.approx(631.659, rel=3e-4)


def test_a_frustum_of_a_pyramid_has_the_handbook_volume(loft: Loft) -> None:
    # Handbook p. 89: ends 1.5 and 6 ft2, height 4.5 ft: 15.75 ft3
    foot = 20.0  # mm for a foot, so that the model is of a port's size
    small, large = sqrt(1.5) * foot, sqrt(6.0) * foot
    port = loft([0.0, 4.5 * foot], [rectangle(a, a, SHARP) for a in (small, large)])
    assert volume_mm3(port) / foot**3 == pytest.approx(15.75, rel=1e-5)


def test_a_wedge_with_unlike_ends_has_the_handbook_volume(loft: Loft) -> None:
    # Handbook p. 89: base 4 by 3, edge 5, height 4.5 in: 29.25 in3 = 479.32162 cm3. An edge is no section, so
    # it is measured at nine stations up to 80 percent of its height; the tip is a wedge of the same rule.
    t = np.linspace(0.0, 0.8, 9)
    port = loft(4.5 * INCH * t, [rectangle((4.0 + k) * INCH, 3.0 * (1.0 - k) * INCH, SHARP) for k in t])
    tip = (2.0 * 4.8 + 5.0) * 0.6 * 0.9 / 6.0
    assert volume_mm3(port) / INCH**3 + tip == pytest.approx(29.25, rel=1e-3)
    assert volume_mm3(port) / 1000.0 + tip * 16.387064 == pytest.approx(479.32162, rel=1e-3)


def test_a_spherical_zone_has_the_handbook_volume(loft: Loft) -> None:
    # Handbook p. 92: end diameters 3 and 4 in, height 1.5 in: 16.493 in3
    # the sphere through both rims: x from the plane of the smaller, r(x)^2 = r1^2 - (x^2 - 2 x c)
    h, r1, r2 = 1.5, 1.5, 2.0
    c = (h * h + r2 * r2 - r1 * r1) / (2.0 * h)  # of the centre from the smaller rim
    x = np.linspace(0.0, h, 13)
    port = round_port(loft, x * INCH, 2.0 * np.sqrt(r1 * r1 + 2.0 * c * x - x * x) * INCH)
    assert volume_mm3(port) / INCH**3 == pytest.approx(16.493, rel=1e-3)
    assert volume_mm3(port) / INCH**3 == pytest.approx(16.4934, rel=2e-4)


def test_a_paraboloid_has_the_mean_of_its_end_areas(loft: Loft) -> None:
    # Handbook p. 93: D = 5, d = 3, h = 6 in: 80.11 in3. Its area is linear in x, so the mean is exact.
    x = np.linspace(0.0, 6.0, 13)
    port = round_port(loft, x * INCH, np.sqrt(9.0 + 16.0 * x / 6.0) * INCH)
    assert volume_mm3(port) / INCH**3 == pytest.approx(80.11, rel=1e-4)
    assert volume_mm3(port) / INCH**3 == pytest.approx(pi / 8.0 * (25.0 + 9.0) * 6.0, rel=1e-4)


def test_a_cone_and_a_cylinder_have_the_handbook_volumes_and_surfaces(loft: Loft) -> None:
    # Handbook pp. 89, 90: cone d = 6, h = 4 in: 37.7 in3, wall 47.124 in2; cylinder 2.5 by 20: 98.17, 157.08.
    # A thousandth of the cone's height is left off at its tip.
    cone = round_port(loft, np.array([0.0, 3.996]) * INCH, np.array([6.0, 0.006]) * INCH)
    assert volume_mm3(cone) / INCH**3 == pytest.approx(37.7, abs=0.01)
    assert wetted_mm2(cone) / INCH**2 == pytest.approx(47.124, rel=3e-4)
    pipe = round_port(loft, np.array([0.0, 20.0]) * INCH, np.array([2.5, 2.5]) * INCH)
    assert volume_mm3(pipe) / INCH**3 == pytest.approx(98.17, abs=0.01)
    assert wetted_mm2(pipe) / INCH**2 == pytest.approx(157.08, rel=3e-4)


def test_an_embankment_has_its_prismoidal_volume_and_not_the_mean_of_its_ends(loft: Loft) -> None:
    # A surveying exercise: 150 m long, 11 m wide on top, slopes 2 in 1, heights 0.5, 1.5, 2.5 m: areas 6, 21,
    # 40 m2, prismoidal 3250 m3, mean of end areas 3450 m3. Set on its head, and measured at nine stations.
    metre = 1.0  # mm for a metre

    def section(height: float) -> Outline:
        half = 5.5 + 2.0 * height
        corners = np.array([(-5.5, -0.5), (5.5, -0.5), (half, height - 0.5), (-half, height - 0.5)])
        return Outline.polygon(corners * metre)

    heights = np.linspace(0.5, 2.5, 9)
    port = loft(np.linspace(0.0, 150.0, 9) * metre, [section(h) for h in heights])
    areas = port.cast.surface.area_mm2[port.cast.slab[[0, 4, 8]]] / metre**2
    assert areas == pytest.approx([6.0, 21.0, 40.0], rel=1e-12)
    assert volume_mm3(port) / metre**3 == pytest.approx(3250.0, rel=1e-3)


def test_the_metal_of_a_hollow_cylinder_is_the_handbook_volume(ask: Ask, table_of: Callable[..., object]) -> None:
    # Handbook p. 90: height 28, outer diameter 36, wall 4 cm: 11,259.5 cm3
    s = np.array([0.0, 14.0, 28.0])
    wanted = Target("bored", sections=table_of(s, [circle(36.0)] * 3))
    metal = ask(s, [circle(28.0)] * 3, target=wanted).removal
    assert metal.volume_mm3 == pytest.approx(11259.5, rel=1e-3)
    # both circles are drawn by their rays, so the metal reads low, by no more than 128 chords would
    low = 1.0 - metal.volume_mm3 / (pi / 4.0 * (36.0**2 - 28.0**2) * 28.0)
    assert 0.0 < low < 1.0 - np.sin(pi / 64.0) / (pi / 64.0)
    assert metal.missing_mm3 == 0.0
    assert metal.deepest is not None
    assert metal.deepest.depth_mm == pytest.approx(4.0, rel=1e-3)


def test_a_dimple_of_a_ball_in_the_roof_has_the_volume_of_the_handbook_segment(
    ask: Ask, table_of: Callable[..., object]
) -> None:
    # Handbook p. 91: segment 50 high over a chord of 125 mm: 372,247 mm3, radius 64 mm. Here a tenth of it,
    # cut up into a flat roof by a target of sections 0.5 mm apart.
    h, c = 5.0, 12.5
    radius = (0.25 * c * c + h * h) / (2.0 * h)
    assert radius == pytest.approx(6.40625)  # 64.0625, printed 64
    across = np.linspace(20.999, -20.999, 1401)
    s = np.union1d(np.arange(0.0, 30.01, 0.5), [15.0 - 0.5 * c, 15.0 + 0.5 * c])

    def section(x: float) -> Outline:
        inside = np.maximum(0.0, radius**2 - (x - 15.0) ** 2 - across**2)
        up = np.maximum(0.0, np.sqrt(inside) - (radius - h))
        roof = np.column_stack([across, 25.0 + up])
        return Outline.polygon(np.concatenate([roof, [(-21.0, 20.0), (-21.0, -25.0), (21.0, -25.0), (21.0, 20.0)]]))

    flat = section(-100.0)
    wanted = Target("dimple", sections=table_of(s, [section(x) for x in s]))
    metal = ask([0.0, 10.0, 20.0, 30.0], [flat] * 4, target=wanted).removal
    assert metal.volume_mm3 == pytest.approx(372.247, rel=0.02)
    assert metal.deepest is not None
    assert metal.deepest.depth_mm == pytest.approx(h, abs=0.06)
    assert metal.deepest.clock_deg == pytest.approx(0.0, abs=0.5) or metal.deepest.clock_deg > 359.5
