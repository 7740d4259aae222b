"""How is something drawn on paper at 1:1, in mm, with lines, dimensions and words that print alike everywhere?"""

from __future__ import annotations

import io
import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal, TypeAlias

from portgeom.output.paper.lettering import BOLD, LINE, PLAIN, fitted, printable, register_fonts, width, wrapped
from portgeom.output.words.names import harmless

if TYPE_CHECKING:
    from reportlab.pdfgen.canvas import Canvas
    from reportlab.pdfgen.pathobject import PDFPathObject

Paper: TypeAlias = Literal["a4", "letter"]
Place: TypeAlias = tuple[float, float]

PAPER_MM: dict[Paper, tuple[float, float]] = {"a4": (210.0, 297.0), "letter": (215.9, 279.4)}
POINTS_PER_MM = 72.0 / 25.4

THIN, USUAL, THICK = 0.12, 0.25, 0.5
"""Widths of lines, mm."""

MOST_CHARACTERS = 300
"""More than any line on paper holds."""

ARROW = 1.8
"""Length of an arrow head, mm."""


@dataclass(frozen=True, slots=True)
class Pen:
    """Draws on one page in mm, from a place of its own; y is up."""

    canvas: Canvas
    at: Place = (0.0, 0.0)

    def moved(self, x: float, y: float) -> Pen:
        """Return a pen whose (0, 0) is at a place of this one."""
        return Pen(self.canvas, (self.at[0] + x, self.at[1] + y))

    def line(self, *places: Place, width: float = USUAL, dash: Sequence[float] = (), closed: bool = False) -> None:
        """Draw a line through places."""

        def trace(path: PDFPathObject) -> None:
            path.moveTo(*self._page(places[0]))
            for place in places[1:]:
                path.lineTo(*self._page(place))
            if closed:
                path.close()

        self._stroke(trace, width, dash)

    def curve(self, start: Place, *rest: Place, width: float = USUAL, dash: Sequence[float] = ()) -> None:
        """Draw cubic curves from a place on, each by two handles and an end."""

        def trace(path: PDFPathObject) -> None:
            path.moveTo(*self._page(start))
            for k in range(0, len(rest) - 2, 3):
                (a, b), (c, d), (e, f) = (self._page(p) for p in rest[k : k + 3])
                path.curveTo(a, b, c, d, e, f)

        self._stroke(trace, width, dash)

    def arc(
        self, centre: Place, radius: float, start_deg: float, sweep_deg: float, *, width: float = USUAL,
        dash: Sequence[float] = (),
    ) -> None:  # fmt: skip
        """Draw an arc, anticlockwise from the right."""
        x, y = self._page(centre)

        def trace(path: PDFPathObject) -> None:
            path.arc(x - radius, y - radius, x + radius, y + radius, start_deg, sweep_deg)

        self._stroke(trace, width, dash)

    def dot(self, place: Place, *, radius: float = 0.5) -> None:
        """Draw a black dot."""
        x, y = self._page(place)
        self.canvas.circle(x, y, radius, stroke=0, fill=1)

    def arrow(self, start: Place, end: Place, *, width: float = USUAL) -> None:
        """Draw a line with a head at its end."""
        self.line(start, end, width=width)
        way = math.atan2(end[1] - start[1], end[0] - start[0])
        for side in (-1.0, 1.0):
            a = way + math.pi + side * 0.26
            self.line(end, (end[0] + ARROW * math.cos(a), end[1] + ARROW * math.sin(a)), width=width)

    def dimension(self, start: Place, end: Place, letter: str, *, along: float = 0.5, off: float = 0.0) -> None:
        """Draw a measured distance: a line with a head at both ends and its letter on it.

        ``along`` is where on the line the letter stands, ``off`` how far to its left, looking to the end.
        """
        self.arrow(start, end, width=THIN)
        self.arrow(end, start, width=THIN)
        x, y = start[0] + along * (end[0] - start[0]), start[1] + along * (end[1] - start[1])
        run = math.hypot(end[0] - start[0], end[1] - start[1]) or 1.0
        self.letter((x - off * (end[1] - start[1]) / run, y + off * (end[0] - start[0]) / run), letter)

    def letter(self, place: Place, letter: str) -> None:
        """Write a letter in a white field, so that no line runs through it."""
        x, y = self._page(place)
        wide = self.width(letter, 3.0, bold=True) + 1.0
        self.canvas.setFillGray(1.0)
        self.canvas.rect(x - 0.5 * wide, y - 1.9, wide, 3.8, stroke=0, fill=1)
        self.canvas.setFillGray(0.0)
        self.words(place, letter, size=3.0, bold=True, middle=True)

    def words(
        self, place: Place, text: str, *, size: float = 2.8, bold: bool = False, middle: bool = False,
        most: float = math.inf, grey: float = 0.0,
    ) -> None:  # fmt: skip
        """Write one line of words; ``middle`` sets it about the place, ``most`` is how wide it may get."""
        self.letters(
            place, printable(text[:MOST_CHARACTERS]), size=size, bold=bold, middle=middle, most=most, grey=grey
        )

    def letters(
        self, place: Place, text: str, *, size: float = 2.8, bold: bool = False, middle: bool = False,
        most: float = math.inf, grey: float = 0.0,
    ) -> None:  # fmt: skip
        """Write one line of words that are printable already."""
        plain = fitted(text, size, most, bold=bold)
        x, y = self._page(place)
        if middle:
            x, y = x - 0.5 * self.width(plain, size, bold=bold), y - 0.36 * size
        self.canvas.setFillGray(grey)
        self.canvas.setFont(BOLD if bold else PLAIN, size)
        self.canvas.drawString(x, y, plain)
        self.canvas.setFillGray(0.0)

    def paragraph(self, place: Place, text: str, *, wide: float, size: float = 2.8, bold: bool = False) -> float:
        """Write words broken into lines; return how far down the next line begins."""
        lines = wrapped(printable(text), size, wide, bold=bold)
        for k, line in enumerate(lines):
            self.letters((place[0], place[1] - LINE * size * k), line, size=size, bold=bold)
        return LINE * size * len(lines)

    def width(self, text: str, size: float, *, bold: bool = False) -> float:
        """Return how wide words are, mm."""
        return width(text, size, bold=bold)

    def _page(self, place: Place) -> Place:
        return self.at[0] + place[0], self.at[1] + place[1]

    def _stroke(self, trace: Callable[[PDFPathObject], None], width: float, dash: Sequence[float]) -> None:
        path = self.canvas.beginPath()
        trace(path)
        self.canvas.setLineWidth(width)
        self.canvas.setDash(list(dash))
        self.canvas.drawPath(path, stroke=1, fill=0)
        self.canvas.setDash([])


def pdf(title: str, pages: Sequence[Callable[[Pen], None]], *, paper: Paper) -> bytes:
    """Return a PDF whose pages are drawn by functions that are given a pen, in mm from the lower left corner.

    It asks the reader to print it without scaling, and holds no date: the same pages are the same bytes.
    """
    from reportlab.pdfgen.canvas import Canvas

    register_fonts()
    wide, tall = PAPER_MM[paper]
    out = io.BytesIO()
    canvas = Canvas(out, pagesize=(wide * POINTS_PER_MM, tall * POINTS_PER_MM), invariant=1)
    canvas.setTitle(harmless(title))
    canvas.setViewerPreference("PrintScaling", "None")
    for draw in pages:
        canvas.scale(POINTS_PER_MM, POINTS_PER_MM)
        canvas.setLineCap(1)
        canvas.setLineJoin(1)
        draw(Pen(canvas))
        canvas.showPage()
    canvas.save()
    return out.getvalue()
