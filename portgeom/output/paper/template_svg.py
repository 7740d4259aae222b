"""What are template pieces as an SVG drawing, at 1:1, for a cutter or a browser?"""

from __future__ import annotations

from collections.abc import Sequence
from xml.sax.saxutils import escape

import numpy as np

from portgeom.geometry.arrays import F64
from portgeom.job.values import Units
from portgeom.output.paper.lettering import printable
from portgeom.output.paper.template_drawing import Drawn, Lettering, Stroke
from portgeom.output.paper.template_layout import shelves
from portgeom.output.paper.template_page import BAR_MM, BAR_WORDS

ROW_MM = 600.0
"""Pieces lie in rows as wide as this, or as the widest piece."""

EDGE = 8.0
BAR_ROOM = 16.0


def laid_out(pieces: Sequence[Drawn]) -> list[Drawn]:
    """Return all pieces in rows on one sheet: x from 0 to the right, y from 0 downwards, negative."""
    wide = max(ROW_MM, *(float(p.size_mm[0]) for p in pieces)) if pieces else ROW_MM
    return [piece for sheet in shelves(pieces, wide, float("inf")) for piece in sheet]


def templates_svg(title: str, pieces: Sequence[Drawn], *, units: Units) -> str:
    """Return pieces as an SVG file: lines to cut, marks and words in groups of their own, one unit a mm."""
    placed = laid_out(pieces)
    right = max([BAR_MM[units], *(float(p.high[0]) for p in placed)])
    foot = min([0.0, *(float(p.low[1]) for p in placed)])
    wide, tall = right + 2.0 * EDGE, BAR_ROOM - foot + 2.0 * EDGE
    strokes = [s for p in placed for s in p.strokes]
    cut = "".join(_path(s) for s in strokes if s.layer == "cut")
    mark = "".join(_path(s) for s in strokes if s.layer == "mark")
    words = "".join(_words(t) for p in placed for t in p.letters)
    bar = Stroke("mark", np.array([[0.0, 8.0], [BAR_MM[units], 8.0]]))
    ends = [Stroke("mark", np.array([[x, 6.0], [x, 10.0]])) for x in (0.0, BAR_MM[units])]
    mark += "".join(_path(s, name=' id="check-bar"' if s is bar else "") for s in (bar, *ends))
    words += _words(Lettering((0.0, 11.5), printable(BAR_WORDS[units]), 2.4, middle=False))
    # y runs up in a piece and down in a picture, so only the places are turned over, never the letters
    return (
        '<?xml version="1.0" encoding="UTF-8"?>\n'
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{wide:.3f}mm" height="{tall:.3f}mm" '
        f'viewBox="{-EDGE:.3f} {-BAR_ROOM - EDGE:.3f} {wide:.3f} {tall:.3f}">\n'
        f"<title>{escape(printable(title))}</title>\n"
        f'<g id="cut" fill="none" stroke="#ff0000" stroke-width="0.1">{cut}</g>\n'
        f'<g id="mark" fill="none" stroke="#0000ff" stroke-width="0.1">{mark}</g>\n'
        f'<g id="text" fill="#000000" font-family="DejaVu Sans, Verdana, sans-serif">{words}</g>\n'
        "</svg>\n"
    )


def _path(stroke: Stroke, *, name: str = "") -> str:
    dashes = ' stroke-dasharray="1.2 0.9"' if stroke.dashed else ""
    return f'<path{name} d="{_data(stroke.points_mm)}{" Z" if stroke.closed else ""}"{dashes}/>\n'


def _data(points: F64) -> str:
    return "M " + " L ".join(f"{x:.4f},{-y:.4f}" for x, y in points)


def _words(text: Lettering) -> str:
    x, y = text.place[0], -text.place[1] + (0.36 * text.size if text.middle else 0.0)
    anchor = ' text-anchor="middle"' if text.middle else ""
    bold = ' font-weight="bold"' if text.bold else ""
    return f'<text x="{x:.3f}" y="{y:.3f}" font-size="{text.size:.3f}"{anchor}{bold}>{escape(text.words)}</text>\n'
