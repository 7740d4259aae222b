"""What is a page to read and sign as a PDF, on A4 or on Letter?"""

from __future__ import annotations

import io
from collections.abc import Sequence
from html import escape

from portgeom.output.paper.blocks import Block, Facts, Grid, Leaf, Lines, Sign
from portgeom.output.paper.lettering import BOLD, PLAIN, printable, register_fonts
from portgeom.output.paper.paper import PAPER_MM, POINTS_PER_MM, Paper
from portgeom.output.words.names import harmless

SIZE_PT = 11.0
"""What is read at arm's length on paper."""

MARGIN_MM = 10.0
LEAD = 1.26
TITLE_PT, PART_PT = 14.0, 12.0


def leaves_pdf(title: str, leaves: Sequence[Leaf], *, paper: Paper = "a4") -> bytes:
    """Return pages as a PDF; each begins on a sheet of its own. The same pages are the same bytes."""
    from reportlab.platypus import PageBreak, SimpleDocTemplate

    register_fonts()
    wide, tall = PAPER_MM[paper]
    out = io.BytesIO()
    margin = MARGIN_MM * POINTS_PER_MM
    document = SimpleDocTemplate(
        out,
        pagesize=(wide * POINTS_PER_MM, tall * POINTS_PER_MM),
        leftMargin=margin,
        rightMargin=margin,
        topMargin=margin,
        bottomMargin=margin,
        title=harmless(title),
        invariant=1,
    )
    room = wide * POINTS_PER_MM - 2.0 * margin - 12.0  # the frame's own padding
    story: list[object] = []
    for leaf in leaves:
        if story:
            story.append(PageBreak())
        story += _leaf(leaf, room)
    document.build(story)
    return out.getvalue()


def _leaf(leaf: Leaf, room: float) -> list[object]:
    from reportlab.platypus import KeepTogether

    story: list[object] = [_words(leaf.title, size=TITLE_PT, bold=True, after=2.0)]
    story += [_words(u) for u in leaf.under]
    for part in leaf.filled:
        first, *rest = [_block(b, room) for b in part.filled]
        title = _words(part.title, size=PART_PT, bold=True, before=5.0, after=1.0)
        story += [KeepTogether([title, *first]), *(flow for flows in rest for flow in flows)]
    if leaf.link is not None:
        story.append(_words(f"{leaf.link.words}: {leaf.link.href}", before=6.0))
    return story


def _words(
    text: str, *, size: float = SIZE_PT, bold: bool = False, right: bool = False, before: float = 0.0,
    after: float = 0.5, bullet: bool = False,
) -> object:  # fmt: skip
    """Return a paragraph that shows exactly these words."""
    from reportlab.lib.enums import TA_LEFT, TA_RIGHT
    from reportlab.lib.styles import ParagraphStyle
    from reportlab.platypus import Paragraph

    style = ParagraphStyle(
        "words",
        fontName=BOLD if bold else PLAIN,
        fontSize=size,
        leading=LEAD * size,
        alignment=TA_RIGHT if right else TA_LEFT,
        spaceBefore=before,
        spaceAfter=after,
        leftIndent=10.0 if bullet else 0.0,
        splitLongWords=1,
        bulletFontName=PLAIN,
        bulletFontSize=size,
    )
    plain = escape(printable(text), quote=False)
    return Paragraph(plain, style, bulletText="•" if bullet else None)


def _block(block: Block, room: float) -> list[object]:
    if isinstance(block, Facts):
        rows = [[_words(name), _words(words)] for name, words in block.rows]
        return [_table(rows, [0.34 * room, 0.66 * room], head=False)]
    if isinstance(block, Grid):
        return [_grid(block, room)]
    if isinstance(block, Lines):
        return [_words(line, bullet=True) for line in block.lines]
    return [_sign(block, room)]


def _grid(block: Grid, room: float) -> object:
    widths = column_widths(block, room)
    cells = [
        [_words(c, bold=k == 0, right=j >= block.left) for j, c in enumerate(row)]
        for k, row in enumerate((block.headings, *block.rows))
    ]
    return _table(cells, widths, head=True)


def column_widths(block: Grid, room: float) -> list[float]:
    """Return widths of a table's columns that together fill the room: each as its longest words ask for."""
    from reportlab.pdfbase.pdfmetrics import stringWidth

    register_fonts()
    pad = 8.0
    rows = (block.headings, *block.rows)
    # no column is narrower than its longest single word, as far as all of them fit
    least = [
        max(
            stringWidth(w, BOLD if k == 0 else PLAIN, SIZE_PT)
            for k, r in enumerate(rows)
            for w in (r[j].split() or [""])
        )
        + pad
        for j in range(len(block.headings))
    ]
    wish = [
        max(stringWidth(r[j], BOLD if k == 0 else PLAIN, SIZE_PT) for k, r in enumerate(rows)) + pad
        for j in range(len(block.headings))
    ]
    if sum(wish) <= room:
        return [w + (room - sum(wish)) / len(wish) for w in wish]
    if sum(least) >= room:
        return [w * room / sum(least) for w in least]
    share = (room - sum(least)) / (sum(wish) - sum(least))
    return [a + share * (b - a) for a, b in zip(least, wish, strict=True)]


def _table(rows: Sequence[Sequence[object]], widths: Sequence[float], *, head: bool) -> object:
    from reportlab.lib.colors import HexColor
    from reportlab.platypus import Table, TableStyle

    style: list[tuple[object, ...]] = [
        ("FONT", (0, 0), (-1, -1), PLAIN, SIZE_PT),
        ("VALIGN", (0, 0), (-1, -1), "TOP"),
        ("LEFTPADDING", (0, 0), (-1, -1), 2),
        ("LEFTPADDING", (0, 0), (0, -1), 0),
        ("RIGHTPADDING", (0, 0), (-1, -1), 4),
        ("TOPPADDING", (0, 0), (-1, -1), 0.2),
        ("BOTTOMPADDING", (0, 0), (-1, -1), 1.4),
        ("LINEBELOW", (0, 0), (-1, -1), 0.4, HexColor("#999999")),
    ]
    if head:
        style += [("VALIGN", (0, 0), (-1, 0), "BOTTOM"), ("LINEBELOW", (0, 0), (-1, 0), 0.9, HexColor("#111111"))]
    return Table(
        [list(r) for r in rows], colWidths=list(widths), style=TableStyle(style), repeatRows=1 if head else 0,
        hAlign="LEFT",
    )  # fmt: skip


def _sign(block: Sign, room: float) -> object:
    from reportlab.lib.colors import HexColor
    from reportlab.platypus import Table, TableStyle

    gap, column = 24.0, 0.5 * (room - 24.0)
    rows: list[list[object]] = []
    style: list[tuple[object, ...]] = [
        ("FONT", (0, 0), (-1, -1), PLAIN, SIZE_PT),
        ("LEFTPADDING", (0, 0), (-1, -1), 0),
        ("RIGHTPADDING", (0, 0), (-1, -1), 0),
    ]
    heights: list[float | None] = []
    for k in range(0, len(block.fields), 2):
        pair = block.fields[k : k + 2]
        style += [
            ("LINEBELOW", (2 * j, len(rows)), (2 * j, len(rows)), 0.9, HexColor("#111111")) for j in range(len(pair))
        ]
        rows += [["", "", ""], [_words(pair[0]), "", _words(pair[1]) if len(pair) > 1 else ""]]
        heights += [28.0, None]
    return Table(rows, colWidths=[column, gap, column], rowHeights=heights, style=TableStyle(style), hAlign="LEFT")
