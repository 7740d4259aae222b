"""Metal to remove: sums, sides, zones, depth, missing metal and Pappus of the strip."""

from __future__ import annotations

from collections.abc import Callable
from math import cos, hypot, pi, radians, sin
from typing import TypeAlias

import numpy as np
import pytest

from portgeom.geometry.outline import Outline
from portgeom.geometry.shapes import CornerRadii, circle, ellipse, rectangle
from portgeom.job.values import Limits, Line, SectionTable, Target
from portgeom.questions.after import taper_after
from portgeom.questions.shape.removal import Removal
from portgeom.questions.whole import Answers

Ask: TypeAlias = Callable[..., Answers]
Lines: TypeAlias = Callable[..., Line]
Tables: TypeAlias = Callable[..., SectionTable]
SHARP = CornerRadii(0.0, 0.0, 0.0, 0.0)
LENGTH = 90.0
S = np.linspace(0.0, LENGTH, 10)
BOX = rectangle(42.0, 50.0, CornerRadii(9.5, 9.5, 6.0, 6.0))


def assert_sums(metal: Removal) -> None:
    sides = metal.by_side
    assert sides.roof + sides.floor + sides.left + sides.right == pytest.approx(metal.volume_mm3, rel=1e-9, abs=1e-6)
    assert sum(z.volume_mm3 for z in metal.by_zone) == pytest.approx(metal.volume_mm3, rel=1e-9, abs=1e-6)


def wavy(k: int) -> Outline:
    rng = np.random.default_rng(k)
    t = np.linspace(0.0, 2.0 * pi, 300, endpoint=False)
    out = 1.0 + 0.03 * np.sin(3.0 * t + rng.uniform(0, 6)) + 0.02 * np.sin(7.0 * t + rng.uniform(0, 6))
    return Outline.polygon(np.column_stack([21.0 * out * np.cos(t), 25.0 * out * np.sin(t)]))


@pytest.mark.parametrize("pitch", [0.0, 80.0])
@pytest.mark.parametrize("seed", range(3))
def test_sides_and_zones_add_up_to_the_whole(ask: Ask, table_of: Tables, seed: int, pitch: float) -> None:
    wanted = [wavy(100 + 10 * seed + k) for k in range(10)]
    target = Target("other", sections=table_of(S, wanted))
    cast = [wavy(10 * seed + k) for k in range(10)]
    metal = ask(S, cast, target=target, pitch_deg=np.linspace(0.0, pitch, 10)).removal
    assert_sums(metal)
    assert metal.volume_mm3 > 0.0
    assert metal.missing_mm3 > 0.0
    assert [z.from_mm for z in metal.by_zone] == pytest.approx(S[:-1])
    assert [z.to_mm for z in metal.by_zone] == pytest.approx(S[1:])
    assert min(metal.by_side.roof, metal.by_side.floor, metal.by_side.left, metal.by_side.right) > 0.0


def test_each_side_gets_its_own_strip(ask: Ask, table_of: Tables) -> None:
    # a box 42 by 50 wanted 1 wider on the left, 2 on the right, 3 higher and 4 deeper: the strips beside run the
    # whole new height
    wanted = Outline.polygon([(-22.0, -29.0), (23.0, -29.0), (23.0, 28.0), (-22.0, 28.0)])
    target = Target("larger", sections=table_of(S, [wanted] * 10))
    metal = ask(S, [rectangle(42.0, 50.0, SHARP)] * 10, target=target).removal
    sides = metal.by_side
    # rays cut a sharp corner short by up to their spacing, so a mm or so of a strip may change sides
    assert sides.roof == pytest.approx(42.0 * 3.0 * LENGTH, rel=0.03)
    assert sides.floor == pytest.approx(42.0 * 4.0 * LENGTH, rel=0.03)
    assert sides.left == pytest.approx(57.0 * 1.0 * LENGTH, rel=0.03)
    assert sides.right == pytest.approx(57.0 * 2.0 * LENGTH, rel=0.03)
    assert metal.volume_mm3 == pytest.approx((45.0 * 57.0 - 42.0 * 50.0) * LENGTH, rel=1e-3)


def test_no_side_is_negative_when_the_wanted_section_is_widest_at_another_height(ask: Ask, table_of: Tables) -> None:
    # as cast widest at its floor, wanted widest at its roof: the wedges beside the walls go to the sides, a strip
    # of 1.5 to the roof, nothing to the floor
    cast = Outline.polygon([(-21.0, -25.0), (21.0, -25.0), (20.0, 25.0), (-20.0, 25.0)])
    wanted = Outline.polygon([(-21.0, -25.0), (21.0, -25.0), (23.0, 26.5), (-23.0, 26.5)])
    metal = ask(S, [cast] * 10, target=Target("wider above", sections=table_of(S, [wanted] * 10))).removal
    sides = metal.by_side
    assert min(sides.roof, sides.floor, sides.left, sides.right) >= -1e-6
    assert sides.floor < 1e-3 * sides.left  # where rays cut the sharp corners
    assert sides.left == pytest.approx(sides.right, rel=1e-6)
    # beyond the floor's corners at 21: a triangle 2 wide and 51.5 high on each side
    assert sides.left == pytest.approx(0.5 * 2.0 * 51.5 * LENGTH, rel=0.03)
    assert_sums(metal)


