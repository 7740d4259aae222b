"""Steps at the face are exact on outlines shifted, turned and grown by known amounts; all checks are closed forms."""

from __future__ import annotations

from math import cos, hypot, pi, radians, sin

import numpy as np
import pytest

from portgeom.geometry.arrays import F64
from portgeom.geometry.outline import Outline
from portgeom.geometry.shapes import CornerRadii, circle, obround, rectangle
from portgeom.job.match_values import FaceMatch, MatchPart, Milling
from portgeom.questions.match.match import Match, NoOverlapError, match

PINS = np.array([[-45.0, 2.0], [45.0, -3.0], [10.0, 40.0]])
EXACT_MM = 0.02
"""What is asked of steps; the outlines here are polygons within 0.001 mm of their curves."""

NONE = np.full(3, np.nan)


def boxed(width: float, height: float, radius: float) -> Outline:
    return rectangle(width, height, CornerRadii(radius, radius, radius, radius))


def meeting(
    port: Outline,
    manifold: Outline | None = None,
    gasket: Outline | None = None,
    *,
    kind: str = "intake",
    holes: F64 = PINS,
    play: float | None = None,
    lean: float = 0.0,
    milling: Milling | None = None,
    **held: object,
) -> Match:
    pins = NONE if play is None else np.full(3, 8.0)
    hole = NONE if play is None else np.full(3, 8.0 + 2.0 * play)
    parts = [None if o is None else MatchPart(o, holes, hole) for o in (gasket, manifold)]
    given = FaceMatch(PINS, pins, parts[0], parts[1], **held)
    return match(port, given, kind=kind, lean_deg=lean, milling=milling)


def steps(found: Match) -> list[float]:
    return [s.manifold.best_mm for s in found.steps if s.manifold is not None]


@pytest.mark.parametrize("grown", [-0.8, -0.07, 0.0, 0.3, 2.5])
def test_an_opening_grown_all_round_steps_by_as_much_at_every_hour(grown: float) -> None:
    port, larger = boxed(42.0, 50.0, 9.0), boxed(42.0 + 2.0 * grown, 50.0 + 2.0 * grown, 9.0 + grown)
    assert steps(meeting(port, larger)) == pytest.approx([grown] * 12, abs=0.002)


def test_a_round_opening_shifted_steps_as_its_circle_lies() -> None:
    across, up = 0.7, -0.4
    found = steps(meeting(circle(40.0), circle(40.0).moved(across, up)))
    for k, step in enumerate(found):
        clock = radians(30.0 * k)
        place = 20.0 * sin(clock), 20.0 * cos(clock)
        # from a place on the one circle to the other circle, along the line through its middle
        assert step == pytest.approx(20.0 - hypot(place[0] - across, place[1] - up), abs=0.002)


def test_straight_walls_step_by_the_shift_square_to_them() -> None:
    found = steps(meeting(boxed(42.0, 50.0, 6.0), boxed(42.0, 50.0, 6.0).moved(0.5, 0.9)))
    assert [found[h] for h in (0, 3, 6, 9)] == pytest.approx([0.9, 0.5, -0.9, -0.5], abs=EXACT_MM / 10.0)


def test_a_tall_opening_turned_steps_as_its_straight_sides_turn() -> None:
    turn = radians(1.5)
    port = obround(30.0, 60.0)
    rotation = np.array([[cos(turn), sin(turn)], [-sin(turn), cos(turn)]])
    found = meeting(port, Outline.polygon(port.points_mm @ rotation))
    at = found.places
    assert at.place_mm[0] == pytest.approx([0.0, 30.0], abs=1e-9)
    assert at.place_mm[3] == pytest.approx([15.0, 0.0], abs=1e-9)
    # the right side turns to the line u cos t + v sin t = 15: a place (15, v) lies 15 - 15 cos t - v sin t inside it
    for hour in (2, 3, 4):
        u, v = at.place_mm[hour]
        assert u == pytest.approx(15.0, abs=0.002)
        assert steps(found)[hour] == pytest.approx(15.0 - u * cos(turn) - v * sin(turn), abs=EXACT_MM / 4.0)
    # the roof's half circle about (0, 15) turns to one about (-15 sin t, 15 cos t)
    for hour in (0, 1, 11):
        u, v = at.place_mm[hour]
        away = hypot(u + 15.0 * sin(turn), v - 15.0 * cos(turn))
        assert steps(found)[hour] == pytest.approx(15.0 - away, abs=EXACT_MM / 4.0)


