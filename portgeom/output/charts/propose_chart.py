"""What would a proposal change: area as cast and as proposed, metal off each side, and what stops each side where?"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from portgeom.geometry.arrays import F64, frozen
from portgeom.job.units import area_from_mm2, length_from_mm
from portgeom.job.values import Units
from portgeom.output.charts.area_chart import along_frame, axis_words, station_marks, throat_mark
from portgeom.output.charts.chart_style import STYLE, Style
from portgeom.output.charts.frame import ROW, Frame, Key, axes, legend, legend_rows
from portgeom.output.charts.sheet import WIDTH, Mark, Region, Sheet, Spot, Stroke, Words, box, place, sheet
from portgeom.output.words.names import short
from portgeom.output.words.propose_doc import kind_words, kink_words, short_kind
from portgeom.output.words.shown import Shown
from portgeom.questions.propose.binding import AS_CAST, NO_MORE
from portgeom.questions.propose.propose import PortProposal
from portgeom.questions.propose.rows import MATCH, VOLUMES, WALL
from portgeom.questions.propose.runs import SIDES
from portgeom.questions.propose.tradeoff import TradeOff

CONVENTION = "manifold face at the left; below, what keeps each side from going deeper"
TRADE_CONVENTION = "each point a whole proposal: more area to the top, more metal to the right"

SIDE_LINES = {
    "roof": ("#2f4b6e", ()),
    "left": ("#00796b", (6.0, 3.0)),
    "right": ("#b5541c", (2.2, 2.2)),
    "floor": ("#68717a", (7.0, 2.0, 1.5, 2.0)),
}
"""Colour and dashes of each side's line."""

STOPS = {"wall": "#b5541c", "match": "#8fb3d9", "yours": "#e8bd5a", "none": "#e4e7ea"}
"""Colours of what stops a side: a wall, the pair's match, a limit of the person's own, nothing."""

STOP_WORDS = {"wall": "a wall", "match": "the pair's match", "yours": "your own limit", "none": "no more is asked"}


@dataclass(frozen=True, slots=True)
class Stop:
    """One side's stop over a stretch: from, to, a key of STOPS, and its words."""

    side: str
    start: float
    end: float
    colour: str
    words: str


@dataclass(frozen=True, slots=True)
class ProposeChart:
    """What the chart of one port's proposal draws, in the units shown.

    Attributes
    ----------
    distance, present, proposed : (m,) float
    least, most : (m,) float
        Between which the area is asked to be; NaN where nothing is asked.
    sides : tuple of str
        Those that are cut, with ``depth`` (k, 2, ...) rows of distance and depth for each.
    stops : tuple of Stop
    """

    units: Units
    distance: F64
    present: F64
    proposed: F64
    least: F64
    most: F64
    sides: tuple[str, ...]
    depth: tuple[F64, ...]
    stops: tuple[Stop, ...]
    station_distance: F64
    station_names: tuple[str, ...]
    throat: float


def propose_chart(one: PortProposal, shown: Shown) -> ProposeChart:
    """Return the chart of one port's proposal."""
    scale, per = length_from_mm(1.0, shown.units), area_from_mm2(1.0, shown.units)
    chart, coarse = one.port.chart, one.model.port.chart.distance_mm
    demand = one.model.demand
    asked = demand.least_mm2 > 0.0
    bounds = [np.where(asked & np.isfinite(b), b, np.nan) for b in (demand.least_mm2, demand.most_mm2)]
    least, most = (np.interp(chart.distance_mm, coarse, b) for b in bounds)
    sides = tuple(s for s in SIDES if any(x.side == s and x.by != AS_CAST for x in one.limits))
    rows = [np.array([[x.distance_mm, x.depth_mm] for x in one.limits if x.side == s]) * scale for s in sides]
    stations = one.stage.stage.sections.rows
    return ProposeChart(
        units=shown.units,
        distance=frozen(chart.distance_mm * scale),
        present=frozen(one.stage.surface.flow_area_mm2 * per),
        proposed=frozen(one.removal.after.flow_area_mm2 * per),
        least=frozen(least * per),
        most=frozen(most * per),
        sides=sides,
        depth=tuple(frozen(r) for r in rows),
        stops=tuple(stop for s in sides for stop in _stops(one, s, scale)),
        station_distance=frozen(one.stage.distance_mm * scale),
        station_names=tuple(r.station for r in stations),
        throat=one.port.throat_mm * scale,
    )


