"""What does the port look like from the side, in the head's own coordinates?"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from portgeom.geometry.arrays import F64, Bool, frozen
from portgeom.job.units import length_from_mm
from portgeom.job.values import Units
from portgeom.output.charts.chart_style import STYLE, Style
from portgeom.output.charts.frame import ROW, Frame, Key, axes, equal_frame, legend, legend_rows, ring_of
from portgeom.output.charts.sheet import WIDTH, Curve, Mark, Sheet, Spot, Stroke, Words, name_room, sheet, spaced
from portgeom.output.words.names import short
from portgeom.output.words.shown import Shown
from portgeom.questions.shape.roof import Roof
from portgeom.questions.shape.side_view import side_view
from portgeom.questions.whole import Answers

CONVENTION = "seen from the port's right side, manifold face at the left, deck down"
"""With x to the right, y in and z up, whoever sees the face at the left looks along -x."""

SEEN_MM = 0.05
"""Less than this prints as 0.0 mm and is not shaded."""

CURSOR_ROWS = 80
"""Places along the port that the cursor's line is told at."""

CURSOR_OVER = 6.0
"""How far the cursor's line goes past the walls, in points."""


UNDER = (11.0, 18.0, 26.0, 36.0, 48.0)
"""How far under the roof's end its words may stand, in points."""


@dataclass(frozen=True, slots=True)
class Slice:
    """The roof along one column: the metal as it is and as wanted, (k, 2) each, and where the column is."""

    roof: F64
    wanted: F64
    words: str


@dataclass(frozen=True, slots=True)
class SideChart:
    """What the side view draws, as (y, z) in the head frame and the units shown.

    Attributes
    ----------
    path, roof, floor, wanted : (m, 2) float
    hanging : Slice or None
        Through the largest bulge, where there is one.
    planes : (n, 2, 2) float
        Floor and roof end of every station's plane.
    distance : (m,) float
        Along the path, of each of the points above.
    station_names : tuple of str
    roof_end : (2,) float
        Where the roof ends along the port.
    guessed : bool
        Whether the line wanted was made by bridging.
    """

    units: Units
    path: F64
    roof: F64
    floor: F64
    wanted: F64
    hanging: Slice | None
    planes: F64
    distance: F64
    station_names: tuple[str, ...]
    roof_end: F64
    guessed: bool


def side_chart(answer: Answers, shown: Shown) -> SideChart:
    """Return the side view of one stage of a port."""
    scale = length_from_mm(1.0, shown.units)
    view = side_view(answer.port, answer.stage, answer.wanted)
    last = answer.wanted.roof_end.slab
    return SideChart(
        units=shown.units,
        path=frozen(view.path_mm * scale),
        roof=frozen(view.roof_mm * scale),
        floor=frozen(view.floor_mm * scale),
        wanted=frozen(view.line_mm * scale),
        hanging=_slice(answer, shown, scale),
        planes=frozen(view.planes_mm * scale),
        distance=frozen(answer.port.chart.distance_mm * scale),
        station_names=tuple(r.station for r in answer.stage.stage.sections.rows),
        roof_end=frozen(view.roof_mm[last] * scale),
        guessed=answer.roof.line_from == "bridge",
    )


def _slice(answer: Answers, shown: Shown, scale: float) -> Slice | None:
    """Return the roof along the column through the peak of the largest bulge."""
    result: Roof = answer.roof
    if not result.bulges:
        return None
    across = result.bulges[0].peak.across_mm
    column = int(np.argmin(np.abs(result.map.across_mm - across)))
    proud = result.map.proud_mm[:, column]
    rows = np.flatnonzero(np.isfinite(proud))
    place = result.map.across_mm[column : column + 1]
    wanted = np.array([answer.wanted.edges[j].height_mm(place)[0] for j in rows])
    planes = answer.port.chart.planes
    origin, up = planes.origin_mm[rows], planes.up[rows]
    side = across * planes.right[rows]

    def at(height: F64) -> F64:
        return frozen((origin + side + height[:, None] * up)[:, 1:] * scale)

    return Slice(at(wanted - proud[rows]), at(wanted), f"roof through bulge 1 ({shown.across(across)})")


