"""Ducts and diffusers published by their dimensions, the source beside each.

Truth is computed here from the published shape, by closed form or by quadrature, and shares no code with what is
tested.
"""

from __future__ import annotations

from collections.abc import Callable
from math import atan, degrees, pi, radians, sqrt
from typing import TypeAlias

import numpy as np
import pytest
import trimesh
from scipy.integrate import quad

from portgeom.geometry.arrays import F64
from portgeom.geometry.chart import Resolution
from portgeom.geometry.shapes import CornerRadii, circle, rectangle
from portgeom.geometry.solid import solid_of
from portgeom.questions.whole import Answers

Ask: TypeAlias = Callable[..., Answers]
SHARP = CornerRadii(0.0, 0.0, 0.0, 0.0)
COARSE = Resolution(slab_mm=1.0)


def test_the_s_shaped_diffuser_has_the_areas_and_volume_of_its_formula(ask: Ask) -> None:
    # S. R. Wellborn, B. A. Reichert and T. H. Okiishi, J. Propulsion and Power 10 (1994), NASA TP-3411: two
    # coplanar arcs of 30 degrees, R = 102.1 cm, r1 = 10.21, r2 = 12.57 cm, drawn at a tenth. Numbers from
    # memory; they close on the published area ratio 1.52, offset 1.34 and length 5.24 inlet diameters.
    bend, r1, r2 = 102.1, 10.21, 12.57

    def radius(t: float) -> float:
        return r1 * (1.0 + 3.0 * (r2 / r1 - 1.0) * t**2 - 2.0 * (r2 / r1 - 1.0) * t**3)

    t = np.linspace(0.0, 1.0, 25)
    pitch = np.where(t <= 0.5, 60.0 * t, 60.0 * (1.0 - t))
    s = radians(60.0) * bend * t
    answers = ask(s, [circle(2.0 * radius(k)) for k in t], pitch_deg=pitch)
    profile, path = answers.profile, answers.port.chart.path
    ratio = [f.area_mm2 / profile.stations[0].area_mm2 for f in profile.stations]
    assert [ratio[k] for k in (6, 12, 18, 24)] == pytest.approx([1.07354, 1.24450, 1.42810, 1.51572], abs=5e-6)
    assert ratio[-1] == pytest.approx(1.52, abs=0.005)
    assert profile.length_mm / (2.0 * r1) == pytest.approx(5.24, abs=0.005)
    # sections stand square to the line and about it, so Pappus holds for the whole
    exact = radians(60.0) * bend * quad(lambda k: pi * radius(k) ** 2, 0.0, 1.0)[0]
    assert exact == pytest.approx(43803.60, abs=0.005)
    assert profile.volume_mm3 == pytest.approx(exact, rel=1e-3)
    assert path.origin_mm[-1] == pytest.approx([0.0, 102.10, -27.3576], abs=1e-3)
    assert -path.origin_mm[-1, 2] / (2.0 * r1) == pytest.approx(1.34, abs=0.005)
    # as a cone it opens 2.53 degrees, yet it is published as separating: no limit of the angle alone would tell
    assert 2.0 * degrees(atan((r2 - r1) / profile.length_mm)) == pytest.approx(2.53, abs=0.005)
    steepest = 2.0 * degrees(atan(1.5 * (r2 - r1) / profile.length_mm))
    assert profile.taper.steepest.cone_angle_deg == pytest.approx(steepest, rel=0.02)
    assert profile.taper.smooth


def test_the_s_bend_of_constant_section_has_the_published_offset_and_volume(ask: Ask) -> None:
    # A. M. K. P. Taylor, J. H. Whitelaw and M. Yianneskis, NASA CR-3550 (1982): two sectors of 22.5 degrees,
    # mean radius 7.0 hydraulic diameters, square: offset 1.065687, length 5.497787, volume 5.497787 of it cubed
    side = 40.0
    pitch = np.concatenate([np.linspace(0.0, 22.5, 6), np.linspace(22.5, 0.0, 6)[1:]])
    s = np.linspace(0.0, 2.0 * radians(22.5) * 7.0 * side, 11)
    answers = ask(s, [rectangle(side, side, SHARP)] * 11, pitch_deg=pitch, resolution=COARSE)
    assert -answers.port.chart.path.origin_mm[-1, 2] / side == pytest.approx(1.065687, abs=1e-6)
    assert answers.profile.volume_mm3 / side**3 == pytest.approx(5.497787, rel=1e-5)
    assert answers.profile.stations[0].hydraulic_diameter_mm == pytest.approx(side, rel=1e-12)


@pytest.mark.parametrize(("top", "side"), [(11.3, 2.56), (9.0, 4.0)], ids=["diffuser 1", "diffuser 2"])
def test_a_separating_diffuser_raises_the_stall_warning(ask: Ask, top: float, side: float) -> None:
    # E. M. Cherry, C. J. Elkins and J. K. Eaton, Int. J. Heat and Fluid Flow 29 (2008) 803; ERCOFTAC UFR 4-16:
    # 1 by 3.33 cm at inlet, 15 cm long; both are published as separating. Fillets of 6 cm left out.
    x = np.linspace(0.0, 150.0, 16)
    h, w = 10.0 + x * np.tan(radians(top)), 33.3 + x * np.tan(radians(side))
    taper = ask(x, [rectangle(a, b, SHARP) for a, b in zip(w, h, strict=True)], resolution=COARSE).profile.taper
    # the area is a quadratic of the distance, and its root grows fastest over the first 10 mm
    radius = np.sqrt(w * h / pi)
    steepest = 2.0 * degrees(atan((radius[1] - radius[0]) / 10.0))
    assert taper.steepest.cone_angle_deg == pytest.approx(steepest, rel=5e-3)
    assert taper.steepest.distance_mm == pytest.approx(5.0, abs=1.0)
    assert steepest > 10.0
    assert not taper.smooth


