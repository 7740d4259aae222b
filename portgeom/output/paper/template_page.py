"""What do template pieces look like on paper, at 1:1, with a bar to check the printing by?"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from functools import partial

import numpy as np

from portgeom.geometry.arrays import F64
from portgeom.job.values import Units
from portgeom.output.paper.paper import PAPER_MM, THICK, THIN, USUAL, Paper, Pen, pdf
from portgeom.output.paper.template_drawing import Drawn
from portgeom.output.paper.template_layout import Tile, fits, shelves, tiles

MARGIN = 10.0
TOP, FOOT = 20.0, 24.0
"""Kept for the head and the foot of a page, mm."""

BAR_MM: dict[Units, float] = {"mm": 100.0, "in": 101.6}
BAR_WORDS: dict[Units, str] = {
    "mm": "100 mm: print at 100 percent, without fitting to the page, and measure this bar before you cut",
    "in": "4 in: print at 100 percent, without fitting to the page, and measure this bar before you cut",
}

DASHES = (1.2, 0.9)
CUT_WORDS = "Cut along the middle of the full lines."


def templates_pdf(title: str, pieces: Sequence[Drawn], *, units: Units, paper: Paper = "a4") -> bytes:
    """Return pieces as a PDF at 1:1, as many on a page as fit; larger ones on pages of their own, to be joined."""
    wide, tall = PAPER_MM[paper]
    across, up = wide - 2.0 * MARGIN, tall - TOP - FOOT
    small = [p for p in pieces if fits(p, across, up)]
    sheets = [sheet for sheet in shelves(small, across, up) if sheet]
    bodies: list[Callable[[Pen], None]] = [partial(_sheet, pieces=sheet) for sheet in sheets]
    for large in (p for p in pieces if not fits(p, across, up)):
        bodies += [partial(_tile, piece=large, tile=tile) for tile in tiles(large, across, up)]
    count = len(bodies)
    pages = [
        partial(_page, body=body, title=title, number=f"page {k} of {count}", units=units, paper=paper)
        for k, body in enumerate(bodies, 1)
    ]
    return pdf(title, pages, paper=paper)


def _page(pen: Pen, *, body: Callable[[Pen], None], title: str, number: str, units: Units, paper: Paper) -> None:
    wide, tall = PAPER_MM[paper]
    pen.words((MARGIN, tall - 13.0), title, size=4.0, bold=True, most=wide - 2.0 * MARGIN - 62.0)
    pen.words((wide - MARGIN - 58.0, tall - 13.0), CUT_WORDS, size=2.6)
    foot = pen.moved(MARGIN, 13.0)
    bar = BAR_MM[units]
    foot.line((0.0, 0.0), (bar, 0.0), width=THICK)
    for x in (0.0, bar):
        foot.line((x, -2.0), (x, 2.0), width=THIN)
    foot.words((0.0, -5.0), BAR_WORDS[units], size=2.4)
    foot.words((wide - 2.0 * MARGIN - 24.0, -1.0), number, size=2.8)
    body(pen.moved(MARGIN, tall - TOP))


def _sheet(pen: Pen, *, pieces: Sequence[Drawn]) -> None:
    for piece in pieces:
        _draw(pen, piece)


def _draw(pen: Pen, piece: Drawn) -> None:
    for stroke in piece.strokes:
        places = [(float(x), float(y)) for x, y in stroke.points_mm]
        width = USUAL if stroke.layer == "cut" else THIN
        pen.line(*places, width=width, dash=DASHES if stroke.dashed else (), closed=stroke.closed)
    for text in piece.letters:
        pen.letters(text.place, text.words, size=text.size, middle=text.middle, bold=text.bold)


def _tile(pen: Pen, *, piece: Drawn, tile: Tile) -> None:
    """Draw what one sheet shows of a piece; the pen stands at the upper left corner of the room for it."""
    corner = np.array([tile.low[0], tile.high[1]])
    wide, tall = tile.high - tile.low
    inside = pen.moved(float(-corner[0]), float(-corner[1]))
    pen.canvas.saveState()
    path = pen.canvas.beginPath()
    path.rect(pen.at[0], pen.at[1] - tall, wide, tall)
    pen.canvas.clipPath(path, stroke=0, fill=0)
    _draw(inside, piece)
    pen.canvas.restoreState()
    for place, name in zip(tile.joins_mm, tile.join_names, strict=True):
        _join(inside, place, name)
    said = f"row {tile.row + 1} of {tile.rows}, column {tile.column + 1} of {tile.columns}"
    pen.words((0.0, 1.5), f"One piece on {tile.rows * tile.columns} sheets: {said}. Lay equal crosses on each other.")


def _join(pen: Pen, place: F64, name: str) -> None:
    """Draw a cross in a ring that the neighbouring sheet shows too, and its name."""
    x, y = float(place[0]), float(place[1])
    pen.line((x - 4.0, y), (x + 4.0, y), width=THIN)
    pen.line((x, y - 4.0), (x, y + 4.0), width=THIN)
    pen.arc((x, y), 2.0, 0.0, 360.0, width=THIN)
    pen.words((x + 2.4, y + 1.4), name, size=2.2)
