"""Lines that are called clear, checked on the tool's own body against the tube they lie in."""

from __future__ import annotations

import numpy as np
import pytest

from portgeom.geometry.cutter import CutterBody
from portgeom.geometry.room import room_in
from portgeom.geometry.shapes import circle
from portgeom.geometry.skin import wall_of
from portgeom.questions.reach.lines import GUIDE, WallPlaces, Way
from portgeom.questions.reach.openings import Rod, opening_of
from portgeom.questions.reach.tool_lines import LinesFound, try_lines
from portgeom.questions.reach.touch import COVER_MM, FIT_MM, Tool, touch_of

RADIUS, LONG, CLEARANCE = 12.0, 60.0, 0.5


@pytest.fixture(scope="module")
def tube(lofted):
    return wall_of(lofted([0.0, LONG], [circle(2.0 * RADIUS)] * 2).cast.surface)


def some_places(count: int = 150) -> WallPlaces:
    rng = np.random.default_rng(11)
    turn, along = rng.uniform(0.0, 2.0 * np.pi, count), rng.uniform(1.0, LONG - 1.0, count)
    into = np.stack([np.cos(turn), np.zeros(count), np.sin(turn)])
    at = RADIUS * into + np.outer([0.0, 1.0, 0.0], along)
    return WallPlaces(at.astype("f4"), into.astype("f4"), np.ones(count, dtype="f4"))


def found(tube, shape: str, side: str, guide: Rod | None = None) -> tuple[CutterBody, WallPlaces, LinesFound]:
    body = CutterBody(shape, 10.0, 9.0 if shape == "ball" else 16.0, 6.0, 100.0)
    tool, places = Tool(body, touch_of(body), CLEARANCE), some_places()
    room = room_in(tube, most_mm=9.0, beyond_mm=14.0)
    (lines,) = try_lines(room, guide, [Way(opening_of(room, tube, side, tool.need_mm), tool)], places)
    return body, places, lines


def off_the_axis(places: np.ndarray) -> np.ndarray:
    """How far places are from the tube's axis, where they are in the tube; 0 in front of its faces."""
    inside = (places[1] > 0.0) & (places[1] < LONG)
    return np.where(inside, np.hypot(places[0], places[2]), 0.0)


@pytest.mark.parametrize("side", ["entry", "seat"])
@pytest.mark.parametrize("shape", ["ball", "oval", "cylinder", "flame"])
def test_a_clear_line_is_one_on_which_the_whole_tool_lies_in_the_tube(tube, shape: str, side: str) -> None:
    body, places, lines = found(tube, shape, side)
    assert lines.share.min() > 0.95
    tip, axis = lines.tip_mm[:, :, None], lines.axis[:, :, None]
    assert np.linalg.norm(lines.axis, axis=0) == pytest.approx(1.0, abs=1e-5)
    shank = tip + axis * (body.head_mm + np.linspace(0.0, 1.0, 200) * (lines.stick_out_mm[:, None] - body.head_mm))
    assert off_the_axis(shank).max() < RADIUS - 3.0 + 0.1
    beyond = off_the_axis(shank[:, :, 50:])
    assert np.percentile(beyond, 99.9) < RADIUS - 3.0 - 0.5 * CLEARANCE
    one = np.cross(axis, [[[0.0]], [[1.0]], [[0.3]]], axis=0)
    one /= np.linalg.norm(one, axis=0)
    two = np.cross(axis, one, axis=0)
    z = np.linspace(0.0, body.head_mm, 40)
    for turn in np.linspace(0.0, 2.0 * np.pi, 24):
        skin = tip + z * axis + body.radius_at_mm(z) * (np.cos(turn) * one + np.sin(turn) * two)
        assert off_the_axis(skin).max() < RADIUS + FIT_MM + COVER_MM
    # and it touches: the place on the wall is no further from the head than its sampling
    away = places.at_mm[:, :, None] - (tip + z * axis)
    near = np.abs(np.linalg.norm(away, axis=0) - body.radius_at_mm(z)).min(axis=1)
    assert near.max() < FIT_MM + 0.2


def test_several_ways_asked_at_once_answer_as_each_by_itself(tube) -> None:
    room, places = room_in(tube, most_mm=9.0, beyond_mm=14.0), some_places()
    ways = []
    # the last shank is wider than the tube, and has no line at all
    for shape, shank, side in (("ball", 6.0, "entry"), ("cylinder", 9.0, "seat"), ("flame", 24.0, "entry")):
        body = CutterBody(shape, 10.0, 9.0 if shape == "ball" else 16.0, shank, 100.0)
        tool = Tool(body, touch_of(body), CLEARANCE)
        ways.append(Way(opening_of(room, tube, side, tool.need_mm), tool))
    assert len({w.opening.places_mm.shape[1] for w in ways}) > 1
    assert ways[-1].opening.places_mm.size == 0
    for way, among_all in zip(ways, try_lines(room, None, ways, places), strict=True):
        (alone,) = try_lines(room, None, [way], places)
        for name in ("share", "stick_out_mm", "tip_mm", "axis", "met"):
            np.testing.assert_allclose(getattr(among_all, name), getattr(alone, name), atol=1e-4)


def test_the_shank_leaves_through_its_own_opening(tube) -> None:
    for side, face in (("entry", 0.0), ("seat", LONG)):
        _, _, lines = found(tube, "ball", side)
        mouth = lines.tip_mm + lines.stick_out_mm * lines.axis
        beyond = lines.stick_out_mm > 9.0 + 1e-3  # else the tip lies in front of the face already
        assert mouth[1, beyond] == pytest.approx(face, abs=1e-3)


def test_stick_out_is_no_shorter_than_the_way_from_the_place_to_the_opening(tube) -> None:
    _, places, lines = found(tube, "ball", "entry")
    assert (lines.stick_out_mm - places.at_mm[1]).min() > -0.1


def test_a_rod_across_the_mouth_hides_what_no_line_gets_past(tube) -> None:
    # 15 mm wide in a bore of 24: 4.5 mm are left on each side of it, and the shank needs 7
    rod = Rod(np.array([0.0, 10.0, -20.0]), np.array([0.0, 10.0, 20.0]), 15.0)
    _, places, lines = found(tube, "ball", "entry", rod)
    past = places.at_mm[1] > 30.0
    assert not lines.share[past].any()
    assert (lines.met[past] == GUIDE).all()
    _, _, free = found(tube, "ball", "seat", rod)
    assert free.share[past].min() > 0.95


def test_a_rods_distance_is_that_of_a_cylinder_with_flat_ends() -> None:
    rod = Rod(np.array([0.0, 0.0, 0.0]), np.array([0.0, 0.0, 10.0]), 4.0)
    places = np.array([[5.0, 0.0, 5.0], [0.0, 0.0, 13.0], [0.0, 1.0, 5.0], [5.0, 0.0, 14.0]], dtype="f4").T
    assert rod.distance_mm(places).tolist() == pytest.approx([3.0, 3.0, -1.0, 5.0])


def test_a_line_that_misses_a_rod_by_far_is_not_asked_further() -> None:
    rod = Rod(np.array([0.0, 0.0, 0.0]), np.array([0.0, 0.0, 10.0]), 4.0)
    tip = np.array([[0.0, 30.0, 0.0], [-20.0, -20.0, 20.0], [5.0, 5.0, 5.0]], dtype="f4")
    axis = np.array([[0.0, 0.0, 0.0], [1.0, 1.0, 1.0], [0.0, 0.0, 0.0]], dtype="f4")
    assert rod.may_meet(tip, axis, 3.0).tolist() == [True, False, False]
