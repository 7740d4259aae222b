"""Places as someone at the bench reads them."""

from __future__ import annotations

from collections.abc import Callable
from math import radians
from typing import TypeAlias

import numpy as np
import pytest

from portgeom.geometry.shapes import circle
from portgeom.model.lofted import LoftedPort
from portgeom.questions.shape.places import bench_scale, clock_deg

Loft: TypeAlias = Callable[..., LoftedPort]


@pytest.mark.parametrize(
    ("point", "clock"),
    [
        ((0.0, 5.0), 0.0),
        ((5.0, 5.0), 45.0),
        ((5.0, 0.0), 90.0),
        ((0.0, -5.0), 180.0),
        ((-5.0, 0.0), 270.0),
        ((-5.0, 5.0), 315.0),
    ],
)
def test_the_clock_runs_from_the_roof_to_the_right_wall(point: tuple[float, float], clock: float) -> None:
    assert clock_deg(np.array(point) + (3.0, -2.0), np.array([3.0, -2.0])) == pytest.approx(clock)


def test_on_a_straight_port_both_readings_are_the_distance(lofted: Loft) -> None:
    scale = bench_scale(lofted([0.0, 40.0, 90.0], [circle(44.0)] * 3).cast.surface)
    for s in (0.0, 12.3, 90.0):
        assert scale.square_at(s) == pytest.approx(s)
        assert scale.along_roof_at(s) == pytest.approx(s)


def test_on_a_bend_the_roof_is_longer_and_the_depth_square_from_the_face_shorter(lofted: Loft) -> None:
    radius, pitch = 60.0, np.linspace(0.0, 80.0, 9)
    port = lofted(radius * np.radians(pitch), [circle(44.0)] * 9, pitch_deg=pitch)
    scale = bench_scale(port.cast.surface)
    for turn in (0.0, 20.0, 50.0, 80.0):
        s = radius * radians(turn)
        assert scale.along_roof_at(s) == pytest.approx((radius + 22.0) * radians(turn), rel=1e-4, abs=1e-9)
        assert scale.square_at(s) == pytest.approx((radius + 22.0) * np.sin(radians(turn)), rel=1e-4, abs=1e-9)


def test_depth_is_square_from_a_face_that_leans(lofted: Loft) -> None:
    port = lofted([0.0, 50.0], [circle(44.0)] * 2, pitch_deg=[25.0, 25.0])
    assert bench_scale(port.cast.surface).square_at(50.0) == pytest.approx(50.0)


def test_a_roof_that_climbs_is_longer_than_the_path(lofted: Loft) -> None:
    s = np.linspace(0.0, 60.0, 7)
    port = lofted(s, [circle(44.0).moved(0.0, 0.75 * x) for x in s])
    assert bench_scale(port.cast.surface).along_roof_at(60.0) == pytest.approx(60.0 * 1.25, rel=1e-6)
    assert bench_scale(port.cast.surface).square_at(60.0) == pytest.approx(60.0)