def test_a_part_measured_in_its_own_place_is_laid_on_by_its_holes() -> None:
    turn, away = radians(23.0), np.array([130.0, -71.0])
    rotation = np.array([[cos(turn), sin(turn)], [-sin(turn), cos(turn)]])
    port = boxed(42.0, 50.0, 9.0)
    manifold = boxed(43.0, 51.0, 9.5)
    as_scanned = Outline.polygon(manifold.points_mm @ rotation + away)
    found = meeting(port, as_scanned, holes=PINS @ rotation + away)
    assert steps(found) == pytest.approx([0.5] * 12, abs=0.002)
    assert found.manifold is not None
    assert found.manifold.fit.off_mm == pytest.approx(np.zeros(3), abs=1e-9)


def test_a_hole_drilled_off_its_place_pulls_the_part_by_a_third_of_it() -> None:
    # least squares: the mean of three holes follows one of them by a third, and the turn by its lever
    holes = PINS.copy()
    holes[2] += [0.0, 0.6]
    found = meeting(circle(40.0), circle(40.0), holes=holes)
    assert found.manifold is not None
    best = found.manifold.fit.best
    arms = PINS - PINS.mean(axis=0)
    # small turn that minimises the sum of squares: sum of (arm x miss) over sum of arm squared
    miss = PINS - holes
    turn = float((arms[:, 0] * miss[:, 1] - arms[:, 1] * miss[:, 0]).sum() / (arms**2).sum())
    assert best.turn_rad == pytest.approx(turn, rel=0.02)
    assert best.of(holes.mean(axis=0)[None])[0] == pytest.approx(PINS.mean(axis=0), abs=1e-9)


def test_intake_and_exhaust_meet_the_same_step_from_opposite_sides() -> None:
    port, larger = circle(40.0), circle(41.0)
    into = {s.facing for s in meeting(port, larger).steps}
    out = {s.facing for s in meeting(port, larger, kind="exhaust").steps}
    assert (into, out) == ({"faces the flow"}, {"faces away"})
    smaller = {s.facing for s in meeting(larger, port, kind="exhaust").steps}
    assert smaller == {"faces the flow"}
    assert {s.facing for s in meeting(port, port).steps} == {"flush"}


def test_a_gasket_overhangs_what_stands_furthest_in() -> None:
    port, manifold = circle(40.0), circle(39.0)
    found = meeting(port, manifold, circle(38.0))
    assert [s.overhang_mm for s in found.steps] == pytest.approx([0.5] * 12, abs=1e-3)
    back = meeting(port, manifold, circle(41.0))
    assert [s.overhang_mm for s in back.steps] == [0.0] * 12
    alone = meeting(port, None, circle(38.0))
    assert [s.overhang_mm for s in alone.steps] == pytest.approx([1.0] * 12, abs=1e-3)
    assert {s.facing for s in alone.steps} == {"no manifold"}


@pytest.mark.parametrize("play", [0.2, 0.5])
def test_round_openings_move_by_the_play_when_it_is_the_same_at_every_pin(play: float) -> None:
    # every hole may shift by the play: a circle about the middle of the pins does so, in every direction
    middle = PINS.mean(axis=0)
    port = circle(40.0).moved(*middle)
    found = meeting(port, port, play=play)
    for step in found.steps:
        assert step.manifold is not None
        assert step.manifold.best_mm == pytest.approx(0.0, abs=1e-3)
        assert step.manifold.least_mm == pytest.approx(-play, abs=0.01)
        assert step.manifold.most_mm == pytest.approx(play, abs=0.01)
    assert found.manifold is not None
    assert found.manifold.shifts_mm == pytest.approx(play, abs=0.01)


def test_two_pins_let_a_part_turn_by_twice_the_play_over_their_distance() -> None:
    pins = np.array([[-40.0, 0.0], [40.0, 0.0]])
    part = MatchPart(obround(20.0, 70.0), pins, np.full(2, 9.0))
    found = match(obround(20.0, 70.0), FaceMatch(pins, np.full(2, 8.0), None, part), kind="intake", lean_deg=0.0)
    assert found.manifold is not None
    # both holes off by the play of 0.5, to opposite sides
    assert radians(found.manifold.turns_deg) == pytest.approx(2.0 * 0.5 / 80.0, rel=0.01)
    # the straight side at 3 o'clock only shifts, by the play; at 2 it also turns, by its height over the middle
    steps = [s.manifold for s in found.steps]
    assert steps[3] is not None
    assert steps[3].most_mm == pytest.approx(0.5, abs=0.005)
    assert steps[2] is not None
    assert steps[2].most_mm > steps[3].most_mm - 0.005