def _stops(one: PortProposal, side: str, scale: float) -> list[Stop]:
    """Return the stretches of one side, each point's stop half way to its neighbours, like ones joined."""
    mine = [x for x in one.limits if x.side == side]
    at = np.array([x.distance_mm for x in mine])
    ends = np.concatenate([at[:1], 0.5 * (at[:-1] + at[1:]), at[-1:]]) * scale
    made: list[Stop] = []
    for k, limit in enumerate(mine):
        by = NO_MORE if limit.by == AS_CAST else limit.by
        colour = _colour(by)
        words = "" if by == NO_MORE else short_kind(by)
        if made and made[-1].words == words and made[-1].colour == colour:
            made[-1] = Stop(side, made[-1].start, float(ends[k + 1]), colour, words)
        else:
            made.append(Stop(side, float(ends[k]), float(ends[k + 1]), colour, words))
    return made


def _colour(by: str) -> str:
    if by == NO_MORE:
        return "none"
    if by.startswith(WALL):
        return "wall"
    return "match" if by in (MATCH, VOLUMES) else "yours"


def draw_proposal(chart: ProposeChart, style: Style = STYLE) -> Sheet:
    """Return the drawing of a proposal for one port."""
    now, then = Stroke(style.present, style.line_width), Stroke(style.wanted, 2.0, (2.4, 2.8))
    keys = [Key("as cast", now), Key("as proposed", then), Key("asked for", fill="#dcefe9")]
    rows = legend_rows(keys, WIDTH - 70.0, style)
    frame = _area_frame(chart, 10.0 + ROW * len(rows))
    marks: list[Mark] = legend(rows, frame.left, 5.0, style)
    marks += _asked(frame, chart)
    marks += axes(frame, "", axis_words(chart.units)[1], style=style)
    marks += throat_mark(frame, chart.throat, style)
    marks.append(frame.curve(chart.distance, chart.present, now))
    marks.append(frame.curve(chart.distance, chart.proposed, then))
    deep = _depth_frame(chart, frame.bottom + 52.0)
    names = {s: Stroke(SIDE_LINES[s][0], 1.6, SIDE_LINES[s][1]) for s in chart.sides}
    marks += legend([[Key(f"off the {s}", names[s]) for s in chart.sides]], deep.left, frame.bottom + 30.0, style)
    marks += axes(deep, "", f"depth, {chart.units}", style=style)
    marks.append(
        Words(place(deep.left + 4.0, deep.bottom - 6.0), _below_words(chart), style.small_size, style.quiet, "start")
    )
    for side, rows_ in zip(chart.sides, chart.depth, strict=True):
        marks.append(deep.curve(rows_[:, 0], rows_[:, 1], names[side]))
        marks += [Spot(place(deep.x(float(s)), deep.y(float(d))), "dot", 3.6, SIDE_LINES[side][0]) for s, d in rows_]
    foot = deep.bottom + 34.0
    for side in chart.sides:
        marks += _strip(deep, chart, side, foot, style)
        foot += 21.0
    told = [Key(STOP_WORDS[k], fill=STOPS[k]) for k in STOPS if any(s.colour == k for s in chart.stops)]
    marks += legend([told], deep.left, foot, style)
    last = Frame(deep.left, deep.bottom, deep.right, foot + 26.0, deep.x0, deep.x1, 0.0, 1.0)
    marks.append(
        Words(
            place(0.5 * (deep.left + deep.right), foot + 26.0), axis_words(chart.units)[0], style.font_size, style.ink
        )
    )
    marks += station_marks(frame, chart.station_distance, chart.station_names, style)
    first, end = float(chart.distance[0]), float(chart.distance[-1])
    cursor = np.array([[s, frame.x(s), frame.top, frame.x(s), foot] for s in (first, end)])
    return sheet(WIDTH, last.bottom + 14.0, marks, cursor)


def _below_words(chart: ProposeChart) -> str:
    return "below 0: so much of a boss is left" if any((d[:, 1] < 0.0).any() for d in chart.depth) else ""


def _area_frame(chart: ProposeChart, top: float) -> Frame:
    every = np.concatenate([chart.present, chart.proposed, chart.least[np.isfinite(chart.least)]])
    low, high = float(every.min()), float(every.max())
    room = max(high - low, 0.05 * high)
    return along_frame(chart.distance, low - 0.16 * room, high + 0.08 * room, top, top + 190.0)


def _asked(frame: Frame, chart: ProposeChart) -> list[Mark]:
    """Return the band in which the area is asked to be; its upper side open where nothing is too much."""
    known = np.isfinite(chart.least)
    if not known.any():
        return []
    s, low = chart.distance[known], np.clip(chart.least[known], frame.y0, frame.y1)
    high = np.clip(np.where(np.isfinite(chart.most[known]), chart.most[known], frame.y1), frame.y0, frame.y1)
    ring = np.column_stack([np.concatenate([s, s[::-1]]), np.concatenate([low, high[::-1]])])
    return [Region(frame.points(ring), "#dcefe9")]


