"""The line through middles: bends stay, bosses and noise do not bend it, planes do not cross."""

from __future__ import annotations

from math import pi

import numpy as np
import pytest

from portgeom.capture.slicing.track import MOST_TURN, Ends, Track, smooth_line, spread_turn, track_through

D = 40.0
Y, DOWN = np.array([0.0, 1.0, 0.0]), np.array([0.0, 0.0, -1.0])


def bend(angle: np.ndarray, radius: float = 60.0) -> np.ndarray:
    return radius * np.column_stack([0.0 * angle, np.sin(angle), np.cos(angle) - 1.0])


def track_of(middles: np.ndarray, last: np.ndarray = DOWN, **more: bool):
    return track_through(middles, D, Ends(Y, last), count=40, **more)


def test_a_circular_bend_stays_a_circle() -> None:
    track = track_of(bend(np.linspace(0.0, 0.5 * pi, 60)))
    off = np.hypot(track.places_mm[:, 1], track.places_mm[:, 2] + 60.0) - 60.0
    assert np.abs(off).max() < 0.01
    assert track.length_mm == pytest.approx(30.0 * pi, rel=1e-4)
    turn = np.arctan2(track.places_mm[:, 1], track.places_mm[:, 2] + 60.0)
    square = np.column_stack([0.0 * turn, np.cos(turn), -np.sin(turn)])
    assert np.einsum("ij,ij->i", track.normals, square).min() > np.cos(np.radians(0.3))


def test_noise_on_the_middles_is_smoothed_away() -> None:
    random = np.random.default_rng(4)
    middles = bend(np.linspace(0.0, 0.5 * pi, 120)) + random.normal(0.0, 0.1, (120, 3))
    off = np.hypot(*track_of(middles).places_mm[5:-5, 1:].T + [[0.0], [60.0]]) - 60.0
    assert off.std() < 0.05


def test_a_boss_bends_the_stiff_line_less_than_half_as_far_as_its_middles() -> None:
    y = np.linspace(0.0, 120.0, 80)
    dip = -0.8 * np.exp(-(((y - 50.0) / 8.0) ** 2))
    middles = np.column_stack([0.0 * y, y, dip])
    track = track_of(middles, last=Y, stiff=True)
    assert np.abs(track.places_mm[:, 2]).max() < 0.5 * 0.8


def test_places_and_normals_between_run_on() -> None:
    track = track_of(bend(np.linspace(0.0, 0.5 * pi, 60)))
    s = np.linspace(0.0, track.length_mm, 333)
    assert np.hypot(*(track.places_at(s)[:, 1:] + [0.0, 60.0]).T) == pytest.approx(60.0, abs=0.02)
    assert np.linalg.norm(track.normals_at(s), axis=1) == pytest.approx(1.0)


def test_the_planes_at_both_ends_are_those_that_were_given() -> None:
    lean = np.array([0.0, np.cos(0.2), np.sin(0.2)])
    track = track_through(bend(np.linspace(0.0, 0.5 * pi, 60)), D, Ends(lean, DOWN), count=40)
    assert track.normals[0] == pytest.approx(lean)
    assert track.normals[-1] == pytest.approx(DOWN)


def test_where_planes_would_cross_their_turn_is_spread_and_the_ends_stay() -> None:
    angle = np.linspace(0.0, 0.5 * pi, 40)
    tight = np.concatenate([np.column_stack([0 * angle, np.linspace(-60, -1, 40), 0 * angle]), bend(angle, 12.0)])
    tight = np.concatenate([tight, tight[-1] + np.linspace(1.0, 60.0, 40)[:, None] * DOWN])
    track = track_of(tight)
    reach = [np.array([[0.0, 0.0, -15.0], [0.0, -15.0, 0.0], [0.0, -10.6, -10.6]])] * 40
    spread, turned = spread_turn(track, reach)
    assert turned
    turning = np.gradient(spread.normals, spread.distance_mm, axis=0)
    assert max(float((p @ k).max()) for p, k in zip(reach, turning, strict=True)) <= MOST_TURN
    assert spread.normals[0] == pytest.approx(track.normals[0])
    assert spread.normals[-1] == pytest.approx(track.normals[-1])
    easy = [points / 10.0 for points in reach]
    assert spread_turn(track, easy)[1] is False


@pytest.mark.parametrize("count", [5, 12, 200])
def test_a_given_line_is_run_through_or_smoothed_and_stays_on_its_circle(count: int) -> None:
    track = smooth_line(bend(np.linspace(0.0, 0.5 * pi, count)), None, dense=30)
    off = np.hypot(*(track.places_mm[:, 1:] + [0.0, 60.0]).T) - 60.0
    assert np.abs(off).max() < (0.1 if count == 5 else 0.01)
    assert track.length_mm == pytest.approx(30.0 * pi, rel=1e-3)


def test_given_directions_are_kept() -> None:
    angle = np.array([0.0, 0.25 * pi, 0.5 * pi])
    directions = np.column_stack([0.0 * angle, np.cos(angle), -np.sin(angle)])
    track = smooth_line(bend(angle), directions, dense=30)
    assert track.normals == pytest.approx(directions)
    assert track.length_mm == pytest.approx(30.0 * pi, rel=1e-12)  # equal turns of a circle, exactly
    assert track.places_at(np.array([10.0 * pi]))[0] == pytest.approx(bend(np.array([pi / 6.0]))[0], abs=0.05)


def test_planes_that_lean_from_the_line_may_turn_less() -> None:
    """A plane that leans by x advances cos x per mm of line, so it meets its neighbour at so much less turn."""
    lean = np.radians(np.linspace(62.0, 40.0, 40))
    y = np.linspace(0.0, 20.0, 40)
    line = np.column_stack([0.0 * y, y, 0.0 * y])
    normals = np.column_stack([0.0 * y, np.cos(lean), np.sin(lean)])
    track = Track(y, line, np.repeat(Y[None], 40, axis=0), normals)
    reach = [np.array([[0.0, 28.0 * np.sin(a), -28.0 * np.cos(a)]]) for a in lean]
    turning = np.gradient(normals, y, axis=0)
    per_mm_of_line = max(float((p @ k).max()) for p, k in zip(reach, turning, strict=True))
    assert per_mm_of_line < MOST_TURN < per_mm_of_line / np.cos(lean[0])
    assert spread_turn(track, reach)[1] is True
