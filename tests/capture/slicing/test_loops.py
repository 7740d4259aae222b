"""Broken lines become whole loops, and what was missing is told."""

from __future__ import annotations

from math import pi

import numpy as np
import pytest

from portgeom.capture.slicing.cut import Line
from portgeom.capture.slicing.loops import Loop, loops_of

R = 20.0


def arc(start_deg: float, end_deg: float, points: int = 200, radius: float = R, middle=(0.0, 0.0)) -> Line:
    a = np.radians(np.linspace(start_deg, end_deg, points))
    return Line(np.column_stack([np.cos(a), np.sin(a)]) * radius + middle, False, 1.0)


def round_line(radius: float = R, points: int = 400, middle=(0.0, 0.0)) -> Line:
    whole = arc(0.0, 360.0, points + 1, radius, middle)
    return Line(whole.points_mm[:-1], True, 1.0)


def only(lines: list[Line]) -> Loop:
    (loop,) = loops_of(lines)
    return loop


def test_a_closed_line_is_its_polygon_turned_anticlockwise() -> None:
    line = round_line(points=400)
    for points in (line.points_mm, line.points_mm[::-1]):
        loop = only([Line(points, True, 1.0)])
        assert loop.area_mm2 == pytest.approx(0.5 * 400 * R**2 * np.sin(2.0 * pi / 400))
        assert loop.gaps == ()


def test_the_front_is_told_for_the_loop_as_it_is_turned() -> None:
    line = round_line()
    assert only([Line(line.points_mm, True, 0.75)]).outward_share == pytest.approx(0.75)
    assert only([Line(line.points_mm[::-1], True, 0.25)]).outward_share == pytest.approx(0.75)


@pytest.mark.parametrize("gap_deg", [5.0, 20.0, 50.0])
def test_a_gap_in_a_circle_is_bridged_along_the_circle(gap_deg: float) -> None:
    loop = only([arc(gap_deg, 360.0)])
    # a cubic with the right tangents strays 0.03 percent of the radius over 90 degrees (the usual Bezier circle)
    assert loop.area_mm2 == pytest.approx(pi * R**2, rel=5e-4)
    (gap,) = loop.gaps
    half = np.radians(0.5 * gap_deg)
    assert gap.width_mm == pytest.approx(2.0 * R * np.sin(half))
    assert gap.bow_mm == pytest.approx(R * (1.0 - np.cos(half)), rel=0.05)
    assert gap.middle_mm == pytest.approx(R * np.cos(half) * np.array([np.cos(half), np.sin(half)]))


def test_a_straight_bridge_would_have_lost_a_percent_and_more() -> None:
    half = np.radians(25.0)
    lost = R**2 * (half - np.sin(half) * np.cos(half))  # the segment cut off by the chord of 50 degrees
    assert lost > 0.01 * pi * R**2


def test_noise_on_the_wall_does_not_throw_the_bridge_off() -> None:
    random = np.random.default_rng(3)
    line = arc(30.0, 360.0)
    noisy = Line(line.points_mm * (1.0 + random.normal(0.0, 0.05 / R, (200, 1))), False, 1.0)
    assert only([noisy]).area_mm2 == pytest.approx(pi * R**2, rel=3e-3)


def test_pieces_in_any_order_and_either_direction_are_one_loop() -> None:
    pieces = [arc(90.5, 180.0), arc(359.0, 271.0), arc(181.0, 270.0), arc(0.0, 90.0)]
    loop = only([Line(p.points_mm[:: 1 - 2 * (k % 2)], False, 1.0) for k, p in enumerate(pieces)])
    assert len(loop.gaps) == 4
    assert loop.area_mm2 == pytest.approx(pi * R**2, rel=5e-4)
    assert loop.gap_mm == pytest.approx(R * np.radians(0.5 + 1.0 + 1.0 + 1.0), rel=1e-3)


def test_a_scrap_inside_a_gap_becomes_part_of_the_wall() -> None:
    scrap = arc(8.0, 12.0, points=9)
    loop = only([arc(20.0, 360.0), scrap])
    assert len(loop.gaps) == 2
    assert loop.area_mm2 == pytest.approx(pi * R**2, rel=5e-4)


def test_an_island_stays_a_loop_of_its_own() -> None:
    whole, island = loops_of([arc(10.0, 360.0), round_line(radius=2.0, middle=(3.0, 1.0))])
    assert whole.area_mm2 == pytest.approx(pi * R**2, rel=5e-4)
    assert island.area_mm2 == pytest.approx(pi * 2.0**2, rel=1e-3)
    assert island.centroid_mm == pytest.approx([3.0, 1.0])


def test_many_small_cracks_are_closed_straight() -> None:
    pieces = [arc(3.0 * k, 3.0 * k + 2.99, points=12) for k in range(120)]
    loop = only(pieces)
    assert len(loop.gaps) == 120
    assert loop.area_mm2 == pytest.approx(pi * R**2, rel=1e-4)
    assert all(g.bow_mm == 0.0 for g in loop.gaps)


def test_lines_of_no_area_make_no_loop() -> None:
    assert loops_of([Line(np.array([[0.0, 0.0], [1.0, 0.0]]), False, 1.0)]) == []
    assert loops_of([]) == []
