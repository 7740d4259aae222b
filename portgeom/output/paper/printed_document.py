"""How do paragraphs, tables and pictures become numbered pages with a head and a foot?

Nothing is ever cut: a word wider than its column is broken, a table longer than a page goes on with its headings.
"""

from __future__ import annotations

import io
from collections.abc import Sequence
from dataclasses import dataclass
from html import escape
from typing import Any

from reportlab.lib.colors import HexColor, black
from reportlab.lib.enums import TA_RIGHT
from reportlab.lib.styles import ParagraphStyle
from reportlab.pdfgen.canvas import Canvas
from reportlab.platypus import BaseDocTemplate, Flowable, Frame, PageTemplate, Paragraph, Table

from portgeom.output.charts.chart_style import STYLE
from portgeom.output.paper.lettering import BOLD, PLAIN, fitted, printable, register_fonts, width
from portgeom.output.paper.paper import PAPER_MM, POINTS_PER_MM, Paper

MARGIN_MM = 14.0
HEAD_MM, FOOT_MM = 20.0, 17.0

SIZES = (7.5, 7.0, 6.5, 6.0, 5.5, 5.0)
"""Sizes of letters in tables: the largest at which no word has to be broken."""

CELL_PAD = 2.2


def _style(name: str, size: float, **more: Any) -> ParagraphStyle:
    register_fonts()
    return ParagraphStyle(name, fontName=PLAIN, fontSize=size, leading=1.3 * size, splitLongWords=1, **more)


@dataclass(frozen=True, slots=True)
class Styles:
    """Looks of paragraphs on printed pages."""

    title: ParagraphStyle
    h2: ParagraphStyle
    h3: ParagraphStyle
    h4: ParagraphStyle
    body: ParagraphStyle
    quiet: ParagraphStyle
    question: ParagraphStyle
    figure: ParagraphStyle
    item: ParagraphStyle
    caption: ParagraphStyle


def styles() -> Styles:
    """Return the looks; the fonts are made known first."""
    register_fonts()
    grey = HexColor(STYLE.quiet)
    return Styles(
        title=_style("title", 18.0, spaceAfter=4.0).clone("title", fontName=BOLD),
        h2=_style("h2", 14.0, spaceBefore=10.0, spaceAfter=4.0, keepWithNext=1).clone("h2", fontName=BOLD),
        h3=_style("h3", 11.0, spaceBefore=8.0, spaceAfter=3.0, keepWithNext=1).clone("h3", fontName=BOLD),
        h4=_style("h4", 9.5, spaceBefore=6.0, spaceAfter=2.0, keepWithNext=1).clone("h4", fontName=BOLD),
        body=_style("body", 9.0, spaceAfter=3.0),
        quiet=_style("quiet", 8.0, textColor=grey, spaceAfter=4.0),
        question=_style("question", 8.5, textColor=grey, spaceBefore=5.0, keepWithNext=1),
        figure=_style("figure", 12.0, spaceAfter=2.0, keepWithNext=1).clone("figure", fontName=BOLD),
        item=_style("item", 9.0, leftIndent=12.0, bulletIndent=2.0, spaceAfter=2.0),
        caption=_style("caption", 8.5, spaceBefore=6.0, spaceAfter=2.0, keepWithNext=1),
    )


def words(text: str, style: ParagraphStyle, *, bullet: str = "") -> Paragraph:
    """Return a paragraph that shows exactly a text."""
    plain = escape(printable(text), quote=False)
    return Paragraph(plain, style, bulletText=bullet or None)


def printed_table(headings: Sequence[str], rows: Sequence[Sequence[str]], *, left: int, wide_pt: float) -> Table:
    """Return a table as wide as the page at most, words to the left and numbers to the right.

    Its letters are as large as they can be without breaking a word; where even the smallest are too wide, words
    are broken and none is lost.
    """
    register_fonts()
    cells = [[printable(c) for c in row] for row in (headings, *rows)]
    count = len(headings)
    size = next((s for s in SIZES if sum(_least(cells, k, s) for k in range(count)) <= wide_pt), SIZES[-1])
    columns = _widths(cells, size, wide_pt)
    head = _style("head", size).clone("head", fontName=BOLD)
    plain = _style("cell", size)
    number = _style("number", size, alignment=TA_RIGHT)
    head_number = number.clone("head number", fontName=BOLD)
    looks = [(head, plain) if k < left else (head_number, number) for k in range(count)]
    data = [
        [Paragraph(escape(c, quote=False), looks[k][min(1, r)]) for k, c in enumerate(row)]
        for r, row in enumerate(cells)
    ]
    table = Table(data, colWidths=columns, repeatRows=1, hAlign="LEFT")
    faint, quiet = HexColor(STYLE.faint), HexColor(STYLE.quiet)
    table.setStyle(
        [
            ("VALIGN", (0, 0), (-1, 0), "BOTTOM"),
            ("VALIGN", (0, 1), (-1, -1), "TOP"),
            ("LINEBELOW", (0, 0), (-1, 0), 0.6, quiet),
            ("LINEBELOW", (0, 1), (-1, -1), 0.3, faint),
            ("LEFTPADDING", (0, 0), (-1, -1), CELL_PAD),
            ("RIGHTPADDING", (0, 0), (-1, -1), CELL_PAD),
            ("TOPPADDING", (0, 0), (-1, -1), 1.2),
            ("BOTTOMPADDING", (0, 0), (-1, -1), 1.4),
        ]
    )
    table.spaceAfter = 6.0
    return table