def draw_side(chart: SideChart, style: Style = STYLE) -> Sheet:
    """Return the drawing of a side view, the same scale both ways."""
    every = np.concatenate([chart.roof, chart.floor, chart.wanted])
    low, high = every.min(axis=0), every.max(axis=0)
    margin = 0.09 * float((high - low).max())
    metal = _metal(chart, chart.roof, chart.wanted)
    inner = [] if chart.hanging is None else _metal(chart, chart.hanging.roof, chart.hanging.wanted)
    rows = legend_rows(_keys(chart, {kind for kind, _ in (*inner, *metal)}, style), WIDTH - 70.0, style)
    head = 8.0 + ROW * len(rows)
    frame = equal_frame(low - margin, high + margin, across=WIDTH, tallest=400.0, head=head)
    marks: list[Mark] = legend(rows, 56.0, 4.0, style)
    marks.append(ring_of(frame, np.concatenate([chart.roof, chart.floor[::-1]]), style.neutral))
    words = f"into the head (y), {chart.units}", f"up from the deck (z), {chart.units}"
    marks += axes(frame, *words, grid_x=True, style=style)
    for kind, ring in (*inner, *metal):
        marks.append(ring_of(frame, ring, style.metal if kind == "over" else style.past))
    marks += _stations(frame, chart, margin, style)
    now, hung, path, wanted = _strokes(style)
    if chart.hanging is not None:
        marks.append(Curve(frame.points(chart.hanging.roof), hung))
    marks += [Curve(frame.points(side), now) for side in (chart.roof, chart.floor)]
    marks += [Curve(frame.points(chart.path), path), Curve(frame.points(chart.wanted), wanted)]
    (end,) = frame.points(chart.roof_end[None])
    marks.append(Spot(end, "tick", 9.0, style.ink))
    curves = [chart.roof, chart.wanted] if chart.hanging is None else [chart.roof, chart.wanted, chart.hanging.roof]
    marks.append(_roof_ends(end, frame.points(np.concatenate(curves)), style))
    return sheet(WIDTH, frame.bottom + 34.0, marks, _cursor(frame, chart))


def _roof_ends(end: F64, drawn: F64, style: Style) -> Words:
    """Return the words at the roof's end, as little under it as keeps them clear of what is ``drawn``."""
    tries = [Words(end + (-6.0, down), "roof ends", style.small_size, style.quiet, "end") for down in UNDER]
    return next((words for words in tries if not words.covers(drawn)), tries[-1])


def _strokes(style: Style) -> tuple[Stroke, Stroke, Stroke, Stroke]:
    """Return how crown and floor, the roof through a bulge, the path and the line wanted are drawn."""
    return (
        Stroke(style.present, style.line_width),
        Stroke(style.present, style.line_width, (6.4, 2.4)),
        Stroke(style.quiet, 0.9, (7.2, 1.8, 0.9, 1.8)),
        Stroke(style.wanted, 2.0, (2.4, 2.8)),
    )


def _keys(chart: SideChart, kinds: set[str], style: Style) -> list[Key]:
    now, hung, path, wanted = _strokes(style)
    return [
        *([] if chart.hanging is None else [Key(chart.hanging.words, hung)]),
        *([Key("metal to take off", fill=style.metal)] if "over" in kinds else []),
        *([Key("already past the line", fill=style.past)] if "past" in kinds else []),
        Key("crown and floor", now),
        Key("path", path),
        Key("roof line wanted (a guess by bridging)" if chart.guessed else "roof line wanted", wanted),
    ]


def _cursor(frame: Frame, chart: SideChart) -> F64:
    """Return where each distance is, from floor to roof."""
    few = np.unique(np.linspace(0, len(chart.distance) - 1, min(CURSOR_ROWS, len(chart.distance))).astype(int))
    floor, roof = frame.points(chart.floor[few]), frame.points(chart.roof[few])
    away = CURSOR_OVER * (roof - floor) / np.linalg.norm(roof - floor, axis=1, keepdims=True)
    return np.column_stack([chart.distance[few], floor - away, roof + away])


def _stations(frame: Frame, chart: SideChart, margin: float, style: Style) -> list[Mark]:
    floor, roof = chart.planes[:, 0], chart.planes[:, 1]
    away = (roof - floor) / np.linalg.norm(roof - floor, axis=1, keepdims=True)
    names = frame.points(roof + 0.42 * margin * away)
    bottoms, tops = frame.points(floor), frame.points(roof)
    thin = Stroke(style.quiet, style.thin_width)
    marks: list[Mark] = [Curve(np.stack(ends), thin) for ends in zip(bottoms, tops, strict=True)]
    told = [short(name) for name in chart.station_names]
    shown = spaced(names, max(0.3 * margin * frame.wide / (frame.x1 - frame.x0), name_room(told, style.small_size)))
    return marks + [Words(names[k], told[k], style.small_size, style.ink) for k in shown]


def _metal(chart: SideChart, roof: F64, wanted: F64) -> list[tuple[str, F64]]:
    """Return the rings between roof and line: "over" is metal to take off, "past" where the roof is past the line."""
    rise = wanted - roof
    outward = np.einsum("ij,ij->i", rise, roof - chart.floor.mean(axis=0))
    seen = np.linalg.norm(rise, axis=1) >= length_from_mm(SEEN_MM, chart.units)
    return [
        (kind, np.concatenate([roof[run], wanted[run][::-1]]))
        for kind, over in (("over", seen & (outward > 0.0)), ("past", seen & (outward < 0.0)))
        for run in _runs(over)
    ]


def _runs(inside: Bool) -> list[slice]:
    """Return the stretches where something holds, each with the places beside it."""
    edge = np.flatnonzero(np.diff(np.concatenate([[False], inside, [False]]).astype(int)))
    return [slice(max(0, a - 1), b + 1) for a, b in edge.reshape(-1, 2)]