def _depth_frame(chart: ProposeChart, top: float) -> Frame:
    every = np.concatenate([d[:, 1] for d in chart.depth])
    low, high = min(0.0, float(every.min())), max(float(every.max()), length_from_mm(0.5, chart.units))
    room = high - low
    return along_frame(chart.distance, low - (0.12 * room if low < 0.0 else 0.0), high + 0.08 * room, top, top + 130.0)


def _strip(frame: Frame, chart: ProposeChart, side: str, top: float, style: Style) -> list[Mark]:
    """Return one side's row of what stops it, each stretch with its words where they fit."""
    marks: list[Mark] = [Words(place(frame.left - 5.0, top + 8.0), side, style.small_size, style.ink, "end")]
    for stop in (s for s in chart.stops if s.side == side):
        left, right = frame.x(stop.start), frame.x(stop.end)
        marks.append(box(left, top, right, top + 16.0, STOPS[stop.colour], Stroke(style.paper, 0.8)))
        words = Words(place(0.5 * (left + right), top + 8.0), short(stop.words, 40), style.small_size, style.ink)
        if stop.words and words.width < right - left - 4.0:
            light = style.paper if stop.colour == "wall" else style.ink
            marks.append(Words(words.at, words.text, words.size, light))
    return marks


def draw_trade_off(trade: TradeOff, shown: Shown, style: Style = STYLE) -> Sheet:
    """Return the drawing of smallest area against metal removed, its kinks numbered and told below."""
    per = area_from_mm2(1.0, shown.units)
    cc = np.array([p.removed_mm3 for p in trade.points]) / 1000.0
    area = np.array([p.smallest_mm2 for p in trade.points]) * per
    over = np.array([p.least_over_mm for p in trade.points])
    room = max(float(np.ptp(area)), 0.01 * float(area.max()))
    wide = max(float(np.ptp(cc)), 0.1)
    half = WIDTH - 230.0 if np.isfinite(over).all() else WIDTH - 12.0
    x0, x1 = float(cc.min()) - 0.06 * wide, float(cc.max()) + 0.08 * wide
    y0, y1 = float(area.min()) - 0.12 * room, float(area.max()) + 0.12 * room
    frame = Frame(70.0, 12.0, half, 232.0, x0, x1, y0, y1)
    curve = Stroke(style.wanted, 1.8)
    marks: list[Mark] = axes(frame, "metal to take off, cc", f"smallest flow area, {shown.units}2", style=style)
    marks.append(frame.curve(cc, area, curve))
    if np.isfinite(over).all():
        marks += _over_panel(Frame(half + 30.0, 12.0, WIDTH - 12.0, 232.0, 0.0, 1.0, y0, y1), over, area, shown, style)
    numbers: dict[int, int] = {}
    lines: list[str] = []
    for kink in trade.kinks:
        numbers.setdefault(kink.point, len(numbers) + 1)
        lines.append(f"{numbers[kink.point]}  {kink_words(kink, shown)}")
    for k in range(len(cc)):
        asked = k == trade.asked
        at = place(frame.x(float(cc[k])), frame.y(float(area[k])))
        marks.append(
            Spot(at, "diamond" if asked else "dot", 9.0 if asked else 5.0, style.ink if asked else style.wanted)
        )
        if k in numbers:
            marks.append(Words(at + (-9.0, -9.0), str(numbers[k]), style.font_size, style.ink, bold=True))
        if asked:
            marks.append(Words(at + (10.0, 9.0), "asked for", style.small_size, style.ink, "start"))
    ends = ", ".join(kind_words(kind) for kind in trade.ends)
    lines += [f"No further: at their limits are {ends}."] if ends else []
    top = 276.0
    for line_ in lines:
        marks.append(Words(place(frame.left, top), short(line_, 110), style.small_size, style.ink, "start"))
        top += ROW
    return sheet(WIDTH, top + 4.0, marks)


def _over_panel(frame: Frame, over_mm: F64, area: F64, shown: Shown, style: Style) -> list[Mark]:
    """Return smallest area against the least wall over its limit, on the same heights."""
    over = over_mm * length_from_mm(1.0, shown.units)
    most = max(float(over.max()) * 1.15, length_from_mm(0.2, shown.units))
    own = Frame(frame.left, frame.top, frame.right, frame.bottom, min(0.0, float(over.min())), most, frame.y0, frame.y1)
    marks: list[Mark] = axes(own, f"least wall over its limit, {shown.units}", "", upright=False, style=style)
    marks.append(own.curve(over, area, Stroke("#b5541c", 1.4, (2.2, 2.2))))
    marks += [
        Spot(place(own.x(float(o)), own.y(float(a))), "dot", 5.0, "#b5541c") for o, a in zip(over, area, strict=True)
    ]
    return marks
