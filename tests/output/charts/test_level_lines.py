"""Lines of equal value lie where the value is, and their numbers keep clear of what is written there."""

from __future__ import annotations

import numpy as np
import pytest

from portgeom.output.charts.level_lines import level_lines
from portgeom.output.charts.sheet import Curve, Stroke, Words, place

AXIS = np.linspace(-100.0, 100.0, 201)
CONE = np.hypot(AXIS[None, :], AXIS[:, None])
THIN = Stroke("#000000", 0.5)


def drawn(*written, radius=80.0):
    return level_lines(AXIS, AXIS, CONE, [radius], lambda p: p, THIN, named=True, clear_of=written)


def names(marks):
    return [m for m in marks if isinstance(m, Words)]


def test_line_of_a_cone_is_a_circle_and_its_number_stands_on_it():
    marks = drawn()
    (curve,) = (m for m in marks if isinstance(m, Curve))
    # straight pieces over cells of 1: the sagitta of a chord of sqrt(2) at most
    assert np.hypot(*curve.points.T) == pytest.approx(80.0, abs=2.0 / (8.0 * 80.0) + 1e-6)
    (name,) = names(marks)
    assert name.text == "80"
    assert np.hypot(*name.at) == pytest.approx(80.0, abs=0.01)


def test_number_moves_along_its_line_away_from_other_words():
    (alone,) = names(drawn())
    over = Words(alone.at, "bulge 1", 7.5, "#000000")
    (moved,) = names(drawn(over))
    assert alone.meets(over)
    assert not moved.meets(over)
    assert np.hypot(*moved.at) == pytest.approx(80.0, abs=0.01)


def test_line_that_is_written_over_everywhere_has_no_number():
    over = Words(place(0.0, 0.0), "x" * 60, 100.0, "#000000")
    small = level_lines(AXIS, AXIS, CONE, [20.0], lambda p: p, THIN, named=True, clear_of=(over,))
    assert not names(small)
    assert any(isinstance(m, Curve) for m in small)


@pytest.mark.parametrize(("anchor", "left", "right"), [("start", 0.0, 1.0), ("middle", -0.5, 0.5), ("end", -1.0, 0.0)])
def test_words_reach_as_far_as_they_are_wide_from_their_anchor(anchor, left, right):
    words = Words(place(10.0, 20.0), "roof ends", 8.0, "#000000", anchor)
    at = np.array([[10.0 + (left + 0.02) * words.width, 20.0], [10.0 + (right - 0.02) * words.width, 20.0]])
    beyond = np.array([[10.0 + left * words.width - 3.0, 20.0], [10.0 + right * words.width + 3.0, 20.0]])
    assert words.covers(at[:1])
    assert words.covers(at[1:])
    assert not words.covers(beyond)
