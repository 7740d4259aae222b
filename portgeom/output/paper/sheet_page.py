"""What does the measuring sheet look like on paper: drawings of where to gauge, and boxes to fill in?"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import partial

from portgeom.capture.sheets.readings import BOWL, FACE, TURN, Marks, Reading, set_up_readings
from portgeom.job.values import Units
from portgeom.output.paper import sheet_drawings as drawn
from portgeom.output.paper.paper import PAPER_MM, THICK, THIN, USUAL, Paper, Pen, pdf

MARGIN = 10.0
ROW = 8.0
HEAD_ROW = 6.0
BAR_MM = 100.0
CHECK = "100 mm (3.937 in): print at 100 percent, without fitting to the page, and measure"
FOOT = 26.0
"""What the check bar and the page's number take at the foot of every page."""

TOP = 24.0
MARK_WIDE = 20.0

BEFORE = (
    "Clean the port. Turn the head deck down, look into the port from the manifold face, and chalk R on the end of "
    "the head that is on the right. Keep that mark: left and right go by it from here on, however the head lies.",
    "Put a well fitting arbor into the valve guide. The arbor's line runs through its middle where it meets the "
    "deck, square to the face: carry it up the face with a square, and into the port with a rod. The rod lies "
    "square to the face; depths are taken along it.",
    "Type the readings into the table that came with this sheet, one row as below, and start the job with it.",
)


SHORT = (
    "Fit a radius gauge to the short side. Its crest is where its edge runs along the rod; its centre lies one "
    "radius below. Turn sections fan out about that centre: each is marked on the short side so many radii along "
    "from the crest."
)

WHERE = {
    "face": ("depth", "Face sections: parallel to the face, at depths square from it. Seen looking in, deck down."),
    "turn": ("angle", "Turn sections: calipers in line with the centre of the short side radius."),
    "bowl": ("over seat", "Bowl sections: square to the arbor, from the middle of the arbor to the wall."),
}
"""What a mark of each kind of section is, and what is said over its table."""


@dataclass(frozen=True, slots=True)
class Named:
    """What stands at the head of every page, so that a loose page is known."""

    title: str = ""
    port: str = ""


@dataclass(frozen=True, slots=True)
class _Block:
    """A table of one kind of section: its rows and readings, and what is drawn over it and how tall that is."""

    kind: str
    marks: tuple[str, ...]
    readings: tuple[Reading, ...]
    tall: float
    draw: Callable[[Pen], None]


def measuring_sheet_pdf(marks: Marks, *, units: Units, paper: Paper = "a4", named: Named = Named()) -> bytes:
    """Return the measuring sheet for sections at these marks, as a PDF at 1:1.

    Each page has a bar of 100 mm to check the printing with. What does not fit one page goes on to the next.

    Examples
    --------
    >>> measuring_sheet_pdf(Marks((0.0, 10.0)), units="mm")[:5]
    b'%PDF-'
    """
    tall = PAPER_MM[paper][1]
    bodies: list[Callable[[Pen], None]] = [partial(_set_up_page, marks=marks, units=units)]
    for block in _blocks(marks, units):
        bodies += _block_pages(block, tall=tall, units=units)
    count = len(bodies)
    pages = [
        partial(_page, body=body, named=named, number=f"page {k} of {count}", paper=paper)
        for k, body in enumerate(bodies, start=1)
    ]
    return pdf(f"Measuring sheet {named.title}".strip(), pages, paper=paper)


def _page(pen: Pen, *, body: Callable[[Pen], None], named: Named, number: str, paper: Paper) -> None:
    """Draw the head and the foot of a page, and what is between from its upper left corner down."""
    wide, tall = PAPER_MM[paper]
    pen.words((MARGIN, tall - 15.0), "Measuring sheet", size=4.6, bold=True)
    port = f"port {named.port}" if named.port else "port ______"
    about = ", ".join(part for part in (named.title, port) if part)
    pen.words((62.0, tall - 15.0), about, size=3.4, most=wide - 62.0 - 62.0)
    pen.words((wide - 58.0, tall - 15.0), "date ____________  by ______", size=2.8)
    foot = pen.moved(MARGIN, 14.0)
    foot.line((0.0, 0.0), (BAR_MM, 0.0), width=THICK)
    for x in (0.0, BAR_MM):
        foot.line((x, -2.0), (x, 2.0), width=THIN)
    foot.words(
        (0.0, -4.6), "100 mm (3.937 in): print at 100 percent, without fitting to the page, and measure", size=2.4
    )
    foot.words((wide - 2.0 * MARGIN - 24.0, -1.0), number, size=2.8)
    body(pen.moved(MARGIN, tall - TOP))


