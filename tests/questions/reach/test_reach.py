"""Reach of tools into straight and bent ducts, against what geometry allows."""

from __future__ import annotations

from collections.abc import Callable
from math import acos, cos, hypot, pi, radians

import numpy as np
import pytest

from portgeom.geometry.outline import Outline
from portgeom.geometry.shapes import CornerRadii, circle, rectangle
from portgeom.job.values import Cutter, Guide, Target
from portgeom.questions.reach.reach import Reach, reach

BALL = Cutter("ball 10", "ball", diameter_mm=10.0, length_mm=9.0, shank_mm=6.0, reach_mm=120.0)
LONG = 80.0
PLACES_APART = 3.0  # how far places to be asked stand apart, in mm


def box(width: float, height: float, radius: float) -> Outline:
    return rectangle(width, height, CornerRadii(radius, radius, radius, radius))


@pytest.fixture(scope="module")
def reached(ask, table_of) -> Callable[..., Reach]:
    """Return a function that asks for reach between two outlines along a path of given distances."""

    def answer(now, wanted, *cutters, distance=(0.0, LONG), pitch=0.0, guide=None, **options) -> Reach:
        outlines = [wanted] * len(distance)
        target = Target("wider", sections=table_of(distance, outlines, pitch_deg=pitch))
        all_of_it = ask(
            distance,
            [now] * len(distance),
            pitch_deg=pitch,
            target=target,
            guide=guide,
            position_mm=np.zeros(3),
        )
        return reach(all_of_it.port, all_of_it.stage, all_of_it.removal, cutters, **options)

    return answer


def changed(cutter: Cutter, **values: float) -> Cutter:
    sizes = {n: getattr(cutter, n) for n in ("diameter_mm", "length_mm", "shank_mm", "reach_mm")}
    return Cutter(cutter.name, cutter.shape, **{**sizes, **values})


@pytest.fixture(scope="module")
def straight(reached) -> Reach:
    """A straight duct, asked with a long and with three short tools."""
    tools = [changed(BALL, reach_mm=far) for far in (120.0, 50.0, 40.0)]
    return reached(box(40.0, 30.0, 8.0), box(42.0, 32.0, 9.0), *tools)


def test_in_a_straight_duct_a_long_tool_reaches_everything_from_both_sides(straight) -> None:
    result = straight.cutters[0]
    for side in (result.entry, result.seat):
        assert side.share == pytest.approx(1.0, abs=1e-9)
        assert side.stopped == ()
    assert result.either_share == pytest.approx(1.0, abs=1e-9)
    assert result.neither.patches == ()
    assert result.corners == ()


def test_a_place_at_the_far_end_needs_the_ducts_length_and_the_ball_beyond_it(straight) -> None:
    # square to the face the tip lies a radius beyond the place it touches
    entry = straight.cutters[0].entry
    assert LONG - PLACES_APART + 5.0 < entry.longest_mm < (LONG + 5.0) / cos(radians(10.0))
    assert 0.95 * LONG < entry.usual_mm < entry.longest_mm
    # from the nearer side, half of it will do
    assert straight.cutters[0].stick_out_mm == pytest.approx(0.5 * LONG + 5.0, abs=PLACES_APART)


def test_a_short_tool_reaches_as_deep_as_it_sticks_out_less_its_radius(straight) -> None:
    result = straight.cutters[1]
    for side in (result.entry, result.seat):
        assert side.share == pytest.approx((50.0 - 5.0) / LONG, abs=side.share_error + 0.01)
        assert [s.cause for s in side.stopped] == ["tool too short"]
    assert result.either_share == pytest.approx(1.0, abs=1e-9)


def test_what_a_tool_too_short_leaves_is_told_with_its_place(straight) -> None:
    (patch,) = straight.cutters[2].neither.patches
    assert patch.from_mm == pytest.approx(40.0 - 5.0, abs=PLACES_APART)
    assert patch.to_mm == pytest.approx(LONG - 40.0 + 5.0, abs=PLACES_APART)
    assert patch.all_round
    assert patch.why.cause == "tool too short"
    # the needed stick-out counts lines that are longer than the tool
    assert straight.cutters[2].stick_out_mm == straight.cutters[0].stick_out_mm


def test_what_one_cutter_reaches_is_not_left_by_the_job(straight) -> None:
    assert straight.none.volume_mm3 == pytest.approx(0.0, abs=1e-6)
    assert straight.none.patches == ()


def test_the_places_weigh_as_much_as_the_metal(straight) -> None:
    ring = box(42.0, 32.0, 9.0).area_mm2 - box(40.0, 30.0, 8.0).area_mm2
    assert straight.volume_mm3 == pytest.approx(ring * LONG, rel=1e-3)
    places = straight.places
    assert places.volume_mm3.sum() == pytest.approx(straight.volume_mm3, rel=1e-12)
    near_half = places.volume_mm3[places.distance_mm < 0.5 * LONG].sum()
    assert near_half == pytest.approx(0.5 * straight.volume_mm3, rel=PLACES_APART / LONG)
    assert places.metal_mm == pytest.approx(1.0, abs=0.15)  # 1 mm, more across the growing corner


