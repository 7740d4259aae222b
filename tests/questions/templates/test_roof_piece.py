"""The strip for the roof: straight where the port is, an arc in a bend, unrolled where it turns sideways."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pytest

from portgeom.geometry.shapes import CornerRadii, rectangle
from portgeom.job.values import Line, Target
from portgeom.questions.templates.roof_piece import HANDLE_MM, roof_piece
from portgeom.questions.whole import Answers

Ask = Callable[..., Answers]
BOX = rectangle(40.0, 50.0, CornerRadii(4.0, 4.0, 4.0, 4.0))


def strip(answer: Answers, step_mm: float = 10.0):  # type: ignore[no-untyped-def]
    return roof_piece(answer.port, answer.stage, answer.wanted, step_mm=step_mm)


def test_a_straight_roof_gives_a_straight_strip_with_a_handle(ask: Ask) -> None:
    piece = strip(ask([0.0, 50.0, 100.0], [BOX] * 3, roof_end_mm=100.0))
    assert np.ptp(piece.cut_mm[:, 0]) == pytest.approx(100.0 + HANDLE_MM)
    assert np.ptp(piece.cut_mm[:, 1]) == pytest.approx(14.0)
    assert piece.area_mm2 == pytest.approx((100.0 + HANDLE_MM) * 14.0)
    assert piece.also_mm == ()


def test_the_line_of_the_job_is_the_edge_and_the_roof_as_it_is_is_dashed(ask: Ask) -> None:
    target = Target("up", roof=Line(np.array([[0.0, 27.0], [100.0, 30.0]])))
    piece = strip(ask([0.0, 50.0, 100.0], [BOX] * 3, target=target, roof_end_mm=100.0))
    upper = piece.cut_mm[(piece.cut_mm[:, 0] >= -1e-9) & (piece.cut_mm[:, 1] > -2.0)]
    assert upper[:, 1] == pytest.approx(0.03 * upper[:, 0], abs=1e-6)
    dashed = np.concatenate(piece.also_mm)
    assert dashed[:, 1] == pytest.approx(-2.0, abs=1e-6)  # the roof as cast, 2 mm under the line at the face


def test_in_a_bend_downwards_the_edge_is_the_outer_arc(ask: Ask) -> None:
    pitch = np.linspace(0.0, 45.0, 10)
    piece = strip(ask(np.radians(pitch) * 80.0, [BOX] * 10, pitch_deg=pitch))
    # the roof runs 25 mm outside a path of 80 mm radius; the origin is its start, the bend's centre 105 mm below
    from_centre = np.linalg.norm(piece.cut_mm - (0.0, -105.0), axis=1)
    outer = piece.cut_mm[:, 0] >= -1e-9
    assert np.sort(np.unique(np.round(from_centre[outer], 2))) == pytest.approx([91.0, 105.0], abs=0.02)


def test_in_a_bend_sideways_the_strip_is_unrolled(ask: Ask) -> None:
    yaw = np.linspace(0.0, 40.0, 9)
    piece = strip(ask(np.radians(yaw) * 100.0, [BOX] * 9, yaw_deg=yaw, roof_end_mm=np.radians(40.0) * 100.0))
    assert np.ptp(piece.cut_mm[:, 0]) == pytest.approx(np.radians(40.0) * 100.0 + HANDLE_MM, rel=1e-4)
    assert np.ptp(piece.cut_mm[:, 1]) == pytest.approx(14.0, rel=1e-6)


def test_ticks_stand_at_the_stations_and_at_whole_steps_along_the_roof(ask: Ask) -> None:
    piece = strip(ask([0.0, 37.0, 100.0], [BOX] * 3, roof_end_mm=100.0), step_mm=25.4)
    named = {t.words: float(t.line_mm[0, 0]) for t in piece.ticks if t.words}
    assert named == pytest.approx({"1": 0.0, "2": 37.0, "3": 100.0})
    assert [float(t.line_mm[0, 0]) for t in piece.ticks if not t.words] == pytest.approx([0.0, 25.4, 50.8, 76.2])
