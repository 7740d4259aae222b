"""What is the depth card to pin up at the bench: one page a port and groove pass, in large type?

Depths are rounded down to what is set by hand, 0.1 mm or five thousandths, so no groove is set too deep.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from portgeom.geometry.arrays import F64
from portgeom.job.units import length_from_mm
from portgeom.job.values import Units
from portgeom.model.lofted import LoftedPort, LoftedStage
from portgeom.output.report.page import page
from portgeom.output.words.markup import EMPTY, Html, element, join, paragraph, text
from portgeom.output.words.shown import Shown
from portgeom.questions.cutting.bench import PassResult
from portgeom.questions.cutting.depth_card import CardMark
from portgeom.questions.cutting.side import side_grid

SET_STEP: dict[Units, float] = {"mm": 0.1, "in": 0.005}
"""What a depth is set to by hand."""

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


@dataclass(frozen=True, slots=True)
class Card:
    """One card: whose it is, the pass, and its marks."""

    port: LoftedPort
    stage: LoftedStage
    result: PassResult
    marks: tuple[CardMark, ...]


def card_page(title: str, cards: Sequence[Card], units: Units) -> str:
    """Return the depth cards as one HTML page that prints a card a sheet; it asks for nothing outside itself."""
    shown = Shown(units)
    with_marks = [c for c in cards if c.marks]
    body = join(_card(title, c, shown) for c in with_marks)
    if not with_marks:
        body = element("section", element("h1", text(title)), paragraph("No pass of this job cuts grooves."))
    return page(f"Depth cards: {title}", CSS, body)


def _card(title: str, card: Card, shown: Shown) -> Html:
    plan = card.result.plan
    name = f"Port {card.port.port.name}, {card.stage.stage.name}: {plan.name}, {plan.side}"
    step = SET_STEP[shown.units]
    return element(
        "section",
        element("h1", text(name)),
        paragraph(title),
        paragraph(
            f"Cutter {plan.cutter.name}. All sizes in {shown.units}. Set depth is below the metal as it was before "
            f"this pass, rounded down to {step:g}. Rows count from the left, looking in, deck down."
        ),
        _picture(card, shown),
        _depths(card, shown),
        _sizes(card, shown),
        paragraph(
            "No depth is set beyond its STOP. Gauge at every mark while cutting; "
            "at STOP a wall behind is at its limit. The readings decide, not "
            "this card."
        ),
    )


def _row_numbers(card: Card) -> list[int]:
    return sorted({r.row for m in card.marks for r in m.rows})


def _depths(card: Card, shown: Shown) -> Html:
    rows = _row_numbers(card)
    top = ["mark", "square from face", "along roof"]
    head = [element("th", text(words), rowspan="2") for words in top]
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
            one = found.get(r)
            # never more than the depth at which a wall behind is at its limit
            depth = "-" if one is None else set_depth(min(one.depth_mm, one.stop_mm), shown.units)
            stop = "-" if one is None or not np.isfinite(one.stop_mm) else set_depth(one.stop_mm, shown.units)
            cells += [
                element("td", text(depth), class_="set"),
                element("td", text(stop), class_="stop"),
                element("td", EMPTY, class_="box"),
            ]
        lines.append(element("tr", *cells))
    return element("table", join(lines))


def _sizes(card: Card, shown: Shown) -> Html:
    """Return where each groove runs, how wide it is, and the sizes that tell depth once the ribs are gone."""
    head = [
        "mark",
        "groove",
        "across",
        "width at the surface",
        "gauge to its bottom",
        "finish size",
        "left to the line",
    ]
    lines = [element("tr", *(element("th", text(words)) for words in head))]
    for k, mark in enumerate(card.marks, 1):
        for r in mark.rows:
            sizes = (r.across_mm, r.width_mm, r.opposite_mm, r.finish_mm, r.left_mm)
            cells = [str(k), str(r.row), *(shown.number(x) for x in sizes)]
            lines.append(element("tr", *(element("td", text(c)) for c in cells)))
    return element("table", join(lines), class_="sizes")


def set_depth(depth_mm: float, units: Units) -> str:
    """Return a depth as it is set by hand: rounded down to 0.1 mm or five thousandths.

    Examples
    --------
    >>> set_depth(3.29, "mm"), set_depth(3.302, "in")
    ('3.2', '0.130')
    """
    step = SET_STEP[units]
    # a depth that is a whole step but for rounding is that step
    steps = np.floor(length_from_mm(depth_mm, units) / step + 1e-6)
    return f"{steps * step:.1f}" if units == "mm" else f"{steps * step:.3f}"


def _picture(card: Card, shown: Shown) -> Html:
    """Return the side seen square on: its edges, grooves and numbered marks; the face at the left."""
    chart, plan = card.result.after.chart, card.result.plan
    last = int(np.searchsorted(chart.distance_mm, max(m.distance_mm for m in card.marks) + 15.0))
    s = chart.distance_mm[:last]
    grid = np.array([0.0, 1.0])
    span = side_grid(list(card.result.after.points_mm[:last]), plan.side, grid).span_mm
    # left looking in is drawn at the top, as one sees it with the face at the left
    sign = -1.0 if plan.side in ("floor", "right") else 1.0
    top, bottom = sign * span[:, 0], sign * span[:, 1]
    low, high = float(min(top.min(), bottom.min())), float(max(top.max(), bottom.max()))
    parts = [_line(s, top, "#111", 0.5), _line(s, bottom, "#111", 0.5)]
    for groove in card.result.grooves:
        runs = groove.runs[:last]
        if runs.any():
            parts.append(_line(s[runs], sign * groove.along_mm[:last][runs], "#b35806", 1.4))
    for k, mark in enumerate(card.marks, 1):
        at = mark.distance_mm
        parts.append(_dashed(at, low, high))
        parts.append(_words(at, high + 4.0, str(k), "middle"))
    left, right = card.port.port.left_wall, card.port.port.right_wall
    names = (left, right) if plan.side in ("roof", "floor") else ("up", "down")
    parts += [_words(1.0, low - 1.5, names[0], "start"), _words(1.0, high + 4.0, names[1], "start")]
    wide = float(s[-1]) + 4.0
    box = f"-2 {low - 5.0:.2f} {wide:.2f} {high - low + 11.0:.2f}"
    label = f"{plan.side} with {len(card.marks)} marks, manifold face at the left"
    return Html(f'<svg viewBox="{box}" role="img" aria-label="{text(label)}">{"".join(parts)}</svg>')


def _line(s: F64, across: F64, colour: str, width: float) -> Html:
    points = " ".join(f"{x:.2f},{y:.2f}" for x, y in zip(s, across, strict=True))
    return Html(f'<polyline points="{points}" fill="none" stroke="{colour}" stroke-width="{width}"/>')


def _dashed(x: float, low: float, high: float) -> Html:
    ends = f'x1="{x:.2f}" x2="{x:.2f}" y1="{low:.2f}" y2="{high:.2f}"'
    return Html(f'<line {ends} stroke="#111" stroke-width="0.3" stroke-dasharray="1 1"/>')


def _words(x: float, y: float, words: str, anchor: str) -> Html:
    return Html(f'<text x="{x:.2f}" y="{y:.2f}" font-size="3.4" text-anchor="{anchor}">{text(words)}</text>')
