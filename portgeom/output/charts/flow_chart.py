"""How fast does air run along the port, and how large is the valve's opening against lift, with the readings?"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path as FilePath

import numpy as np

from portgeom.geometry.arrays import F64, frozen
from portgeom.job.amounts import SPEEDS_M_S
from portgeom.job.units import area_from_mm2, length_from_mm
from portgeom.output.charts.area_chart import along_frame, station_marks
from portgeom.output.charts.chart_style import STYLE, Style
from portgeom.output.charts.charts import Drawing
from portgeom.output.charts.frame import ROW, Frame, Key, axes, legend, legend_rows
from portgeom.output.charts.sheet import WIDTH, Mark, Sheet, Spot, Stroke, Words, line, place, sheet
from portgeom.output.files.whole_file import refuse_if_there, write_whole
from portgeom.output.words.flow_shown import FlowShown
from portgeom.output.words.names import harmless
from portgeom.questions.flow.valve import opening_mm2
from portgeom.questions.flow.whole import FlowAnswers

CONVENTION = "mean speed over whole sections, manifold face at the left; below, areas against the valve's lift"

DASHES: tuple[tuple[float, ...], ...] = ((), (7.0, 3.0), (2.0, 2.5), (9.0, 2.5, 2.0, 2.5))
"""Of the curves of one port after another, so that none is told by its colour alone."""

LIFT_POINTS = 121
SPEED_TALL, LIFT_TALL = 190.0, 210.0


@dataclass(frozen=True, slots=True)
class SpeedCurve:
    """One stage of a port: its name, the flow in words, speed along it, its stations and readings, in the units shown.

    ``effective`` (r, 2) are lift and effective area of every reading, ``smallest`` the smallest net section before
    the throat.
    """

    name: str
    flow: str
    distance: F64
    speed: F64
    station_distance: F64
    station_speed: F64
    station_names: tuple[str, ...]
    places: tuple[tuple[str, float], ...]
    effective: F64
    smallest: float


@dataclass(frozen=True, slots=True)
class ValveCurve:
    """A valve against lift, in the units shown: (k,) lift, curtain and opening; where regimes meet; the throat."""

    lift: F64
    curtain: F64
    opening: F64
    joins: tuple[float, float]
    throat: float
    quarter: float


@dataclass(frozen=True, slots=True)
class FlowChart:
    """What the chart of flow draws. ``valve`` is None where the job gives none."""

    units: str
    speed_unit: str
    headline: str
    curves: tuple[SpeedCurve, ...]
    valve: ValveCurve | None


def flow_chart(answers: Sequence[FlowAnswers], fs: FlowShown) -> FlowChart:
    """Return the chart of one or more stages of ports; the valve is that of the first."""
    first = answers[0]
    curves = tuple(_curve(a, fs) for a in answers)
    fastest = first.state.along.fastest
    who = f"{curves[0].name}: " if len(curves) > 1 else ""
    return FlowChart(
        units=fs.shown.units,
        speed_unit=fs.speed_unit,
        headline=f"{who}{curves[0].flow}, fastest {fs.speed(fastest.speed_m_s)} at "
        f"{fs.shown.length(fastest.distance_mm)}",
        curves=curves,
        valve=_valve(first, fs),
    )


def _curve(answer: FlowAnswers, fs: FlowShown) -> SpeedCurve:
    state, units = answer.state, fs.shown.units
    along = state.along
    far, fast = length_from_mm(1.0, units), 1.0 / SPEEDS_M_S[fs.speed_unit]
    effective = [
        (length_from_mm(p.reading.lift_mm, units), area_from_mm2(p.effective_mm2, units)) for p in state.points
    ]
    return SpeedCurve(
        name=harmless(f"port {state.port.port.name}, {state.stage.stage.name}"),
        flow=fs.flow(along.basis.mass_kg_s / state.air.density_kg_m3, state.air),
        distance=frozen(along.sections.distance_mm * far),
        speed=frozen(along.speed_m_s * fast),
        station_distance=frozen([s.distance_mm * far for s in along.stations]),
        station_speed=frozen([s.speed_m_s * fast for s in along.stations]),
        station_names=tuple(s.station for s in along.stations),
        places=tuple((p.name, p.at.distance_mm * far) for p in along.places),
        effective=frozen(np.array(effective).reshape(-1, 2)),
        smallest=area_from_mm2(along.sections.before_mm2, units),
    )


def _valve(answer: FlowAnswers, fs: FlowShown) -> ValveCurve | None:
    areas, units = answer.valve, fs.shown.units
    if areas is None:
        return None
    valve = areas.valve
    head = valve.head_diameter_mm
    most = max([0.3 * head, *valve.lifts_mm, *(p.reading.lift_mm for p in answer.state.points)])
    lift = np.linspace(0.0, most, LIFT_POINTS)
    far, wide = length_from_mm(1.0, units), area_from_mm2(1.0, units)
    return ValveCurve(
        lift=frozen(lift * far),
        curtain=frozen(np.pi * head * lift * wide),
        opening=frozen(opening_mm2(valve, lift) * wide),
        joins=(areas.joins.first_mm * far, areas.joins.second_mm * far),
        throat=areas.throat_net_mm2 * wide,
        quarter=0.25 * head * far,
    )


def draw_flow(chart: FlowChart, style: Style = STYLE) -> Sheet:
    """Return the drawing: speed along the port, and below it areas against lift where there is a valve."""
    strokes = _strokes(len(chart.curves), style)
    keys = (
        [Key(f"{c.name}, {c.flow}", s) for c, s in zip(chart.curves, strokes, strict=True)]
        if len(chart.curves) > 1
        else []
    )
    rows = legend_rows(keys, WIDTH - 70.0, style) if keys else []
    frame = _speed_frame(chart, 26.0 + ROW * len(rows))
    marks: list[Mark] = [Words(place(frame.left, 12.0), chart.headline, style.font_size, style.ink, "start", bold=True)]
    marks += legend(rows, frame.left, 21.0, style)
    marks += axes(
        frame,
        f"distance along the path from the manifold face, {chart.units}",
        f"mean speed, {chart.speed_unit}",
        style=style,
    )
    marks += _place_marks(frame, chart.curves[0], style)
    for curve, stroke in zip(chart.curves, strokes, strict=True):
        marks.append(frame.curve(curve.distance, curve.speed, stroke))
        dots = frame.points(np.column_stack([curve.station_distance, curve.station_speed]))
        marks += [Spot(at, "dot", 5.0, stroke.colour, style.paper) for at in dots]
    first = chart.curves[0]
    marks += station_marks(frame, first.station_distance, first.station_names, style)
    bottom = frame.bottom
    if chart.valve is not None:
        below, bottom = _lift_marks(chart, chart.valve, strokes, frame.bottom + 46.0, style)
        marks += below
    ends = float(first.distance[0]), float(first.distance[-1])
    return sheet(WIDTH, bottom + 34.0, marks, frame.upright(*ends))


def _strokes(count: int, style: Style) -> list[Stroke]:
    colours = (style.present, style.wanted, style.past, style.metal)
    return [Stroke(colours[k % len(colours)], style.line_width, DASHES[k % len(DASHES)]) for k in range(count)]


def _speed_frame(chart: FlowChart, top: float) -> Frame:
    low = min(float(c.speed.min()) for c in chart.curves)
    high = max(float(c.speed.max()) for c in chart.curves)
    room = max(high - low, 0.05 * high)
    longest = max((c.distance for c in chart.curves), key=lambda s: float(s[-1]))
    return along_frame(longest, max(0.0, low - 0.3 * room), high + 0.22 * room, top, top + SPEED_TALL)


def _place_marks(frame: Frame, curve: SpeedCurve, style: Style) -> list[Mark]:
    marks: list[Mark] = []
    for name, distance in curve.places:
        x = frame.x(distance)
        marks.append(line(x, frame.top, x, frame.bottom, Stroke(style.faint, 1.0)))
        marks.append(Words(place(x, frame.top + 6.0), name, style.small_size, style.quiet, ground=style.paper))
    return marks


def _lift_marks(
    chart: FlowChart, valve: ValveCurve, strokes: Sequence[Stroke], top: float, style: Style
) -> tuple[list[Mark], float]:
    """Return the marks of the areas against lift, and where they end."""
    curtain, opened = Stroke(style.quiet, 1.2, (6.0, 3.6)), Stroke(style.ink, style.line_width)
    net = Stroke(style.quiet, 1.0, (1.5, 2.5))
    keys = [
        Key("least opening between valve and seat", opened),
        Key("curtain, pi x head x lift", curtain),
        Key("throat less stem", net),
    ]
    if any(len(c.effective) for c in chart.curves):
        keys.append(Key("dots: effective area of the readings"))
    if len(chart.curves) > 1:
        keys.append(Key("level: smallest section before the throat, by port", Stroke(style.present, 1.0)))
    rows = legend_rows(keys, WIDTH - 70.0, style)
    high = 1.18 * max(valve.throat, *(c.smallest for c in chart.curves))
    at = top + ROW * len(rows)
    far = float(valve.lift[-1])
    frame = Frame(60.0, at, WIDTH - 12.0, at + LIFT_TALL, 0.0, 1.02 * far, 0.0, high)
    shown = valve.curtain <= high
    marks: list[Mark] = [*_legend(rows, frame.left, top - 3.0, style)]
    marks += axes(frame, f"valve lift, {chart.units}", f"area, {chart.units}2", style=style)
    marks += _regimes(frame, valve, style)
    marks.append(frame.curve(np.array([0.0, far]), np.full(2, valve.throat), net))
    marks.append(frame.curve(valve.lift[shown], valve.curtain[shown], curtain))
    marks.append(frame.curve(valve.lift, valve.opening, opened))
    for curve, stroke in zip(chart.curves, strokes, strict=True):
        marks.append(
            frame.curve(np.array([0.0, far]), np.full(2, curve.smallest), Stroke(stroke.colour, 1.0, stroke.dashes))
        )
        if len(chart.curves) == 1:
            y = frame.y(curve.smallest) + (8.0 if curve.smallest < valve.throat else -7.0)
            spot, words = place(frame.right - 6.0, y), "smallest section of the port"
            marks.append(Words(spot, words, style.small_size, stroke.colour, "end", ground=style.paper))
        if len(curve.effective):
            dots = frame.points(curve.effective)
            marks.append(
                frame.curve(curve.effective[:, 0], curve.effective[:, 1], Stroke(stroke.colour, 0.8, stroke.dashes))
            )
            marks += [Spot(dot, "dot", 5.5, stroke.colour, style.paper) for dot in dots]
    return marks, frame.bottom


def _legend(rows: Sequence[Sequence[Key]], left: float, top: float, style: Style) -> list[Mark]:
    """Return a legend in which an entry without a line has a dot."""
    marks = legend(
        [[k if k.stroke is not None else Key(k.words, Stroke(style.paper, 0.1)) for k in r] for r in rows],
        left,
        top,
        style,
    )
    words = [m for m in marks if isinstance(m, Words) and m.text.startswith("dots")]
    return marks + [
        Spot(place(float(w.at[0]) - 18.0, float(w.at[1])), "dot", 5.5, style.present, style.paper) for w in words
    ]


def _regimes(frame: Frame, valve: ValveCurve, style: Style) -> list[Mark]:
    first, second = valve.joins
    far = float(valve.lift[-1])
    marks: list[Mark] = []
    for lift in (first, second):
        if lift < far:
            x = frame.x(lift)
            marks.append(line(x, frame.top, x, frame.bottom, Stroke(style.faint, 1.0)))
    spans = ((0.0, first, "over the seat"), (first, second, "between the edges"), (second, far, "throat"))
    for low, high, words in spans:
        if high > low and low < far:
            x = frame.x(0.5 * (low + min(high, far)))
            marks.append(Words(place(x, frame.top + 7.0), words, style.small_size, style.quiet, ground=style.paper))
    if valve.quarter < far:
        x = frame.x(valve.quarter)
        marks.append(line(x, frame.bottom, x, frame.bottom - 22.0, Stroke(style.quiet, style.thin_width)))
        marks.append(Words(place(x, frame.bottom - 28.0), "head / 4", style.small_size, style.quiet))
    return marks


def flow_drawing(answers: Sequence[FlowAnswers], fs: FlowShown) -> Drawing:
    """Return the chart of flow as a drawing for a page or a file."""
    chart = flow_chart(answers, fs)
    names = "; ".join(c.name for c in chart.curves)
    valve = "" if chart.valve is None else " Below, the valve's opening against lift, and the readings."
    return Drawing(
        "flow",
        "Speed along the port",
        CONVENTION if chart.valve is not None else "mean speed over whole sections, manifold face at the left",
        f"Mean speed along {names}: {chart.headline}.{valve}",
        draw_flow(chart),
    )


def write_flow_chart(answers: Sequence[FlowAnswers], fs: FlowShown, path: FilePath, *, force: bool = False) -> None:
    """Write the chart of flow as SVG or PNG, by the name of the file.

    Raises
    ------
    FileExistsError
        If the file is there and ``force`` is not given.
    """
    refuse_if_there(path, force=force)
    drawing = flow_drawing(answers, fs)
    write_whole(path, drawing.file("png" if path.suffix.lower() == ".png" else "svg"), force=force)