def test_the_first_diffuser_has_its_prismoidal_volume_and_neither_rule_of_thumb(ask: Ask) -> None:
    # As above, diffuser 1: exit 3.99730 by 4.00065 cm, ratio 4.80234, volume 139.88808 cm3; the mean of the end
    # areas would say 144.91 and the frustum formula 133.10
    t = np.linspace(0.0, 1.0, 9)
    h = 10.0 + 150.0 * np.tan(radians(11.3)) * t
    w = 33.3 + 150.0 * np.tan(radians(2.56)) * t
    answers = ask(150.0 * t, [rectangle(a, b, SHARP) for a, b in zip(w, h, strict=True)], resolution=COARSE)
    profile = answers.profile
    assert (profile.stations[-1].height_mm, profile.stations[-1].width_mm) == pytest.approx(
        (39.9730, 40.0065), abs=5e-4
    )
    assert profile.stations[-1].area_mm2 / profile.stations[0].area_mm2 == pytest.approx(4.80234, abs=5e-6)
    assert profile.volume_mm3 / 1000.0 == pytest.approx(139.88808, rel=1e-3)
    solid = solid_of(answers.stage.surface)
    read = trimesh.Trimesh(solid.vertices_mm, solid.faces, process=False)
    assert read.is_volume
    assert read.volume == pytest.approx(profile.volume_mm3, rel=3e-4)


def m2129_radius(x: F64, inlet: float, exit_: float) -> F64:
    return inlet + (exit_ - inlet) * (3.0 * (1.0 - x) ** 4 - 4.0 * (1.0 - x) ** 3 + 1.0)


@pytest.mark.parametrize("offset", [0.3, 0.45])
def test_the_two_siblings_of_one_intake_differ_in_offset_and_not_in_area(ask: Ask, offset: float) -> None:
    # RAE 2129 intake, Aeronautical Journal technical note (1994): centreline offsets 0.3 and 0.45 of the length.
    # Radii 64.4 to 76.2 mm, length 457.2 mm, and the shape of the lines, from memory; they close on the
    # published area ratio 1.40. Sections stand square to the axis, not to the line.
    length, x = 457.2, np.linspace(0.0, 1.0, 17)
    drop = 0.5 * offset * length * (1.0 - np.cos(pi * x))
    radius = m2129_radius(x, 64.4, 76.2)
    assert radius[[4, 8, 12]] == pytest.approx([67.4883, 72.5125, 75.6008], abs=5e-5)
    outlines = [circle(2.0 * r).moved(0.0, -z) for r, z in zip(radius, drop, strict=True)]
    answers = ask(length * x, outlines, resolution=COARSE)
    profile = answers.profile
    assert drop[-1] == pytest.approx({0.3: 137.16, 0.45: 205.74}[offset], abs=0.005)
    assert profile.stations[-1].area_mm2 / profile.stations[0].area_mm2 == pytest.approx(1.40, abs=0.005)
    exact = length * quad(lambda k: pi * float(m2129_radius(np.float64(k), 64.4, 76.2)) ** 2, 0.0, 1.0)[0]
    assert profile.volume_mm3 == pytest.approx(exact, rel=1e-3)
    # the flow runs along the curve of the centres, so its area is less than the plane's by the cosine
    slope = 0.5 * offset * pi * np.sin(pi * x)
    ratio = [f.flow_area_mm2 / f.area_mm2 for f in profile.stations]
    assert ratio == pytest.approx(1.0 / np.sqrt(1.0 + slope**2), rel=5e-3)


def test_a_right_angled_bend_has_the_volume_of_pappus(ask: Ask) -> None:
    # K. Sudo, M. Sumida and H. Hibara, Experiments in Fluids 25 (1998): diameter 104 mm, and, from memory, a
    # radius of curvature of two diameters: arc 326.726 mm, volume 2,775,490.7 mm3
    pitch = np.linspace(0.0, 90.0, 7)
    answers = ask(np.radians(pitch) * 208.0, [circle(104.0)] * 7, pitch_deg=pitch, resolution=COARSE)
    assert answers.profile.length_mm == pytest.approx(326.726, abs=5e-4)
    assert answers.profile.volume_mm3 == pytest.approx(2775490.7, rel=1e-5)


def test_a_bend_that_widens_as_it_turns_has_its_volume(ask: Ask) -> None:
    # O. J. McMillan, NASA CR-3634 (1982): turn 40 degrees, area ratio 1.5, height 1.5 and length 3 throat widths
    # W. With the width growing in a straight line and the bend in its plane: 5.625 W^3
    w, t = 20.0, np.linspace(0.0, 1.0, 9)
    outlines = [rectangle(w * (1.0 + 0.5 * k), 1.5 * w, SHARP) for k in t]
    answers = ask(3.0 * w * t, outlines, yaw_deg=40.0 * t)
    assert answers.profile.volume_mm3 / w**3 == pytest.approx(5.625, rel=1e-3)


def test_a_cone_of_published_ratio_and_length_has_the_published_angle(ask: Ask) -> None:
    # S. L. Dixon, Fluid Mechanics and Thermodynamics of Turbomachinery, example 2.3: length over inlet radius
    # 4.66, area ratio 2.13: 2 theta = 11.26 degrees
    inlet = 20.0
    s = 4.66 * inlet * np.linspace(0.0, 1.0, 5)
    radius = inlet * (1.0 + (sqrt(2.13) - 1.0) * np.linspace(0.0, 1.0, 5))
    taper = ask(s, [circle(2.0 * r) for r in radius]).profile.taper
    assert taper.steepest.cone_angle_deg == pytest.approx(11.26, abs=0.01)
    assert not taper.smooth
