"""Profiles of revolution against the solids that the burr shapes are named after."""

from __future__ import annotations

from math import pi, sqrt, tan

import numpy as np
import pytest

from portgeom.geometry.cutter import ARCH_NOSE, CONE_HALF_ANGLE_RAD, CUTTER_SHAPES, FLAME_BACK, CutterBody


def body(shape: str, diameter: float = 10.0, length: float = 20.0) -> CutterBody:
    return CutterBody(shape=shape, diameter_mm=diameter, length_mm=length, shank_mm=6.0, reach_mm=100.0)


def volume_mm3(cutter: CutterBody) -> float:
    """The solid of revolution, by the midpoint rule; its error falls with the square of the step."""
    step = cutter.head_mm / 200_000
    z = step * (np.arange(200_000) + 0.5)
    return float((pi * cutter.radius_at_mm(z) ** 2).sum() * step)


def slope(cutter: CutterBody, z: float, way: int) -> float:
    """One-sided slope of the profile."""
    h = 1e-6
    a, b = cutter.radius_at_mm(np.array([z, z + way * h]))
    return way * float(b - a) / h


@pytest.mark.parametrize(
    ("shape", "length", "solid"),
    [
        ("ball", 10.0, 4.0 / 3.0 * pi * 5.0**3),
        ("ball", 25.0, 4.0 / 3.0 * pi * 5.0**3),  # a ball ends where the ball does
        ("ball", 9.0, 4.0 / 3.0 * pi * 5.0**3 - pi * 1.0**2 * (3.0 * 5.0 - 1.0) / 3.0),  # cut off before the shank
        ("cylinder", 20.0, pi * 5.0**2 * 20.0),
        ("round-nose cylinder", 20.0, 2.0 / 3.0 * pi * 5.0**3 + pi * 5.0**2 * 15.0),
        ("oval", 20.0, 4.0 / 3.0 * pi * 5.0**2 * 10.0),
        ("cone", 20.0, pi * 5.0**2 * 20.0 / 3.0),
    ],
)
def test_volume_of_a_head_is_that_of_the_solid_it_is_named_after(shape: str, length: float, solid: float) -> None:
    assert volume_mm3(body(shape, length=length)) == pytest.approx(solid, rel=1e-8)


@pytest.mark.parametrize("shape", CUTTER_SHAPES)
def test_every_head_is_as_wide_as_its_diameter_where_it_says_and_nowhere_wider(shape: str) -> None:
    cutter = body(shape, 12.0, 25.0)
    z = np.linspace(0.0, cutter.head_mm, 5001)
    assert float(cutter.radius_at_mm(np.array(cutter.widest_mm))) == pytest.approx(6.0, rel=1e-12)
    assert cutter.radius_at_mm(z).max() <= 6.0 * (1.0 + 1e-12)
    assert cutter.radius_at_mm(z).min() >= 0.0
    # and is narrower anywhere nearer to the tip
    assert (cutter.radius_at_mm(z[z < cutter.widest_mm - 0.01]) < 6.0).all()


@pytest.mark.parametrize("shape", CUTTER_SHAPES)
def test_there_is_no_head_before_the_tip_nor_behind_the_back(shape: str) -> None:
    cutter = body(shape)
    assert cutter.radius_at_mm(np.array([-1.0, -1e-9, cutter.head_mm + 1e-9, 99.0])).tolist() == [0.0] * 4


def test_pointed_arch_is_one_arc_from_tip_to_parallel_back() -> None:
    cutter = body("arch pointed nose", 10.0, 20.0)
    z = np.linspace(0.0, 20.0, 101)
    y = cutter.radius_at_mm(z)
    arc = (5.0**2 + 20.0**2) / (2.0 * 5.0)  # chord 20 across, sagitta 5: r = (c^2 + h^2) / 2h
    assert np.hypot(z - 20.0, y - (5.0 - arc)) == pytest.approx(np.full(101, arc), rel=1e-12)
    assert y[0] == pytest.approx(0.0, abs=1e-12)
    assert slope(cutter, 20.0, -1) == pytest.approx(0.0, abs=1e-6)


def test_round_arch_is_a_sphere_that_runs_smoothly_into_an_arc() -> None:
    cutter = body("arch round nose", 12.0, 25.0)
    nose = ARCH_NOSE * 12.0
    near_tip = np.linspace(0.0, 0.5 * nose, 50)
    assert np.hypot(near_tip - nose, cutter.radius_at_mm(near_tip)) == pytest.approx(np.full(50, nose))
    z = np.linspace(0.0, 25.0, 100_001)
    y = cutter.radius_at_mm(z)
    past = z > 0.05 * nose
    turn = np.diff(np.arctan(np.diff(y[past]) / np.diff(z[past])))
    # no kink where they meet: a step of 0.00025 mm turns a sphere of 3 mm by no more than this near its tip
    assert np.abs(turn).max() < 0.00025 / nose * 4.0
    assert slope(cutter, 25.0, -1) == pytest.approx(0.0, abs=1e-6)


def test_conical_round_nose_has_the_standard_cone_touching_its_nose_sphere() -> None:
    cutter = body("conical round nose", 12.0, 25.0)
    assert slope(cutter, 20.0, -1) == pytest.approx(tan(CONE_HALF_ANGLE_RAD), rel=1e-6)
    z = np.linspace(1e-3, 24.999, 200_001)
    angle = np.arctan(np.diff(cutter.radius_at_mm(z)) / np.diff(z))
    assert (np.diff(angle) < 1e-6).all()  # it only ever turns towards the axis: sphere, then straight
    assert angle.min() == pytest.approx(float(CONE_HALF_ANGLE_RAD), rel=1e-6)


def test_conical_head_too_long_for_a_round_nose_ends_in_a_point_and_is_never_less_than_nothing() -> None:
    # 6 mm at 7 degrees is a point after 24.4 mm
    cutter = body("conical round nose", 6.0, 40.0)
    z = np.linspace(0.0, 40.0, 401)
    point = 40.0 - 3.0 / tan(CONE_HALF_ANGLE_RAD)
    assert cutter.radius_at_mm(z) == pytest.approx(np.maximum(0.0, (z - point) * tan(CONE_HALF_ANGLE_RAD)))


def test_flame_is_an_arch_to_its_waist_and_tapers_behind_it() -> None:
    cutter = body("flame", 12.0, 30.0)
    assert slope(cutter, cutter.widest_mm, -1) == pytest.approx(0.0, abs=1e-5)
    assert slope(cutter, cutter.widest_mm, 1) == pytest.approx(0.0, abs=1e-5)
    assert float(cutter.radius_at_mm(np.array(30.0))) == pytest.approx(FLAME_BACK * 6.0)


def test_cone_has_the_angle_of_its_sizes() -> None:
    cutter = body("cone", 10.0, 20.0)
    assert slope(cutter, 10.0, 1) == pytest.approx(5.0 / 20.0, rel=1e-6)


def test_ball_has_the_chords_of_a_circle() -> None:
    # segment of radius 8 1/3, chord 16, height 6: Machinery's Handbook, 31st ed., p. 79
    cutter = body("ball", 2.0 * 25.0 / 3.0, 20.0)
    assert 2.0 * float(cutter.radius_at_mm(np.array(6.0))) == pytest.approx(16.0, rel=1e-12)
    assert float(cutter.radius_at_mm(np.array(2.0))) == pytest.approx(sqrt(2.0 * (25.0 / 3.0) * 2.0 - 2.0**2))
