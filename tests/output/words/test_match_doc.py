"""A match reads with its signs in words, and tells no play where none is known."""

from __future__ import annotations

import numpy as np

from portgeom.geometry.arrays import F64
from portgeom.geometry.outline import Outline
from portgeom.geometry.shapes import circle
from portgeom.job.match_values import FaceMatch, MatchPart, Milling
from portgeom.output.words.json_doc import Numbers
from portgeom.output.words.match_doc import (
    fine,
    match_json,
    part_lines,
    shift_lines,
    step_headings,
    step_row,
    verdict_lines,
)
from portgeom.output.words.shown import Shown
from portgeom.questions.match.match import Match, match

MM, IN = Shown("mm"), Shown("in")
PINS = np.array([[-30.0, 0.0], [30.0, 0.0]])
NONE = np.full(2, np.nan)


def meeting(
    manifold: Outline | None,
    gasket: Outline | None = None,
    *,
    play: float | None = 0.3,
    kind: str = "intake",
    holes: F64 = PINS,
    milling: Milling | None = None,
    **held: object,
) -> Match:
    pins = NONE if play is None else np.full(2, 8.0)
    sizes = NONE if play is None else np.full(2, 8.0 + 2.0 * play)
    parts = [None if o is None else MatchPart(o, holes, sizes) for o in (gasket, manifold)]
    given = FaceMatch(PINS, pins, parts[0], parts[1], **held)
    return match(circle(40.0), given, kind=kind, lean_deg=10.0, milling=milling)


def test_steps_carry_their_sign_and_a_hundredth_of_a_millimetre() -> None:
    assert (fine(0.456, MM), fine(-0.456, MM), fine(0.001, MM), fine(25.4, IN)) == ("+0.46", "-0.46", "0.00", "+1.000")


def test_a_row_has_a_cell_for_every_heading() -> None:
    for found in (
        meeting(circle(41.0)),
        meeting(None, circle(41.0)),
        meeting(circle(41.0), circle(39.0)),
        meeting(circle(41.0), milling=Milling(deck_mm=0.5), held="elsewhere"),
    ):
        for step in found.steps:
            assert len(step_row(step, found, MM)) == len(step_headings(found, MM))


def test_where_no_sizes_are_given_no_play_is_told() -> None:
    found = meeting(circle(41.0), play=None)
    assert step_row(found.steps[0], found, MM)[2] == "not known"
    assert "no play is known" in part_lines(found, MM)[0]
    entry = match_json(found, Numbers("mm"))
    assert entry["manifold"]["play"] is None


def test_what_faces_the_flow_is_named_by_the_way_the_flow_runs() -> None:
    into = " ".join(verdict_lines(meeting(circle(41.0)), MM))
    assert "from the manifold into the port: the port's edge faces it at 12, 1, 2" in into
    out = " ".join(verdict_lines(meeting(circle(39.0), kind="exhaust"), MM))
    assert "out of the port: the manifold's edge faces it at 12" in out
    level = " ".join(verdict_lines(meeting(circle(40.0)), MM))
    assert "no edge faces it" in level


def test_a_gasket_in_the_stream_is_to_be_trimmed() -> None:
    assert "trim it" in " ".join(verdict_lines(meeting(circle(40.0), circle(39.0)), MM))
    assert "nowhere" in " ".join(verdict_lines(meeting(circle(40.0), circle(42.0)), MM))


def test_a_part_that_does_not_go_on_says_which_hole() -> None:
    holes = PINS + np.array([[0.0, 0.0], [2.0, 0.0]])
    (line,) = part_lines(meeting(circle(41.0), holes=holes), MM)
    assert "does not go on: hole" in line
    assert "0.30 mm of play" in line


def test_milling_says_which_way_and_what_is_to_be_done() -> None:
    vee = {"held": "two heads", "vee_deg": 90.0}
    words = " ".join(shift_lines(meeting(circle(41.0), milling=Milling(deck_mm=1.0), **vee), MM))
    # sin 45 / sin 55 of a millimetre down, 0.3 of it taken up by play
    assert "leans 10 degrees" in words
    assert "moves the port 0.86 mm down along its face" in words
    assert "0.56 mm more than the play" in words
    assert "With 1.23 mm in all off each face" in words
    assert "1.72 mm lower" in words
    assert shift_lines(meeting(circle(41.0)), MM) == []
    own = " ".join(shift_lines(meeting(circle(41.0), milling=Milling(deck_mm=1.0)), MM))
    assert "shifts nothing" in own
    gap = " ".join(shift_lines(meeting(circle(41.0), milling=Milling(deck_mm=1.0), held="elsewhere"), MM))
    assert "opens a gap of 0.17 mm" in gap


def test_a_port_that_nothing_meets_is_null_in_the_document() -> None:
    assert match_json(None, Numbers("mm")) == {
        "steps": [], "gasket": None, "manifold": None, "milling": None, "areas": None,
    }  # fmt: skip
