"""Bends: turn and radius of exact arcs, free-vortex ratios of closed form, and which side is the inside."""

from __future__ import annotations

from collections.abc import Callable
from math import log, pi, sqrt

import numpy as np
import pytest

from portgeom.geometry.shapes import CornerRadii, circle, rectangle
from portgeom.model.lofted import LoftedPort
from portgeom.questions.flow.bends import Turn, vortex
from portgeom.questions.flow.whole import FlowAnswers

SHARP = CornerRadii(0.0, 0.0, 0.0, 0.0)


@pytest.mark.parametrize(("diameter", "radius"), [(40.0, 80.0), (45.0, 50.0), (30.0, 120.0)])
def test_a_pipe_bend_turns_as_far_and_as_tightly_as_it_was_made(
    bent: Callable[..., FlowAnswers], diameter: float, radius: float
) -> None:
    (bend,) = bent(diameter, radius).losses.bends
    assert bend.turn_deg == pytest.approx(90.0, abs=0.01)
    assert bend.radius_ratio == pytest.approx(radius / diameter, rel=1e-3)
    assert bend.area_ratio == pytest.approx(1.0, rel=1e-3)
    assert bend.length_mm == pytest.approx(radius * pi / 2, rel=1e-4)


def test_the_published_bend_of_two_diameters(bent: Callable[..., FlowAnswers]) -> None:
    # Sudo et al., 90 degree bend: D 104 mm, R/D 2 (from memory); arc 326.726 mm
    (bend,) = bent(104.0, 208.0).losses.bends
    assert bend.radius_ratio == pytest.approx(2.0, rel=1e-3)
    assert bend.length_mm == pytest.approx(326.726, rel=1e-4)


def test_inside_over_outside_is_the_ratio_of_the_radii(bent: Callable[..., FlowAnswers]) -> None:
    at = bent(40.0, 80.0).losses.bends[0].tightest
    assert at.radius_mm == pytest.approx(80.0, rel=1e-3)
    assert at.inside_outside == pytest.approx((80.0 + 20.0) / (80.0 - 20.0), rel=2e-3)
    # mean of 1 / r over a circle of radius a about R: 2 (R - sqrt(R^2 - a^2)) / a^2
    mean = 2.0 * (80.0 - sqrt(80.0**2 - 20.0**2)) / 20.0**2
    assert at.inside_mean == pytest.approx(1.0 / (60.0 * mean), rel=2e-3)


def test_a_rectangular_bend_has_the_logarithmic_mean(flowing: Callable[..., FlowAnswers]) -> None:
    pitch = np.linspace(0.0, 60.0, 7)
    box = rectangle(30.0, 40.0, SHARP)
    answer = flowing(np.radians(pitch) * 70.0, [box] * 7, pitch_deg=pitch)
    at = answer.losses.bends[0].tightest
    assert at.inside_outside == pytest.approx(90.0 / 50.0, rel=2e-3)
    assert at.inside_mean == pytest.approx(40.0 / (50.0 * log(90.0 / 50.0)), rel=2e-3)


def test_the_short_side_of_a_port_that_turns_down_is_its_floor(bent: Callable[..., FlowAnswers]) -> None:
    assert bent(40.0, 80.0).losses.bends[0].tightest.clock_deg == pytest.approx(180.0, abs=0.5)


def test_a_turn_to_the_right_is_short_on_the_right(flowing: Callable[..., FlowAnswers]) -> None:
    yaw = np.linspace(0.0, 60.0, 7)
    answer = flowing(np.radians(yaw) * 80.0, [circle(40.0)] * 7, pitch_deg=np.zeros(7), yaw_deg=yaw)
    assert answer.losses.bends[0].tightest.clock_deg == pytest.approx(90.0, abs=0.5)


def test_a_bend_tighter_than_its_own_width_has_no_free_vortex(lofted: Callable[..., LoftedPort]) -> None:
    surface = lofted([0.0, 50.0], [rectangle(30.0, 66.0, SHARP)] * 2).cast.surface
    down = np.array([0.0, 0.0, -1.0])
    tight, just = (vortex(surface, Turn(0, 10, radius * np.radians(30.0), 30.0, 40.0, down)) for radius in (32.0, 34.0))
    assert (tight.inside_outside, tight.inside_mean) == (None, None)
    assert tight.inside_mm == pytest.approx(-1.0)
    assert just.inside_outside == pytest.approx(67.0 / 1.0, rel=1e-6)


def test_a_straight_port_has_no_bend(narrowing: Callable[..., FlowAnswers]) -> None:
    assert narrowing().losses.bends == ()


def test_a_bend_back_is_another_bend(flowing: Callable[..., FlowAnswers]) -> None:
    pitch = np.concatenate([np.linspace(0.0, 40.0, 6), np.linspace(32.0, 0.0, 5)])
    distance = np.arange(11) * np.radians(8.0) * 80.0
    found = flowing(distance, [circle(40.0)] * 11, pitch_deg=pitch).losses.bends
    assert [b.tightest.clock_deg for b in found] == pytest.approx([180.0, 0.0], abs=1.0)
    assert found[0].to_mm == found[1].from_mm
    # the direction is a chord's, so the very turning point is rounded off a little
    assert sum(b.turn_deg for b in found) == pytest.approx(80.0, abs=12.0)


def test_the_number_of_stations_does_not_change_a_bend(bent: Callable[..., FlowAnswers]) -> None:
    few, many = (bent(40.0, 80.0, stations=n).losses.bends[0] for n in (5, 19))
    assert few.radius_ratio == pytest.approx(many.radius_ratio, rel=1e-3)
    assert few.turn_deg == pytest.approx(many.turn_deg, abs=0.01)
