"""What is the depth card to pin up at the bench, on paper: one page a port and groove pass, in large type?"""

from __future__ import annotations

from collections.abc import Sequence

from reportlab.lib.colors import HexColor
from reportlab.platypus import Flowable, KeepInFrame, PageBreak, Table

from portgeom import __version__
from portgeom.job.values import Units
from portgeom.output.paper.card import (
    DEPTHS_HEAD,
    LAST_WORDS,
    LETTERS,
    SIZES_HEAD,
    Card,
    CardPicture,
    card_picture,
    size_rows,
)
from portgeom.output.paper.lettering import BOLD, PLAIN, fitted, printable, width
from portgeom.output.paper.paper import POINTS_PER_MM, Paper
from portgeom.output.paper.printed_document import Styles, printed_document, room_pt, styles, words
from portgeom.output.words.depth_cells import depth_cells
from portgeom.output.words.shown import Shown

INK = HexColor("#111111")
LARGEST = 20.0
"""Size of the depths where there is room."""

PICTURE_MM = 58.0


def card_pdf(title: str, cards: Sequence[Card], units: Units, *, paper: Paper = "a4") -> bytes:
    """Return the depth cards as a PDF, a card a page."""
    look, shown = styles(), Shown(units)
    wide, tall = room_pt(paper)
    flow: list[Flowable] = []
    for card in (c for c in cards if c.marks):
        if flow:
            flow.append(PageBreak())
        # what is more than a page is made smaller as a whole; a card on two pages is half a card at the bench
        flow.append(KeepInFrame(wide, tall - 2.0, _card(title, card, shown, look, wide), mode="shrink"))
    if not flow:
        flow = [words(title, look.title), words("No pass of this job cuts grooves.", look.body)]
    return printed_document(f"Depth cards: {title}", f"Made by portgeom {__version__}. {title}", flow, paper=paper)


def _card(title: str, card: Card, shown: Shown, look: Styles, wide: float) -> list[Flowable]:
    return [
        words(card.name(), look.h2),
        words(title, look.body),
        words(card.how(shown.units), look.body),
        _Picture(card_picture(card, shown), wide),
        _depths(card, shown, wide),
        _sizes(card, shown, wide),
        words(LAST_WORDS, look.body),
    ]


def _depths(card: Card, shown: Shown, wide: float) -> Table:
    rows = card.row_numbers()
    head = [*DEPTHS_HEAD, *(part for r in rows for part in (f"groove {r}", "", ""))]
    under = ["", "", "", *("set", "STOP", "done") * len(rows)]
    data = [head, under]
    for k, mark in enumerate(card.marks, 1):
        cells = [str(k), shown.number(mark.square_mm), shown.number(mark.along_roof_mm)]
        found = {r.row: r for r in mark.rows}
        for r in rows:
            cells += [*depth_cells(found.get(r), shown.units), ""]
        data.append(cells)
    shares = [0.8, 1.6, 1.6, *(share for _ in rows for share in (1.35, 1.0, 1.25))]
    columns = [wide * share / sum(shares) for share in shares]
    size = min(
        _fitting(row[3 + k], columns[3 + k], 0.62 if k % 3 == 1 else 1.0)
        for row in data[2:]
        for k in range(3 * len(rows))
    )
    place = min(_fitting(row[k], columns[k], 1.0) for row in data[2:] for k in range(3))
    looks: list[tuple[object, ...]] = [
        ("SPAN", (3 + 3 * k, 0), (5 + 3 * k, 0)) for k in range(len(rows))
    ]  # fmt: skip
    looks += [("SPAN", (k, 0), (k, 1)) for k in range(3)]
    looks += [("FONT", (3 + 3 * k, 2), (3 + 3 * k, -1), BOLD, size, 1.15 * size) for k in range(len(rows))]
    looks += [("FONT", (4 + 3 * k, 2), (4 + 3 * k, -1), BOLD, 0.62 * size) for k in range(len(rows))]
    table = Table(
        [[_broken(c) for c in row] for row in data],
        colWidths=columns,
        rowHeights=[15.0, 14.0, *[8.5 * POINTS_PER_MM] * len(card.marks)],
    )
    table.setStyle(
        [
            *_grid(1.1),
            ("FONT", (0, 0), (-1, 1), BOLD, 7.5),
            ("FONT", (0, 2), (2, -1), BOLD, min(13.0, place)),
            *looks,
        ]
    )
    table.spaceAfter = 8.0
    return table