def _set_up_page(pen: Pen, *, marks: Marks, units: Units) -> None:
    y = 0.0
    for words in (*BEFORE[:2], *((SHORT,) if marks.turn_deg else ()), BEFORE[2]):
        y -= pen.paragraph((0.0, y), words, wide=190.0) + 1.0
    drawn.head_from_the_side(pen.moved(0.0, y - 80.0))
    drawn.head_from_the_face(pen.moved(122.0, y - 80.0))
    y -= 90.0
    pen.words((0.0, y), f"Set-up readings; lengths in {units}, angles in degrees", size=3.4, bold=True)
    y -= 3.0
    for reading in set_up_readings(marks):
        y -= ROW - 0.6
        pen.line((0.0, y), (190.0, y), width=THIN)
        pen.words((1.0, y + 2.2), reading.letter, size=3.2, bold=True)
        pen.words((9.0, y + 2.2), reading.words)
        pen.words((108.0, y + 2.2), reading.key, size=2.6, grey=0.35)
        pen.line((146.0, y + 0.4), (182.0, y + 0.4), (182.0, y + ROW - 1.4), (146.0, y + ROW - 1.4), closed=True)
        pen.words((184.0, y + 2.2), "°" if reading.measure == "degrees" else units, size=2.6)


def _blocks(marks: Marks, units: Units) -> list[_Block]:
    by_kind: dict[str, list[str]] = {}
    for kind, mark in marks.rows(units):
        by_kind.setdefault(kind, []).append(mark)
    fan = partial(_turn_drawing, angles_deg=marks.turn_deg)
    blocks = (
        _Block("face", tuple(by_kind.get("face", ())), FACE, 88.0, _face_drawing),
        _Block("turn", tuple(by_kind.get("turn", ())), TURN, 112.0, fan),
        _Block("bowl", tuple(by_kind.get("bowl", ())), BOWL, 76.0, _bowl_drawing),
    )
    return [block for block in blocks if block.marks]


def _face_drawing(pen: Pen) -> None:
    drawn.face_section(pen.moved(0.0, -86.0))
    _legend(pen.moved(100.0, -6.0), FACE, wide=90.0)


def _turn_drawing(pen: Pen, *, angles_deg: Sequence[float]) -> None:
    drawn.fan(pen.moved(0.0, -78.0), angles_deg)
    drawn.turn_section(pen.moved(110.0, -70.0))
    _legend(pen.moved(0.0, -84.0), TURN[:2], wide=90.0)
    _legend(pen.moved(100.0, -84.0), TURN[2:], wide=90.0)


def _bowl_drawing(pen: Pen) -> None:
    drawn.bowl_section(pen.moved(0.0, -74.0))
    _legend(pen.moved(100.0, -14.0), BOWL, wide=90.0)


def _legend(pen: Pen, readings: Sequence[Reading], *, wide: float) -> None:
    for k, reading in enumerate(readings):
        pen.words((0.0, -4.4 * k), reading.letter, bold=True)
        pen.words((8.0, -4.4 * k), reading.words, most=wide - 8.0)


def _block_pages(block: _Block, *, tall: float, units: Units) -> list[Callable[[Pen], None]]:
    """Return the pages of a block: the drawing and as many rows as fit, then rows alone."""
    pages: list[Callable[[Pen], None]] = []
    left = block.marks
    while left:
        above = 10.0 + 2.0 * HEAD_ROW + (0.0 if pages else block.tall)
        fits = int((tall - TOP - FOOT - above) // ROW)
        rows, left = left[:fits], left[fits:]
        pages.append(partial(_block_page, block=block, rows=rows, units=units, drawing=not pages))
    return pages


def _block_page(pen: Pen, *, block: _Block, rows: tuple[str, ...], units: Units, drawing: bool) -> None:
    y = -pen.paragraph((0.0, 0.0), WHERE[block.kind][1], wide=190.0, size=3.4, bold=True)
    if drawing:
        block.draw(pen.moved(0.0, y))
        y -= block.tall
    _boxes(pen.moved(0.0, y - 2.0), block, rows, units)


def _boxes(pen: Pen, block: _Block, rows: tuple[str, ...], units: Units) -> None:
    """Draw the table to fill in: a row a mark, a column a reading."""
    count = len(block.readings)
    wide = (190.0 - MARK_WIDE) / count
    ends = [0.0, *(MARK_WIDE + wide * k for k in range(count + 1))]
    mark_unit = "degrees" if block.kind == "turn" else units
    pen.words(
        (0.5 * MARK_WIDE, -2.4), f"{WHERE[block.kind][0]}, {mark_unit}", size=2.4, middle=True, most=MARK_WIDE - 1.0
    )
    for k, reading in enumerate(block.readings):
        x = MARK_WIDE + wide * (k + 0.5)
        pen.words((x, -2.4), reading.letter, size=3.0, bold=True, middle=True)
        pen.words((x, -5.6), reading.key, size=1.9, middle=True, most=wide - 0.6, grey=0.35)
    foot = -2.0 * HEAD_ROW + 4.0 - ROW * len(rows)
    start = -2.0 * HEAD_ROW + 4.0
    for k, mark in enumerate(rows):
        middle = start - ROW * (k + 0.5)
        if block.kind == "turn":  # an angle is an arc along the short side, in radii
            along = f"J times {math.radians(float(mark)):.2f} along"
            pen.words((0.5 * MARK_WIDE, middle - 2.2), along, size=1.9, middle=True)
            middle += 1.2
        pen.words((0.5 * MARK_WIDE, middle), mark, size=3.4, bold=True, middle=True)
        pen.line((0.0, start - ROW * k), (190.0, start - ROW * k))
    pen.line((0.0, foot), (190.0, foot))
    for x in ends:
        pen.line((x, start), (x, foot), width=USUAL if x in (0.0, MARK_WIDE, 190.0) else THIN)