def test_no_line_gets_round_a_bend_further_than_a_chord_of_it(reached) -> None:
    # the shank's axis stays 3 + 0.5 mm off the walls; a chord that grazes the inside runs from there to the
    # outside at both its ends, on the far one as far out as the ball's middle can be
    bend, bore, turn = 60.0, 10.0, 160.0
    inside, outside, middle = bend - bore + 3.5, bend + bore - 3.5, bend + bore - 5.0
    furthest = acos(inside / outside) + acos(inside / middle)
    angle = np.linspace(0.0, turn, 9)
    result = reached(circle(2.0 * bore - 2.0), circle(2.0 * bore), BALL, distance=bend * np.radians(angle), pitch=angle)
    at, tool = result.places.distance_mm, result.cutters[0]
    slack = PLACES_APART + 0.5 * 5.0  # the face's plane is crossed by a slanting tool before or after its middle
    deepest = at[tool.entry.taken > 0.0].max()
    assert bend * furthest - 15.0 < deepest < bend * furthest + slack
    assert at[tool.seat.taken > 0.0].min() == pytest.approx(bend * radians(turn) - deepest, abs=PLACES_APART)
    patch = tool.neither.patches[0]
    assert patch.from_mm < bend * furthest - slack
    assert patch.to_mm > bend * (radians(turn) - furthest) + slack
    assert patch.why.cause == "wall"
    assert result.none.share == pytest.approx(tool.neither.share)


def test_beyond_a_right_angle_the_entry_reaches_nothing_and_the_seat_everything(reached) -> None:
    bore, bend, leg = 10.0, 25.0, 50.0
    turned = leg + bend * 0.5 * pi
    distance = np.array([0.0, leg, leg + bend * pi / 6.0, leg + bend * pi / 3.0, turned, turned + leg])
    pitch = np.array([0.0, 0.0, 30.0, 60.0, 90.0, 90.0])
    result = reached(circle(2.0 * bore - 2.0), circle(2.0 * bore), BALL, distance=distance, pitch=pitch)
    at, tool = result.places.distance_mm, result.cutters[0]
    # a line in the leg falls at most twice the room of its axis over the leg's length, and the leg beyond
    # is as wide as the bore: it does not get down there by more than that, and a radius of the ball
    falls = 2.0 * (bore - 3.5) / leg * (bend + bore) + 5.0
    assert not tool.entry.taken[at > turned + falls].any()
    straight_leg = tool.entry.taken[at < leg - PLACES_APART]
    assert straight_leg.min() > 0.95
    assert tool.seat.taken[at > turned + PLACES_APART].min() > 0.95
    assert tool.seat.share == pytest.approx(tool.entry.share, abs=tool.entry.share_error + tool.seat.share_error)


def test_a_thick_shank_leaves_its_head_no_way_deep_into_a_tube(reached) -> None:
    # a 12 mm shank behind a 10 mm ball in a tube of 22: 4 mm behind the ball's middle, which stands 6 off the
    # tube's axis, the shank's must stand 5 or less, so it slants by 1 in 4; and it may go over to 4.5 on the
    # other side, 10.5 across and so 42 along
    thick = changed(BALL, shank_mm=12.0)
    result = reached(circle(20.0), circle(22.0), changed(BALL, shank_mm=3.0), thick, clearance_mm=0.5)
    at = result.places.distance_mm
    thin, fat = result.cutters
    assert thin.entry.share == pytest.approx(1.0, abs=1e-9)
    assert 30.0 < at[fat.entry.taken > 0.0].max() < 42.0 + 1.5
    assert fat.entry.stopped[0].cause in ("wall", "lip")


def test_a_shank_that_does_not_go_through_the_lip_reaches_nothing(reached) -> None:
    result = reached(circle(20.0), circle(22.0), changed(BALL, shank_mm=21.5))
    (tool,) = result.cutters
    assert tool.either_share == 0.0
    assert np.isnan(tool.stick_out_mm)
    assert np.isnan(tool.entry.longest_mm)
    assert [s.cause for s in tool.entry.stopped] == ["lip"]
    (patch,) = tool.neither.patches
    assert patch.why.cause == "lip"


def test_a_cutter_wider_than_the_port_reaches_nothing(reached) -> None:
    wide = Cutter("ball 24", "ball", 24.0, 23.0, 6.0, 120.0)
    (tool,) = reached(circle(20.0), circle(22.0), wide).cutters
    assert tool.either_share == 0.0
    assert [s.cause for s in tool.seat.stopped] == ["cutter too wide"]


