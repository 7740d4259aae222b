"""What milling deck and face shifts, against the drawing of it and against trade figures."""

from __future__ import annotations

from math import atan2, cos, hypot, radians, sin, tan

import numpy as np
import pytest

from portgeom.questions.match.milling import milled


@pytest.mark.parametrize("lean", [-20.0, 0.0, 3.0, 10.0, 35.0])
def test_held_elsewhere_the_head_s_way_down_splits_along_the_face_and_across_it(lean: float) -> None:
    found = milled(0.8, 0.3, lean_deg=lean, held="elsewhere")
    # the way down is one vector: its parts along and across the face make it up again
    assert hypot(found.shift_mm, found.gap_mm - 0.3) == pytest.approx(0.8)
    assert atan2(found.gap_mm - 0.3, -found.shift_mm) == pytest.approx(radians(lean))
    assert found.drop_mm == 0.0


def test_bolted_to_its_own_head_nothing_shifts() -> None:
    assert milled(1.0, 1.0, lean_deg=10.0, held="one head").shift_mm == 0.0


@pytest.mark.parametrize(("vee", "lean"), [(90.0, 10.0), (90.0, 0.0), (60.0, 25.0), (120.0, -15.0), (72.0, -36.0)])
@pytest.mark.parametrize(("deck", "face"), [(1.0, 0.0), (0.0, 1.0), (0.7, 0.4)])
def test_in_a_vee_the_faces_touch_again_where_two_lines_cross(
    vee: float, lean: float, deck: float, face: float
) -> None:
    """The right bank drawn in the engine's own frame: upright y, outward x, the manifold free along y only."""
    b = radians(0.5 * vee)
    bore = np.array([sin(b), cos(b)])
    inward = np.array([-cos(b), sin(b)])
    p = radians(lean)
    normal = cos(p) * inward + sin(p) * bore
    up = cos(p) * bore - sin(p) * inward
    moved = -deck * bore - face * normal
    found = milled(deck, face, lean_deg=lean, held="two heads", vee_deg=vee)
    manifold = np.array([0.0, -found.drop_mm])
    gap = float((manifold - moved) @ normal)
    # what meets the port moves with the head; the face also came in by what was milled
    assert gap == pytest.approx(found.gap_mm, abs=1e-12)
    if abs(vee / 2.0 + lean) > 1.0:
        assert gap == pytest.approx(0.0, abs=1e-12)
    assert float((-deck * bore - manifold) @ up) == pytest.approx(found.shift_mm, abs=1e-12)


def test_a_vee_of_90_whose_faces_lean_10_takes_1_23_off_the_face_and_drops_1_71() -> None:
    # trade tables for such heads: for 0.010 off the deck 0.0123 off the face and 0.0171 off the ends (from memory)
    found = milled(1.0, 0.0, lean_deg=10.0, held="two heads", vee_deg=90.0)
    assert found.face_too_mm == pytest.approx(1.23, abs=0.005)
    assert found.drop_then_mm == pytest.approx(1.71, abs=0.01)


def test_milling_the_face_by_what_is_asked_for_leaves_no_shift() -> None:
    asked = milled(0.6, 0.0, lean_deg=8.0, held="two heads", vee_deg=90.0)
    assert asked.face_too_mm is not None
    done = milled(0.6, asked.face_too_mm, lean_deg=8.0, held="two heads", vee_deg=90.0)
    assert done.shift_mm == pytest.approx(0.0, abs=1e-12)
    assert done.drop_mm == pytest.approx(asked.drop_then_mm)


def test_milling_the_face_alone_lifts_the_port_against_the_manifold() -> None:
    found = milled(0.0, 0.5, lean_deg=10.0, held="two heads", vee_deg=90.0)
    # the manifold drops by f / sin g, along the face that is f / tan g
    assert found.shift_mm == pytest.approx(0.5 / tan(radians(55.0)))


def test_upright_faces_open_a_gap_that_no_drop_closes() -> None:
    found = milled(1.0, 0.0, lean_deg=-45.0, held="two heads", vee_deg=90.0)
    assert found.drop_mm == 0.0
    assert found.gap_mm == pytest.approx(-sin(radians(45.0)))
    assert found.shift_mm == pytest.approx(-cos(radians(45.0)))
