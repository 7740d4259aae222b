"""How heads touch walls: supports, balls inside, and whether these fill the head."""

from __future__ import annotations

import numpy as np
import pytest

from portgeom.geometry.cutter import CUTTER_SHAPES, CutterBody
from portgeom.questions.reach.touch import COVER_MM, FIT_MM, touch_of, touch_row


def body(shape: str, *, diameter: float = 10.0, length: float = 20.0, shank: float = 6.0) -> CutterBody:
    return CutterBody(shape, diameter, length, shank, 100.0)


def row_at(degrees: float) -> int:
    return int(touch_row(np.array([np.cos(np.radians(degrees))], dtype=np.float32))[0])


@pytest.mark.parametrize("degrees", [20.0, 60.0, 90.0, 120.0, 170.0])
def test_a_ball_touches_a_radius_from_its_middle_whichever_way_it_stands(degrees: float) -> None:
    # length 10: the whole ball; the wall lies towards cos along the axis and sin beside it
    touch = touch_of(body("ball", length=10.0))
    k = row_at(degrees)
    along, beside = np.cos(np.radians(degrees)), np.sin(np.radians(degrees))
    assert touch.behind_mm[k] == pytest.approx(5.0 + 5.0 * along, abs=10.0 / 160)
    assert touch.radius_mm[k] == pytest.approx(5.0 * beside, abs=10.0 / 160)
    assert touch.ball_behind_mm[k] == pytest.approx(5.0, abs=0.15)
    assert touch.ball_radius_mm[k] == pytest.approx(5.0, abs=0.15)


def test_a_balls_core_is_one_ball_and_it_has_no_edges() -> None:
    touch = touch_of(body("ball", length=9.0))
    assert touch.core_mm == pytest.approx(np.array([[5.0, 5.0]]), abs=0.06)
    assert touch.rings_mm.shape == (0, 2)


def test_a_cylinder_touches_with_its_edges_and_has_two() -> None:
    touch = touch_of(body("cylinder"))
    assert touch.behind_mm[row_at(80.0)] == 20.0  # the wall leans towards the holder
    assert touch.behind_mm[row_at(100.0)] == 0.0
    assert touch.radius_mm[row_at(100.0)] == 5.0
    assert touch.rings_mm.tolist() == [[0.0, 5.0], [20.0, 5.0]]


def test_a_back_no_wider_than_the_shank_is_no_edge() -> None:
    assert touch_of(body("round-nose cylinder", diameter=6.0)).rings_mm.shape == (0, 2)
    assert touch_of(body("round-nose cylinder", shank=3.0)).rings_mm.tolist() == [[20.0, 5.0]]


@pytest.mark.parametrize("shape", CUTTER_SHAPES)
def test_the_touching_place_is_the_furthest_towards_the_wall(shape: str) -> None:
    head = body(shape, length=9.0 if shape == "ball" else 20.0)
    touch = touch_of(head)
    z = np.linspace(0.0, head.head_mm, 1001)
    for degrees in (10.0, 45.0, 85.0, 95.0, 150.0):
        along, beside = np.cos(np.radians(degrees)), np.sin(np.radians(degrees))
        k = row_at(degrees)
        furthest = (along * z + beside * head.radius_at_mm(z)).max()
        touching = along * touch.behind_mm[k] + beside * touch.radius_mm[k]
        assert furthest - 0.05 < touching <= furthest + 1e-3


@pytest.mark.parametrize("shape", CUTTER_SHAPES)
def test_the_core_stays_inside_head_and_shank_and_fills_them_but_for_edges_and_points(shape: str) -> None:
    head = body(shape, length=9.0 if shape == "ball" else 20.0)
    touch = touch_of(head)
    z = np.linspace(0.0, head.head_mm, 401)
    r = head.radius_at_mm(z)
    middle, radius = touch.core_mm.T.astype(float)
    clear = np.hypot(z[:, None] - middle, r[:, None]) - radius
    assert clear.min() > -0.1  # no ball stands out of the profile
    gap = clear.min(axis=1)
    edges = touch.rings_mm[:, 0]
    near_edge = np.zeros(len(z), dtype=bool) if not len(edges) else np.abs(z[:, None] - edges).min(axis=1) < 5.0
    pointed = r < 1.5
    assert gap[~near_edge & ~pointed].max(initial=0.0) < COVER_MM + 0.02


def test_what_may_stand_into_a_wall_unseen_is_less_than_half_a_millimetre() -> None:
    assert FIT_MM + COVER_MM < 0.5