def _fitting(cell: str, room: float, share: float) -> float:
    """Return the size of depths, at most the largest, at which a cell written in a share of it fits its column."""
    return min(LARGEST, (room - 5.0) / max(share * width(cell, 1.0, bold=True), 1e-6))


def _broken(cell: str) -> str:
    return cell.replace(" ", "\n", 1) if cell in DEPTHS_HEAD else cell


def _grid(width: float) -> list[tuple[object, ...]]:
    return [
        ("GRID", (0, 0), (-1, -1), width, INK),
        ("ALIGN", (0, 0), (-1, -1), "CENTER"),
        ("VALIGN", (0, 0), (-1, -1), "MIDDLE"),
        ("LEFTPADDING", (0, 0), (-1, -1), 1.5),
        ("RIGHTPADDING", (0, 0), (-1, -1), 1.5),
        ("TOPPADDING", (0, 0), (-1, -1), 0.8),
        ("BOTTOMPADDING", (0, 0), (-1, -1), 0.8),
    ]


def _sizes(card: Card, shown: Shown, wide: float) -> Table:
    data = [list(SIZES_HEAD), *size_rows(card, shown)]
    shares = [0.6, 0.7, 0.9, 1.5, 1.5, 1.0, 1.2]
    table = Table(data, colWidths=[wide * share / sum(shares) for share in shares], repeatRows=1)
    table.setStyle([*_grid(0.5), ("FONT", (0, 0), (-1, 0), BOLD, 7.0), ("FONT", (0, 1), (-1, -1), PLAIN, 7.5)])
    table.spaceAfter = 6.0
    return table


class _Picture(Flowable):  # type: ignore[misc]  # the PDF library has no types
    """The picture of a card, as wide as the page or as tall as it may get."""

    def __init__(self, picture: CardPicture, wide: float) -> None:
        super().__init__()
        self._picture = picture
        across, up = (high - low for low, high in zip(picture.low, picture.high, strict=True))
        self._scale = min(wide / across, PICTURE_MM * POINTS_PER_MM / up)
        self._room, self._tall = wide, up * self._scale

    def wrap(self, wide: float, tall: float) -> tuple[float, float]:
        """Return its size in points."""
        return self._room, self._tall + 6.0

    def draw(self) -> None:
        """Draw it in the middle of its room."""
        picture, canvas = self._picture, self.canv
        across = (picture.high[0] - picture.low[0]) * self._scale
        canvas.translate(0.5 * (self._room - across), 3.0)
        canvas.scale(self._scale, self._scale)
        for line in picture.lines:
            canvas.setStrokeColor(HexColor(line.colour))
            canvas.setLineWidth(line.width)
            canvas.setDash([1.0, 1.0] if line.dashed else [])
            path = canvas.beginPath()
            for k, (x, y) in enumerate(line.points.tolist()):
                (path.moveTo if k == 0 else path.lineTo)(x - picture.low[0], picture.high[1] - y)
            canvas.drawPath(path)
        canvas.setFillColor(INK)
        canvas.setFont(PLAIN, LETTERS)
        for label in picture.labels:
            x, y = label.place[0] - picture.low[0], picture.high[1] - label.place[1]
            shown = fitted(printable(label.words), LETTERS, picture.high[0] - picture.low[0] - 4.0)
            (canvas.drawCentredString if label.middle else canvas.drawString)(x, y, shown)