def test_each_zone_gets_what_comes_off_between_its_stations(ask: Ask, line: Lines) -> None:
    # a rise of 0 at 0 that grows to 4.5 mm at the end: zones grow as the odd numbers
    target = Target("wedge", roof_kind="roof_raise", roof=line((0.0, 0.0), (LENGTH, 4.5)))
    metal = ask(S, [rectangle(42.0, 50.0, SHARP)] * 10, target=target).removal
    expected = [42.0 * 10.0 * 0.5 * (k + 0.5) for k in range(9)]
    assert [z.volume_mm3 for z in metal.by_zone] == pytest.approx(expected, rel=1e-6)


def test_missing_metal_is_told_apart_and_never_set_against_what_comes_off(ask: Ask, table_of: Tables) -> None:
    # as cast 40 wide and 50 high, wanted 46 wide and 44 high
    target = Target("wider", sections=table_of(S, [rectangle(46.0, 44.0, SHARP)] * 10))
    metal = ask(S, [rectangle(40.0, 50.0, SHARP)] * 10, target=target).removal
    assert metal.volume_mm3 == pytest.approx(2.0 * 3.0 * 44.0 * LENGTH, rel=5e-3)
    assert metal.missing_mm3 == pytest.approx(2.0 * 3.0 * 40.0 * LENGTH, rel=5e-3)
    assert metal.volume_after_mm3 == pytest.approx((40.0 * 50.0 + 2.0 * 3.0 * 44.0) * LENGTH, rel=1e-3)
    assert_sums(metal)


def test_mass_is_the_volume_in_cc_times_the_density(ask: Ask, line: Lines) -> None:
    target = Target("up", roof=line((0.0, 28.0), (LENGTH, 28.0)))
    iron, light = (ask(S, [BOX] * 10, target=target, density_g_cc=d).removal for d in (7.2, 2.7))
    assert iron.mass_g == pytest.approx(7.2 * iron.volume_mm3 / 1000.0, rel=1e-12)
    assert light.mass_g == pytest.approx(2.7 * iron.volume_mm3 / 1000.0, rel=1e-12)


# Pappus of the strip


@pytest.mark.parametrize("up", [0.0, 12.0, -15.0])
@pytest.mark.parametrize("turn", [45.0, 90.0])
def test_a_ring_cut_from_a_round_bend_is_pappus_of_the_ring(ask: Ask, table_of: Tables, up: float, turn: float) -> None:
    radius, r1, r2 = 60.0, 20.0, 23.0
    pitch = np.linspace(0.0, turn, 9)
    s = radius * np.radians(pitch)
    target = Target("bored", sections=table_of(s, [circle(2.0 * r2).moved(0.0, up)] * 9))
    metal = ask(s, [circle(2.0 * r1).moved(0.0, up)] * 9, pitch_deg=pitch, target=target).removal
    exact = pi * (r2**2 - r1**2) * (radius + up) * radians(turn)
    assert metal.volume_mm3 == pytest.approx(exact, rel=1e-3)
    assert_sums(metal)


def test_a_crescent_cut_from_one_side_of_a_bend_is_pappus_of_the_crescent(ask: Ask, table_of: Tables) -> None:
    # a circle bored 3 mm off its own middle and 3 mm larger: an eccentric ring that touches on one side. Its
    # centroid lies where the moments of the two discs put it.
    radius, turn, r1, r2, off = 60.0, 80.0, 20.0, 23.0, 3.0
    yaw = np.linspace(0.0, turn, 9)
    s = radius * np.radians(yaw)
    target = Target("bored aside", sections=table_of(s, [circle(2.0 * r2).moved(off, 0.0)] * 9))
    metal = ask(s, [circle(2.0 * r1)] * 9, yaw_deg=yaw, target=target).removal
    area = pi * (r2**2 - r1**2)
    across = pi * r2**2 * off / area
    assert metal.volume_mm3 == pytest.approx(area * (radius - across) * radians(turn), rel=1e-3)
    assert metal.by_side.right > metal.by_side.left


@pytest.mark.parametrize("kind", ["pitch_deg", "yaw_deg"])
def test_a_strip_on_a_bend_is_pappus_on_every_side(ask: Ask, table_of: Tables, kind: str) -> None:
    radius, turn = 60.0, 75.0
    angle = np.linspace(0.0, turn, 9)
    s = radius * np.radians(angle)
    # 2 mm off the right wall and 3 off the floor, corners carried: the wanted box sits 1 right and 1.5 down
    radii = CornerRadii(6.0, 6.0, 6.0, 6.0)
    cast, wanted = rectangle(40.0, 48.0, radii), rectangle(42.0, 51.0, radii).moved(1.0, -1.5)
    target = Target("larger", sections=table_of(s, [wanted] * 9))
    metal = ask(s, [cast] * 9, target=target, **{kind: angle}).removal
    first = wanted.area_mm2 * np.array([1.0, -1.5])  # the cast box is about the path
    lever = first[1] if kind == "pitch_deg" else -first[0]
    exact = ((wanted.area_mm2 - cast.area_mm2) * radius + lever) * radians(turn)
    assert metal.volume_mm3 == pytest.approx(exact, rel=1e-3)