def _least(cells: Sequence[Sequence[str]], column: int, size: float) -> float:
    """Return how wide a column has to be so that no word of it is broken."""
    head, *body = cells
    parts = [(w, True) for w in head[column].split()] + [(w, False) for row in body for w in row[column].split()]
    return max((width(w, size, bold=bold) for w, bold in parts), default=0.0) + 2.0 * CELL_PAD + 0.5


def _whole(cells: Sequence[Sequence[str]], column: int, size: float) -> float:
    return max(width(row[column], size, bold=True) for row in cells) + 2.0 * CELL_PAD + 0.5


def _widths(cells: Sequence[Sequence[str]], size: float, wide: float) -> list[float]:
    """Return the columns' widths: each its least, and the rest of the page where it saves most lines."""
    count = len(cells[0])
    least = [_least(cells, k, size) for k in range(count)]
    if sum(least) > wide:  # words have to be broken: the widest columns give way first
        level = _level(least, wide)
        return [min(own, level) for own in least]
    want = [_whole(cells, k, size) - own for k, own in enumerate(least)]
    spare, asked = wide - sum(least), sum(want)
    share = 1.0 if asked <= spare or asked <= 0.0 else spare / asked
    return [own + share * more for own, more in zip(least, want, strict=True)]


def _level(sizes: Sequence[float], total: float) -> float:
    """Return the height at which sizes cut off there add up to a total."""
    low, high = 0.0, max(sizes)
    for _ in range(60):
        middle = 0.5 * (low + high)
        low, high = (middle, high) if sum(min(s, middle) for s in sizes) <= total else (low, middle)
    return low


class Numbered(Canvas):  # type: ignore[misc]  # the PDF library has no types
    """A canvas that says on every page which of how many it is."""

    def __init__(self, *args: Any, foot: str = "", **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self._pages: list[dict[str, Any]] = []
        self._foot = foot

    def showPage(self) -> None:  # noqa: N802
        """Keep the page until their number is known."""
        self._pages.append(dict(self.__dict__))
        self._startPage()

    def save(self) -> None:
        """Write all pages."""
        for number, page in enumerate(self._pages, 1):
            self.__dict__.update(page)
            self._footer(number, len(self._pages))
            super().showPage()
        super().save()

    def _footer(self, number: int, count: int) -> None:
        wide = self._pagesize[0]
        left, at = MARGIN_MM * POINTS_PER_MM, 9.0 * POINTS_PER_MM
        self.setFillColor(black)
        self.setFont(PLAIN, 7.5)
        told = f"page {number} of {count}"
        self.drawRightString(wide - left, at, told)
        self.drawString(left, at, fitted(self._foot, 7.5, wide - 2.0 * left - width(told, 7.5) - 12.0))


class _Pages(BaseDocTemplate):  # type: ignore[misc]  # the PDF library has no types
    """Pages of one frame each, with an outline of the headings for whoever reads them on a screen."""

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self._headings: list[str] = []

    def afterFlowable(self, flowable: Flowable) -> None:  # noqa: N802
        """Add a heading to the outline."""
        name = getattr(getattr(flowable, "style", None), "name", "")
        level = {"h2": 0, "h3": 1}.get(name)
        if level is None:
            return
        level = min(level, len(self._headings))  # the first heading is an upper one, whatever it is
        key = f"heading-{len(self._headings)}"
        self._headings.append(key)
        self.canv.bookmarkPage(key)
        self.canv.addOutlineEntry(flowable.getPlainText(), key, level, closed=1)


def room_pt(paper: Paper) -> tuple[float, float]:
    """Return how wide and how tall what is printed on a page may get, in points."""
    wide, tall = PAPER_MM[paper]
    return (wide - 2.0 * MARGIN_MM) * POINTS_PER_MM, (tall - HEAD_MM - FOOT_MM) * POINTS_PER_MM


def printed_document(title: str, foot: str, flow: Sequence[Flowable], *, paper: Paper) -> bytes:
    """Return a PDF of pages that are filled one after the other; without a date, so the same flow is the same bytes."""
    register_fonts()
    wide, tall = (size * POINTS_PER_MM for size in PAPER_MM[paper])
    across, up = room_pt(paper)
    out = io.BytesIO()
    frame = Frame(
        MARGIN_MM * POINTS_PER_MM,
        FOOT_MM * POINTS_PER_MM,
        across,
        up,
        leftPadding=0,
        rightPadding=0,
        topPadding=0,
        bottomPadding=0,
    )
    head = fitted(printable(title), 8.0, across)

    def on_page(canvas: Canvas, _: object) -> None:
        canvas.saveState()
        canvas.setFont(PLAIN, 8.0)
        canvas.setFillColor(HexColor(STYLE.quiet))
        canvas.drawString(MARGIN_MM * POINTS_PER_MM, tall - 12.0 * POINTS_PER_MM, head)
        canvas.restoreState()

    document = _Pages(
        out,
        pagesize=(wide, tall),
        pageTemplates=[PageTemplate(id="page", frames=[frame], onPage=on_page)],
        title=printable(title),
        author="portgeom",
        invariant=1,
    )
    shown = printable(foot)
    document.build(list(flow), canvasmaker=lambda *a, **k: Numbered(*a, foot=shown, **k))
    return out.getvalue()
