"""The drawing of a match shows outlines true to scale and every step; milling where it shifts something."""

from __future__ import annotations

import numpy as np
import pytest

from portgeom.geometry.moments import polygon_moments
from portgeom.geometry.shapes import circle
from portgeom.job.match_values import FaceMatch, MatchPart, Milling
from portgeom.job.values import Port
from portgeom.output.charts.match_chart import AGAINST, draw_match
from portgeom.output.charts.match_drawings import match_drawings
from portgeom.output.charts.sheet import Region, Words
from portgeom.output.words.shown import Shown
from portgeom.questions.match.match import Match, match

PINS = np.array([[-30.0, 0.0], [30.0, 0.0]])
PORT = Port("1", "intake", (), left_wall="<pushrod & wall>")


def meeting(milling: Milling | None = None, held: str = "elsewhere") -> Match:
    part = MatchPart(circle(41.0).moved(0.4, 0.0), PINS, np.full(2, 9.0))
    gasket = MatchPart(circle(43.0), PINS, np.full(2, np.nan))
    given = FaceMatch(PINS, np.full(2, 8.0), gasket, part, held=held)
    return match(circle(40.0), given, kind="intake", lean_deg=5.0, milling=milling)


@pytest.mark.parametrize("units", ["mm", "in"])
def test_outlines_are_true_to_scale(units: str) -> None:
    found = meeting()
    drawn = draw_match(found, PORT, Shown(units))
    sizes = sorted(abs(float(polygon_moments(m.points).area_mm2)) for m in drawn.marks if isinstance(m, Region))
    # the port's ring, the manifold's, the gasket's, in proportion
    share = [a / sizes[-1] for a in sizes]
    for diameter in (40.0, 41.0):
        assert any(s == pytest.approx((diameter / 43.0) ** 2, rel=1e-3) for s in share)


def test_every_step_is_written_and_those_against_the_flow_stand_out() -> None:
    found = meeting()
    words = [m for m in draw_match(found, PORT, Shown("mm")).marks if isinstance(m, Words)]
    bold = [w for w in words if w.bold]
    against = [s for s in found.steps if s.facing == "faces the flow"]
    assert len(bold) == len(against) > 0
    assert {w.colour for w in bold} == {AGAINST}
    assert sum(w.text in ("+0.90", "+0.10") for w in words) == 2  # at 3 and at 9 o'clock


def test_milling_is_drawn_where_it_shifts_something() -> None:
    def names(found: Match | None) -> list[str]:
        return [d.name for d in match_drawings(found, PORT, Shown("mm"))]

    assert names(None) == []
    assert names(meeting()) == ["match"]
    assert names(meeting(Milling(deck_mm=0.5))) == ["match", "milling"]
    assert names(meeting(Milling(deck_mm=0.5), "one head")) == ["match"]


def test_drawings_are_written_escaped() -> None:
    for drawing in match_drawings(meeting(Milling(deck_mm=0.5)), PORT, Shown("mm")):
        svg = drawing.svg("p1")
        assert "<pushrod" not in svg
        assert svg.startswith("<svg")
        assert "nan" not in svg
