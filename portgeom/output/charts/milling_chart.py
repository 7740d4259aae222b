"""How are shifts by milling told: which way is the head let down, and what is along and across its face?

A drawing of the convention, seen from the side. The lean of the face is the job's own; what is milled is drawn large.
"""

from __future__ import annotations

import math

import numpy as np

from portgeom.geometry.arrays import F64
from portgeom.output.charts.chart_style import STYLE, Style
from portgeom.output.charts.sheet import WIDTH, Anchor, Curve, Mark, Region, Sheet, Stroke, Words, place, sheet
from portgeom.output.words.match_doc import fine
from portgeom.output.words.shown import Shown
from portgeom.questions.match.milling import Shift

CONVENTION = "seen from the side, deck below and level; what is milled is drawn large"

TALL, DEEP = 150.0, 210.0
"""Of the head in the drawing, points."""

DRAWN_DOWN = 34.0
"""How far the head is drawn let down, whatever is milled."""

HEAD = 7.0


def draw_milling(shift: Shift, shown: Shown, *, lean_deg: float, style: Style = STYLE) -> Sheet:
    """Return the drawing of the convention, with what the job's milling comes to in words."""
    p = math.radians(lean_deg)
    foot = place(270.0, 222.0)
    # in the drawing y is down: the face goes up from its foot, leaning over the head where it looks up
    along, out = place(math.sin(p), -math.cos(p)), place(-math.cos(p), -math.sin(p))
    face = np.stack([foot, foot + TALL * along])
    head = np.stack([face[0], face[1], face[1] + place(DEEP - TALL * math.sin(p), 0.0), foot + place(DEEP, 0.0)])
    down = place(0.0, DRAWN_DOWN)
    faint = Stroke(style.quiet, 0.9, (4.0, 2.5))
    marks: list[Mark] = [
        Region(head, style.faint, Stroke(style.present, 1.4)),
        Region(head + down, None, faint),
        *_flange(face, out, style),
    ]
    middle = face[0] + 0.5 * (face[1] - face[0])
    marks += _arrow(head[3] + place(-24.0, 0.0), head[3] + place(-24.0, DRAWN_DOWN), style.ink)
    marks.append(_said(head[3] + place(-18.0, 0.5 * DRAWN_DOWN), "milled off the deck lets the head down", style))
    # the way down, split along the face and square to it
    start = middle + 6.0 * out
    part = float(down @ along) * (-1.0 if shift.shift_mm > 0.0 else 1.0)
    marks += _arrow(start, start + part * along, style.wanted)
    marks.append(_said(start + 42.0 * out, _shift_words(shift, shown), style, anchor="end"))
    marks.append(_said(face[1] + place(14.0, 26.0), f"face leans {lean_deg:g} degrees", style))
    marks.append(_said(face[1] + 48.0 * along + place(10.0, 8.0), "up along the face", style))
    marks += _arrow(face[1] + 12.0 * along, face[1] + 48.0 * along, style.quiet)
    marks.append(_said(head.mean(axis=0) + place(30.0, 10.0), "head", style))
    marks.append(_said(foot + place(DEEP - 60.0, 14.0) + down, "deck", style))
    marks.append(_said(face[1] + 34.0 * out + place(-10.0, 12.0), "manifold", style, anchor="end"))
    return sheet(WIDTH, 292.0, marks)


def _shift_words(shift: Shift, shown: Shown) -> str:
    if not shift.shift_mm:
        return "shift along the face: none"
    way = "down" if shift.shift_mm < 0.0 else "up"
    return f"shift along the face: {fine(abs(shift.shift_mm), shown).lstrip('+')} {shown.units} {way}"


def _flange(face: F64, out: F64, style: Style) -> list[Mark]:
    """Return the manifold's flange before the face."""
    gap, thick = 3.0, 22.0
    ends = np.stack([face[0] + 0.12 * (face[1] - face[0]), face[0] + 0.95 * (face[1] - face[0])])
    near, far = ends + gap * out, ends + (gap + thick) * out
    return [Region(np.concatenate([near, far[::-1]]), "#f3e6df", Stroke("#8f3206", 1.2))]


def _arrow(start: F64, end: F64, colour: str) -> list[Mark]:
    run = end - start
    way = run / max(float(np.hypot(*run)), 1e-9)
    side = place(-float(way[1]), float(way[0]))
    tip = np.stack([end - HEAD * way + 0.45 * HEAD * side, end, end - HEAD * way - 0.45 * HEAD * side])
    return [Curve(np.stack([start, end]), Stroke(colour, 1.4)), Curve(tip, Stroke(colour, 1.4))]


def _said(at: F64, words: str, style: Style, *, anchor: Anchor = "start") -> Words:
    return Words(at, words, style.font_size, style.ink, anchor, ground=style.paper)
