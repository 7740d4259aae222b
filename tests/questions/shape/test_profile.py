"""The profile: stations by their outlines, planes and flow as two things."""

from __future__ import annotations

from collections.abc import Callable
from math import cos, pi, radians, tan
from typing import TypeAlias

import numpy as np
import pytest

from portgeom.geometry.shapes import CornerRadii, circle, ellipse, obround, rectangle
from portgeom.questions.whole import Answers

Ask: TypeAlias = Callable[..., Answers]
OUTLINES = [
    rectangle(42.0, 50.0, CornerRadii(9.5, 9.5, 6.0, 6.0)),
    ellipse(44.0, 48.0).moved(1.0, -0.5),
    obround(46.0, 44.0),
    circle(44.0),
]
S = np.array([0.0, 30.0, 55.0, 90.0])


def test_a_station_s_figures_are_its_outline_s(ask: Ask) -> None:
    profile = ask(S, OUTLINES, places=["face", "pinch", "", "throat"], pitch_deg=[0.0, 10.0, 40.0, 80.0]).profile
    for figures, outline, s, place in zip(profile.stations, OUTLINES, S, ["face", "pinch", "", "throat"], strict=True):
        assert (figures.distance_mm, figures.place) == (s, place)
        assert figures.area_mm2 == outline.area_mm2
        assert figures.perimeter_mm == outline.perimeter_mm
        assert figures.width_mm == outline.width_mm
        assert figures.height_mm == outline.height_mm
        assert figures.hydraulic_diameter_mm == pytest.approx(4.0 * outline.area_mm2 / outline.perimeter_mm)
        assert figures.centroid_mm == pytest.approx(outline.centroid_mm)
    assert [f.station for f in profile.stations] == ["1", "2", "3", "4"]
    assert profile.length_mm == 90.0


def test_the_profile_runs_in_steps_of_a_millimetre_or_less(ask: Ask) -> None:
    profile = ask(S, OUTLINES).profile
    assert np.diff(profile.distance_mm).max() <= 1.0
    assert (profile.distance_mm[0], profile.distance_mm[-1]) == (0.0, 90.0)


def test_on_planes_square_to_a_straight_path_flow_area_is_the_plane_s(ask: Ask) -> None:
    profile = ask([0.0, 50.0, 90.0], [circle(44.0), circle(42.0), circle(40.0)]).profile
    assert profile.flow_area_mm2 == pytest.approx(profile.area_mm2, rel=1e-9)


@pytest.mark.parametrize("lean", [10.0, 25.0])
def test_planes_gauged_parallel_to_the_face_along_a_climbing_port_give_its_own_area(ask: Ask, lean: float) -> None:
    # a round port of 40 that climbs, gauged in upright planes: ellipses 1/cos higher, each further up
    s = np.linspace(0.0, 80.0, 9)
    outlines = [ellipse(40.0, 40.0 / cos(radians(lean))).moved(0.0, tan(radians(lean)) * x) for x in s]
    profile = ask(s, outlines).profile
    assert [f.flow_area_mm2 for f in profile.stations] == pytest.approx([pi * 20.0**2] * 9, rel=1e-6)
    assert [f.area_mm2 for f in profile.stations] == pytest.approx([pi * 20.0**2 / cos(radians(lean))] * 9)
    # what stands between two upright planes is the upright area times their distance
    assert profile.volume_mm3 == pytest.approx(pi * 20.0**2 / cos(radians(lean)) * 80.0, rel=1e-4)
    assert profile.taper.necks == ()


def test_planes_that_lean_against_the_flow_are_given_by_places(ask: Ask) -> None:
    # a straight round port along y, gauged in planes that all lean 20 degrees: ellipses 1/cos high in the plane
    s = np.linspace(0.0, 80.0, 5)
    places = np.column_stack([np.zeros(5), s, np.zeros(5)])
    outline = ellipse(40.0, 40.0 / cos(radians(20.0)))
    profile = ask(None, [outline] * 5, place_mm=places, pitch_deg=np.full(5, 20.0), yaw_deg=np.zeros(5)).profile
    assert profile.volume_mm3 == pytest.approx(pi * 20.0**2 * 80.0, rel=1e-4)