def test_worst_steps_are_never_less_than_any_place_that_lets_the_pins_through() -> None:
    rng = np.random.default_rng(7)
    port, manifold = boxed(42.0, 50.0, 9.0), boxed(42.6, 50.6, 9.0).moved(0.2, -0.1)
    holes = PINS + np.array([[0.1, -0.05], [-0.08, 0.1], [0.0, 0.12]])
    found = meeting(port, manifold, holes=holes, play=0.35)
    from portgeom.questions.match.edges import beyond
    from portgeom.questions.match.fit import Motion

    tried = 0
    for _ in range(4000):
        motion = Motion(rng.uniform(-0.012, 0.012), rng.uniform(-0.5, 0.5, 2))
        if (np.linalg.norm(motion.of(holes) - PINS, axis=1) > 0.35).any():
            continue
        tried += 1
        now = beyond(found.places.place_mm, motion.of(manifold.points_mm)).distance_mm
        for step, here in zip(found.steps, now, strict=True):
            assert step.manifold is not None
            assert step.manifold.least_mm - 0.005 <= here <= step.manifold.most_mm + 0.005
    assert tried > 200


def test_holes_that_cannot_all_be_met_are_told() -> None:
    holes = PINS.copy()
    holes[0] += [3.0, 0.0]
    found = meeting(circle(40.0), circle(40.0), holes=holes, play=0.4)
    assert found.manifold is not None
    assert not found.manifold.fit.goes_on
    assert found.found
    assert meeting(circle(40.0), circle(40.0), holes=holes).manifold.fit.goes_on  # without sizes nobody can say


def test_the_matched_line_is_what_either_opens_and_the_common_one_what_all_do() -> None:
    # two circles of radius 1 with their middles 1 apart share 2 pi / 3 - sqrt(3) / 2 = 1.22837 (published lens)
    one, two = circle(40.0), circle(40.0).moved(20.0, 0.0)
    found = meeting(one, two)
    lens = 1.2283697 * 20.0**2
    assert found.common_area_mm2 == pytest.approx(lens, rel=1e-4)
    assert found.matched_area_mm2 == pytest.approx(2.0 * pi * 20.0**2 - lens, rel=1e-4)


def test_an_opening_beside_the_port_is_refused() -> None:
    with pytest.raises(NoOverlapError, match="manifold"):
        meeting(circle(40.0), circle(40.0).moved(60.0, 0.0))


def test_milling_moves_the_manifold_s_edge_as_the_port_goes_down() -> None:
    port = boxed(42.0, 50.0, 6.0)
    found = meeting(port, port, lean=10.0, milling=Milling(deck_mm=1.0), held="two heads", vee_deg=90.0)
    assert found.shift is not None
    after = [s.after_mm for s in found.steps]
    # the port goes down: the manifold's edge is outside the port's at the roof and inside it at the floor
    assert after[0] == pytest.approx(-found.shift.shift_mm, abs=1e-6)
    assert after[6] == pytest.approx(found.shift.shift_mm, abs=1e-6)
    assert after[3] == pytest.approx(0.0, abs=1e-6)
    assert after[0] > 0.0


def test_bolts_bind_once_the_shift_is_more_than_their_play() -> None:
    options = {"lean": 10.0, "held": "two heads", "vee_deg": 90.0}
    port = circle(40.0)
    little = meeting(port, port, play=0.5, milling=Milling(deck_mm=0.4), **options)
    much = meeting(port, port, play=0.5, milling=Milling(deck_mm=1.0), **options)
    assert little.bolts_bind_mm == 0.0
    assert much.shift is not None
    assert much.bolts_bind_mm == pytest.approx(abs(much.shift.shift_mm) - 0.5)
    one_head = meeting(port, port, play=0.5, milling=Milling(deck_mm=1.0), lean=10.0)
    assert one_head.shift is not None
    assert (one_head.shift.shift_mm, one_head.bolts_bind_mm) == (0.0, 0.0)


def test_only_the_face_of_its_own_side_counts() -> None:
    port = circle(40.0)
    options = {"milling": Milling(exhaust_face_mm=1.0), "held": "elsewhere"}
    assert meeting(port, port, **options).shift is None
    out = meeting(port, port, kind="exhaust", **options)
    assert out.shift is not None
    assert out.shift.gap_mm == pytest.approx(1.0)
