"""The template of a match at 1:1: the common line and the holes, and turned over for the flange."""

from __future__ import annotations

from math import pi

import numpy as np
import pytest

from portgeom.geometry.moments import polygon_moments
from portgeom.geometry.shapes import circle
from portgeom.job.match_values import FaceMatch, MatchPart
from portgeom.output.paper.match_template import match_pieces
from portgeom.output.paper.template_page import templates_pdf
from portgeom.questions.match.match import Match, match

PINS = np.array([[-30.0, 10.0], [30.0, -12.0]])


def found(*, manifold: bool = True) -> Match:
    part = MatchPart(circle(42.0).moved(1.0, 0.0), PINS, np.full(2, 9.0))
    other = MatchPart(circle(41.0), PINS, np.full(2, 9.0))
    given = FaceMatch(PINS, np.array([8.0, np.nan]), other, part if manifold else None)
    return match(circle(42.0), given, kind="intake", lean_deg=0.0)


def test_what_is_cut_is_the_common_line_and_the_pins_at_full_size() -> None:
    here = found()
    on_head, on_flange = match_pieces(here, "port 1")
    for piece in (on_head, on_flange):
        line, *holes = [s.points_mm for s in piece.strokes if s.layer == "cut"]
        assert float(polygon_moments(line).area_mm2) == pytest.approx(here.matched_area_mm2)
        assert float(polygon_moments(holes[0]).area_mm2) == pytest.approx(pi * 4.0**2, rel=1e-3)
        # the pins are as far apart as they are
        centres = [h.mean(axis=0) for h in holes]
        assert np.linalg.norm(centres[1] - centres[0]) == pytest.approx(np.hypot(60.0, 22.0))


def test_the_flange_s_is_the_head_s_turned_over() -> None:
    on_head, on_flange = match_pieces(found(), "port 1")
    one, other = (next(s.points_mm for s in p.strokes if s.layer == "cut") for p in (on_head, on_flange))
    assert other[::-1] == pytest.approx(one * [-1.0, 1.0])
    words = ["\n".join(t.words for t in p.letters) for p in (on_head, on_flange)]
    assert "Lay on the head" in words[0]
    assert "left and right swapped" in " ".join(words[1].split())


def test_without_a_manifold_there_is_only_the_head_s() -> None:
    assert len(match_pieces(found(manifold=False), "port 1")) == 1


def test_it_is_written_by_the_same_pages_as_all_templates() -> None:
    assert templates_pdf("t", match_pieces(found(), "<port>"), units="mm").startswith(b"%PDF-")