def test_a_cutter_that_does_not_pass_a_neck_reaches_only_what_lies_before_it(ask, table_of) -> None:
    distance = [0.0, 30.0, 40.0, 50.0, LONG]
    now = [circle(d) for d in (28.0, 28.0, 17.0, 28.0, 28.0)]
    wanted = [circle(d) for d in (30.0, 30.0, 19.0, 30.0, 30.0)]
    every = ask(distance, now, target=Target("wider", sections=table_of(distance, wanted)))
    wide = Cutter("ball 20", "ball", 20.0, 19.0, 6.0, 120.0)
    result = reach(every.port, every.stage, every.removal, [wide])
    at, tool = result.places.distance_mm, result.cutters[0]
    assert tool.entry.taken[at < 25.0].min() > 0.95
    assert not tool.entry.taken[at > 42.0].any()
    assert tool.seat.taken[at > 55.0].min() > 0.95
    assert not tool.seat.taken[at < 38.0].any()


def test_a_sharp_corner_is_reached_but_for_the_fillet_that_the_ball_leaves(reached) -> None:
    result = reached(box(30.0, 30.0, 0.0), box(32.0, 32.0, 0.0), BALL)
    (tool,) = result.cutters
    # metal in a corner outside the ball's circle, on a grid
    x = (np.arange(1000) + 0.5) * 0.005
    one, two = np.meshgrid(x, x)
    left = ((np.minimum(one, two) < 1.0) & (np.hypot(5.0 - one, 5.0 - two) > 5.0)).mean() * 5.0**2
    assert tool.entry.share == pytest.approx(1.0 - 4.0 * left / (32.0**2 - 30.0**2), abs=0.05)
    assert tool.entry.stopped[0].cause == "cutter too wide"
    clocks = sorted(c.clock_deg for c in tool.corners)
    assert clocks == pytest.approx([45.0, 135.0, 225.0, 315.0], abs=2.0)
    for corner in tool.corners:
        assert (corner.from_mm, corner.to_mm) == (0.0, LONG)
        assert corner.radius_mm < 1.0


def test_the_guides_boss_is_named_where_nothing_else_is_in_the_way(reached) -> None:
    boss = Guide(np.array([[0.0, 60.0, 15.0], [0.0, 60.0, -15.0]]), boss_diameter_mm=14.0, length_mm=12.0)
    result = reached(box(40.0, 30.0, 8.0), box(42.0, 32.0, 9.0), BALL, guide=boss)
    (tool,) = result.cutters
    at = result.places
    under = np.hypot(at.at_mm[:, 0], at.at_mm[:, 1] - 60.0) < 7.0
    roof = at.at_mm[:, 2] > 15.9
    assert not tool.entry.taken[under & roof].any()
    assert {s.cause for s in tool.entry.stopped} == {"guide"}
    (patch,) = tool.neither.patches
    assert patch.why.cause == "guide"
    # the boss itself and a ball's radius round it, less what the ball's roundness lets it get under
    assert 60.0 - 7.0 - 5.0 - PLACES_APART < patch.from_mm < 60.0 - 7.0
    assert 60.0 + 7.0 < patch.to_mm < 60.0 + 7.0 + 5.0 + PLACES_APART
    # below the middle a straight line gets by under the boss to all that lies past it
    assert tool.entry.taken[(at.distance_mm > 70.0) & (at.at_mm[:, 2] < 0.0)].min() > 0.95
    # straight behind it on the roof none does, but from the seat
    behind = roof & (at.distance_mm > 74.0) & (np.abs(at.at_mm[:, 0]) < 3.0)
    assert not tool.entry.taken[behind].any()
    assert tool.seat.taken[behind].min() > 0.95


def test_more_clearance_never_reaches_more(reached) -> None:
    tube = circle(16.0), circle(18.0)
    taken = [reached(*tube, BALL, clearance_mm=c).cutters[0].entry.share for c in (0.0, 0.5, 2.0, 5.0)]
    assert taken == sorted(taken, reverse=True)
    assert taken[0] > taken[-1]


def test_where_nothing_comes_off_nothing_is_asked(reached) -> None:
    result = reached(circle(22.0), circle(22.0), BALL)
    assert result.volume_mm3 == 0.0
    assert result.places.count == 0
    assert result.cutters[0].neither.patches == ()


def test_without_cutters_all_metal_is_left(reached) -> None:
    result = reached(circle(20.0), circle(22.0))
    assert result.none.share == 1.0
    assert result.cutters == ()


@pytest.mark.parametrize("shape", ["cylinder", "round-nose cylinder", "oval", "flame", "cone"])
def test_every_shape_reaches_the_walls_of_a_straight_tube(reached, shape: str) -> None:
    tool = Cutter(shape, shape, diameter_mm=10.0, length_mm=18.0, shank_mm=5.0, reach_mm=120.0)
    (result,) = reached(circle(28.0), circle(30.0), tool, distance=(0.0, 50.0)).cutters
    assert result.either_share > 0.98
    assert result.entry.longest_mm < hypot(50.0 + 18.0, 30.0)
