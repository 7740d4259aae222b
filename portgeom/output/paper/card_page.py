"""What is the depth card to pin up at the bench, as a page for a browser: one a port and groove pass, in large type?

Depths are rounded down to what is set by hand, 0.1 mm or five thousandths, so no groove is set too deep.
"""

from __future__ import annotations

from collections.abc import Sequence

from portgeom.job.values import Units
from portgeom.output.paper.card import (
    DEPTHS_HEAD,
    LAST_WORDS,
    LETTERS,
    SIZES_HEAD,
    Card,
    CardLabel,
    CardLine,
    card_picture,
    size_rows,
)
from portgeom.output.report.page import page
from portgeom.output.words.depth_cells import depth_cells
from portgeom.output.words.markup import EMPTY, Html, element, join, paragraph, text
from portgeom.output.words.shown import Shown

CSS = """
:root{color-scheme:light}
*{box-sizing:border-box}
body{margin:0;font:16px/1.35 system-ui,"Segoe UI","DejaVu Sans",sans-serif;color:#111;background:#fff}
section{padding:6mm;max-width:210mm;margin:0 auto}
h1{font-size:24px;margin:0;overflow-wrap:anywhere}
p{margin:1.5mm 0}
table{border-collapse:collapse;width:100%;margin-top:4mm;font-variant-numeric:tabular-nums}
th,td{border:1.5px solid #111;padding:1.2mm 1.6mm;text-align:center}
th{font-size:13px;font-weight:600}
td.set{font-size:24px;font-weight:700}
td.mark{font-size:19px;font-weight:600}
td.stop{font-weight:700}
td.box{min-width:16mm;height:8.5mm}
.sizes{margin-top:3mm}.sizes th{font-size:11px}.sizes td{font-size:11px;line-height:1.15;padding:.25mm 1.6mm}
svg{display:block;width:100%;height:auto;max-height:45mm;margin-top:2mm}
@page{margin:10mm}
@media print{section{padding:0;break-after:page}section:last-child{break-after:auto}}
"""


def card_page(title: str, cards: Sequence[Card], units: Units) -> str:
    """Return the depth cards as one HTML page that prints a card a sheet; it asks for nothing outside itself."""
    shown = Shown(units)
    with_marks = [c for c in cards if c.marks]
    body = join(_card(title, c, shown) for c in with_marks)
    if not with_marks:
        body = element("section", element("h1", text(title)), paragraph("No pass of this job cuts grooves."))
    return page(f"Depth cards: {title}", CSS, body)


def _card(title: str, card: Card, shown: Shown) -> Html:
    return element(
        "section",
        element("h1", text(card.name())),
        paragraph(title),
        paragraph(card.how(shown.units)),
        _picture(card, shown),
        _depths(card, shown),
        _sizes(card, shown),
        paragraph(LAST_WORDS),
    )


def _depths(card: Card, shown: Shown) -> Html:
    rows = card.row_numbers()
    head = [element("th", text(words), rowspan="2") for words in DEPTHS_HEAD]
    head += [element("th", text(f"groove {r}"), colspan="3") for r in rows]
    under = [element("th", text(words)) for _ in rows for words in ("set", "STOP", "done")]
    lines = [element("tr", *head), element("tr", *under)]
    for k, mark in enumerate(card.marks, 1):
        cells = [
            element("td", text(str(k)), class_="mark"),
            element("td", text(shown.number(mark.square_mm)), class_="mark"),
            element("td", text(shown.number(mark.along_roof_mm)), class_="mark"),
        ]
        found = {r.row: r for r in mark.rows}
        for r in rows:
            depth, stop = depth_cells(found.get(r), shown.units)
            cells += [
                element("td", text(depth), class_="set"),
                element("td", text(stop), class_="stop"),
                element("td", EMPTY, class_="box"),
            ]
        lines.append(element("tr", *cells))
    return element("table", join(lines))


def _sizes(card: Card, shown: Shown) -> Html:
    lines = [element("tr", *(element("th", text(words)) for words in SIZES_HEAD))]
    lines += [element("tr", *(element("td", text(c)) for c in row)) for row in size_rows(card, shown)]
    return element("table", join(lines), class_="sizes")


def _picture(card: Card, shown: Shown) -> Html:
    """Return the side seen square on as a drawing in the page."""
    made = card_picture(card, shown)
    parts = [_line(line) for line in made.lines] + [_words(label) for label in made.labels]
    (left, top), (right, foot) = made.low, made.high
    box = f"{left:.2f} {top:.2f} {right - left:.2f} {foot - top:.2f}"
    return Html(f'<svg viewBox="{box}" role="img" aria-label="{text(made.words)}">{"".join(parts)}</svg>')


def _line(line: CardLine) -> Html:
    points = " ".join(f"{x:.2f},{y:.2f}" for x, y in line.points)
    dashes = ' stroke-dasharray="1 1"' if line.dashed else ""
    return Html(
        f'<polyline points="{points}" fill="none" stroke="{line.colour}" stroke-width="{line.width:g}"{dashes}/>'
    )


def _words(label: CardLabel) -> Html:
    x, y = label.place
    anchor = "middle" if label.middle else "start"
    return Html(
        f'<text x="{x:.2f}" y="{y:.2f}" font-size="{LETTERS:g}" text-anchor="{anchor}">{text(label.words)}</text>'
    )