# The deepest place


@pytest.mark.parametrize("angle", [0.0, 40.0, 90.0, 135.0, 200.0, 270.0, 330.0])
def test_the_deepest_cut_of_an_eccentric_bore_is_where_it_is_bored_to(ask: Ask, table_of: Tables, angle: float) -> None:
    # bored 1.5 mm larger in radius and 1.5 off: 3 mm deep on one side, nothing on the other. Clockwise from up.
    u, v = 1.5 * sin(radians(angle)), 1.5 * cos(radians(angle))
    target = Target("bored", sections=table_of(S, [circle(43.0).moved(u, v)] * 10))
    deepest = ask(S, [circle(40.0)] * 10, target=target).removal.deepest
    assert deepest is not None
    assert deepest.depth_mm == pytest.approx(3.0, abs=0.01)
    # the cut is 1.5 (1 + cos a) deep at a from there; rays 0.7 mm apart leave 0.35^2 / (2 x 3) of it unsure
    unsure = np.degrees(np.arccos(1.0 - 0.35**2 / 6.0 / 1.5))
    assert (deepest.clock_deg - angle + 180.0) % 360.0 - 180.0 == pytest.approx(0.0, abs=unsure)


def test_the_deepest_cut_is_the_way_to_the_nearest_metal_and_not_up_the_section(ask: Ask, line: Lines) -> None:
    # a roof that climbs 30 degrees as cast and is wanted 4 mm higher: the metal is 4 cos 30 deep
    climb = np.tan(radians(30.0))
    s = np.linspace(0.0, 60.0, 7)
    outlines = [rectangle(42.0, 50.0, CornerRadii(6, 6, 6, 6)).moved(0.0, climb * x) for x in s]
    target = Target("up", roof_kind="roof_raise", roof=line((0.0, 4.0), (60.0, 4.0)))
    deepest = ask(s, outlines, target=target).removal.deepest
    assert deepest is not None
    # at the last plane the nearest metal lies beyond it, so there the way straight down the section counts
    assert deepest.depth_mm <= 4.001
    inner = ask(s, outlines, target=Target("up", roof_kind="roof_raise", roof=line((10.0, 4.0), (50.0, 4.0))))
    assert inner.removal.deepest is not None
    assert inner.removal.deepest.depth_mm == pytest.approx(4.0 * cos(radians(30.0)), abs=0.02)


def test_the_deepest_cut_in_a_corner_is_the_corner_s_own(ask: Ask, table_of: Tables) -> None:
    # a box bored out to a box 3 wider and 4 higher on each side: its corner is 5 mm from the old one
    target = Target("larger", sections=table_of(S, [rectangle(46.0, 58.0, SHARP)] * 10))
    deepest = ask(S, [rectangle(40.0, 50.0, SHARP)] * 10, target=target).removal.deepest
    assert deepest is not None
    # both corners are cut by the rays, the new one more
    assert deepest.depth_mm == pytest.approx(hypot(3.0, 4.0), abs=0.6)
    assert deepest.depth_mm > 4.0


def test_where_nothing_comes_off_nothing_is_deepest(ask: Ask) -> None:
    assert ask(S, [BOX] * 10).removal.deepest is None


# After


def test_after_is_the_union_and_its_areas_add_up(ask: Ask, table_of: Tables) -> None:
    target = Target("flatter", sections=table_of(S, [ellipse(48.0, 36.0)] * 10))
    answers = ask(S, [circle(42.0)] * 10, target=target)
    t = np.linspace(0.0, 2.0 * pi, 200001)
    # polar reach of both, the larger of the two
    reach = np.maximum(21.0, 24.0 * 18.0 / np.hypot(18.0 * np.cos(t), 24.0 * np.sin(t)))
    union = float(np.trapezoid(0.5 * reach**2, t))
    after = answers.removal.after
    assert after.area_mm2 == pytest.approx(np.full(len(after.area_mm2), union), rel=5e-4)
    assert answers.removal.smallest_after.area_mm2 == pytest.approx(union, rel=5e-4)
    assert answers.removal.volume_after_mm3 == pytest.approx(
        answers.profile.volume_mm3 + answers.removal.volume_mm3, rel=1e-9
    )


def test_the_taper_after_is_that_of_the_port_wanted(ask: Ask, table_of: Tables) -> None:
    cast = [circle(d) for d in (46.0, 44.0, 40.0, 43.0, 42.0)]
    s = np.linspace(0.0, 80.0, 5)
    target = Target("even", sections=table_of(s, [circle(d) for d in (46.0, 45.0, 44.0, 43.0, 42.0)]))
    answers = ask(s, cast, target=target)
    assert len(answers.profile.taper.necks) == 1
    after = taper_after(answers.port, answers.stage, answers.removal, Limits())
    assert after.necks == ()
    assert after.smooth
    assert after.entry_area_mm2 == pytest.approx(pi * 23.0**2, rel=3e-4)
