"""What does a match look like: the outlines on each other, their holes, and the steps round the clock?"""

from __future__ import annotations

import numpy as np

from portgeom.geometry.arrays import F64
from portgeom.job.units import length_from_mm
from portgeom.job.values import Port
from portgeom.output.charts.chart_style import STYLE, Style
from portgeom.output.charts.frame import Frame, Key, axes, equal_frame, legend, legend_rows, ring_of
from portgeom.output.charts.sheet import WIDTH, Mark, Sheet, Spot, Stroke, Words, place, sheet
from portgeom.output.words.match_doc import fine
from portgeom.output.words.names import short
from portgeom.output.words.shown import Shown
from portgeom.questions.match.laid import Laid
from portgeom.questions.match.match import Match

CONVENTION = "looking in from the manifold face, deck down"

MANIFOLD, GASKET, AGAINST = "#8f3206", "#6b5d00", "#b00020"

MARGIN_MM = 9.0
"""Room round the outlines, where the figures stand."""

FIGURE_AT_MM = 4.5
"""How far outside the port's edge each figure stands."""

RING_STEPS = 72
USUAL_HOLE_MM = 6.0


def draw_match(found: Match, port: Port, shown: Shown, style: Style = STYLE) -> Sheet:
    """Return the drawing of a match, the same scale both ways."""
    scale = length_from_mm(1.0, shown.units)
    parts = [p for p in (found.gasket, found.manifold) if p is not None]
    every = np.concatenate([found.port_mm, found.matched_mm, found.pins_mm, *(p.outline_mm for p in parts)])
    low, high = (every.min(axis=0) - MARGIN_MM) * scale, (every.max(axis=0) + MARGIN_MM) * scale
    frame = equal_frame(low, high, across=WIDTH, tallest=380.0)
    drawn = [
        ("port", found.port_mm, Stroke(style.present, 1.8)),
        *(("gasket", p.outline_mm, Stroke(GASKET, 1.3, (1.6, 1.6))) for p in (found.gasket,) if p is not None),
        *(("manifold", p.outline_mm, Stroke(MANIFOLD, 1.4, (6.0, 2.5))) for p in (found.manifold,) if p is not None),
    ]
    if found.manifold is not None:
        drawn.append(("common line to cut to", found.matched_mm, Stroke(style.wanted, 0.9, (6.0, 1.5, 1.0, 1.5))))
    rings = [ring_of(frame, points * scale, None, stroke) for _, points, stroke in drawn]
    keys = [Key(name, stroke) for name, _, stroke in drawn]
    marks: list[Mark] = [*_pins(frame, found, scale, style), *rings, *_figures(frame, found, scale, shown, style)]
    left, right = short(port.left_wall, 24), short(port.right_wall, 24)
    marks += axes(frame, f"across, {shown.units} ({left} left, {right} right)", f"up, {shown.units}", grid_y=False)
    rows = legend_rows(keys, WIDTH - frame.left)
    marks += legend(rows, frame.left, 6.0)
    whose = "manifold's" if found.manifold is not None else "gasket's"
    words = f"figures: the {whose} step at each hour, {shown.units}"
    if any(s.facing == "faces the flow" for s in found.steps):
        words += "; bold and red: an edge faces the flow"
    foot = frame.bottom + 40.0
    marks.append(Words(place(0.5 * (frame.left + frame.right), foot), words, style.small_size, style.ink))
    return sheet(WIDTH, foot + 10.0, marks)


def _figures(frame: Frame, found: Match, scale: float, shown: Shown, style: Style) -> list[Mark]:
    """Return the steps beside the port's edge, those that face the flow standing out."""
    marks: list[Mark] = []
    for at, out, step in zip(found.places.place_mm, found.places.out, found.steps, strict=True):
        within = step.manifold or step.gasket
        if within is None:
            continue
        against = step.facing == "faces the flow"
        colour = AGAINST if against else style.present
        (spot, figure) = frame.points(np.stack([at, at + FIGURE_AT_MM * out]) * scale)
        marks.append(Spot(spot, "dot", 3.6, colour))
        ink = AGAINST if against else style.ink
        marks.append(
            Words(figure, fine(within.best_mm, shown), style.small_size, ink, bold=against, ground=style.paper)
        )
    return marks


def _pins(frame: Frame, found: Match, scale: float, style: Style) -> list[Mark]:
    """Return bolts or dowels, and round them the holes of the parts where their sizes are known."""
    marks: list[Mark] = []
    for pin, diameter in zip(found.pins_mm, found.pin_diameter_mm, strict=True):
        size = float(diameter) if np.isfinite(diameter) else USUAL_HOLE_MM
        marks.append(ring_of(frame, _circle(pin, size) * scale, style.faint, Stroke(style.quiet, 0.7)))
    for part, colour in ((found.gasket, GASKET), (found.manifold, MANIFOLD)):
        if part is not None:
            marks += _holes(frame, part, scale, colour)
    return marks


def _holes(frame: Frame, part: Laid, scale: float, colour: str) -> list[Mark]:
    marks: list[Mark] = []
    for hole, diameter in zip(part.holes_mm, part.hole_diameter_mm, strict=True):
        if np.isfinite(diameter):
            marks.append(ring_of(frame, _circle(hole, float(diameter)) * scale, None, Stroke(colour, 0.8)))
        else:
            marks.append(Spot(frame.points(hole[None] * scale)[0], "plus", 8.0, colour))
    return marks


def _circle(centre_mm: F64, diameter_mm: float) -> F64:
    angle = np.linspace(0.0, 2.0 * np.pi, RING_STEPS, endpoint=False)
    return centre_mm + 0.5 * diameter_mm * np.column_stack([np.cos(angle), np.sin(angle)])
