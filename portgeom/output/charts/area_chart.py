"""How does the area run from face to throat, against the line it is held to, as it is and once cut?"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from portgeom.geometry.arrays import F64, frozen
from portgeom.job.units import area_from_mm2, length_from_mm
from portgeom.job.values import Units
from portgeom.output.charts.chart_style import STYLE, Style
from portgeom.output.charts.frame import ROW, Frame, Key, axes, legend, legend_rows
from portgeom.output.charts.sheet import (
    WIDTH,
    Mark,
    Region,
    Sheet,
    Spot,
    Stroke,
    Words,
    line,
    lines_of_words,
    name_room,
    place,
    sheet,
    spaced,
)
from portgeom.output.words.names import short
from portgeom.output.words.shown import Shown, percent
from portgeom.questions.shape.profile import Profile
from portgeom.questions.shape.taper import Dip, Taper
from portgeom.questions.uncertainty.sure import Band

AGAINST_WORDS = {
    "straight": "straight from face to throat",
    "schedule": "the schedule",
    "places": "straight between the named places",
}

WORDS_APART = 0.17
"""How far apart words on one level stand at least, as a share of the length."""

BAND_OPACITY = 0.22
"""Of the band in which the area lies by its readings: the curves and their names stay plain on it."""

MOST_WORDS = 3
"""Places named on either side of the curve; all of them are marked and in the table."""


@dataclass(frozen=True, slots=True)
class Told:
    """A place of a curve, what it is in words, how large (percent or degrees), and on which side to say so."""

    distance: float
    area: float
    words: str
    size: float
    below: bool


@dataclass(frozen=True, slots=True)
class AreaChart:
    """What the area chart draws, in the units shown.

    Attributes
    ----------
    distance, area : (m,) float
        The flow area as it is.
    after : (m,) float or None
        The flow area once the metal is off, where there is metal to take off.
    station_distance, station_area : (n,) float
    station_names : tuple of str
    line : (j, 2) float
        Distance and area of the line it is held against.
    line_words : str
    throat : float
        Distance of the throat, where the line ends.
    headline : str
        Whether it is smooth, and its steepest growth, in words.
    marks : tuple of Told
        Necks, bellies and the steepest growth, in words.
    band : (b, 3) float
        Distance, and between which areas the flow area lies at it with 95 percent; no rows where that was not asked.
    """

    units: Units
    distance: F64
    area: F64
    after: F64 | None
    station_distance: F64
    station_area: F64
    station_names: tuple[str, ...]
    line: F64
    line_words: str
    throat: float
    headline: str
    marks: tuple[Told, ...]
    band: F64


def area_chart(
    result: Profile,
    shown: Shown,
    *,
    after_mm2: F64 | None = None,
    cone_limit_deg: float | None = None,
    band: Band | None = None,
) -> AreaChart:
    """Return the chart of a profile.

    Parameters
    ----------
    after_mm2 : (m,) float, optional
        Flow area at the same slabs once the metal is off.
    cone_limit_deg : float, optional
        The steepest growth is marked where it exceeds this.
    band : Band, optional
        Between which areas the flow area lies, as far as the readings go.
    """
    units = shown.units

    def at(distance_mm: F64 | float) -> F64:
        return np.asarray(distance_mm, dtype=np.float64) * length_from_mm(1.0, units)

    def of(area_mm2: F64 | float) -> F64:
        return np.asarray(area_mm2, dtype=np.float64) * area_from_mm2(1.0, units)

    taper = result.taper
    line = np.column_stack([at(taper.line_mm2[:, 0]), of(taper.line_mm2[:, 1])])
    return AreaChart(
        units=units,
        distance=frozen(at(result.distance_mm)),
        area=frozen(of(result.flow_area_mm2)),
        after=None if after_mm2 is None else frozen(of(after_mm2)),
        station_distance=frozen(at(np.array([s.distance_mm for s in result.stations]))),
        station_area=frozen(of(np.array([s.flow_area_mm2 for s in result.stations]))),
        station_names=tuple(s.station for s in result.stations),
        line=frozen(line),
        line_words=AGAINST_WORDS[taper.against],
        throat=float(line[-1, 0]),
        headline=_headline(taper, shown),
        marks=_marks(result, shown, cone_limit_deg),
        band=frozen(
            np.empty((0, 3))
            if band is None
            else np.column_stack([at(band.distance_mm), of(band.low_mm2), of(band.high_mm2)])
        ),
    )


def _headline(taper: Taper, shown: Shown) -> str:
    angle, place = taper.steepest.cone_angle_deg, shown.length(taper.steepest.distance_mm)
    growth = f"steepest growth like a cone of {angle:.1f} degrees, at {place}" if angle > 0.0 else "it grows nowhere"
    return f"As it is: {'smooth' if taper.smooth else 'not smooth'}; {growth}"


def _marks(result: Profile, shown: Shown, cone_limit: float | None) -> tuple[Told, ...]:
    taper, units = result.taper, shown.units

    def mark(distance_mm: float, area_mm2: float, words: str, size: float, *, below: bool) -> Told:
        return Told(length_from_mm(distance_mm, units), area_from_mm2(area_mm2, units), words, size, below)

    def dip(kind: str, d: Dip) -> Told:
        return mark(d.distance_mm, d.area_mm2, _dip_words(kind, d), d.percent, below=kind == "neck")

    marks = [*(dip("neck", d) for d in taper.necks), *(dip("belly", d) for d in taper.bellies)]
    if cone_limit is not None and taper.steepest.cone_angle_deg > cone_limit:
        at = taper.steepest.distance_mm
        area = float(np.interp(at, result.distance_mm, result.flow_area_mm2))
        marks.append(mark(at, area, _growth_words(taper), taper.steepest.cone_angle_deg, below=True))
    return tuple(marks)


def _dip_words(kind: str, dip: Dip) -> str:
    words = f"{kind} {percent(dip.percent)}"
    if dip.planned:
        return f"{words},\nas the line has it"
    return f"{words},\nbetween stations only" if dip.between_stations else words


def _growth_words(taper: Taper) -> str:
    return f"grows like a cone\nof {taper.steepest.cone_angle_deg:.0f} degrees"


def draw_area(chart: AreaChart, style: Style = STYLE) -> Sheet:
    """Return the drawing of an area chart."""
    held, cut, now = _strokes(style)
    keys = [Key(f"held against: {chart.line_words}", held)]
    keys += [] if chart.after is None else [Key("once the metal is off", cut)]
    keys += [Key("as it is, with its stations", now)]
    keys += [Key("95 percent, by the readings", _band_stroke(style))] if len(chart.band) else []
    rows = legend_rows(keys, WIDTH - 70.0, style)
    frame = _frame(chart, 24.0 + ROW * len(rows))
    marks: list[Mark] = [Words(place(frame.left, 12.0), chart.headline, style.font_size, style.ink, "start", bold=True)]
    marks += legend(rows, frame.left, 21.0, style)
    marks += axes(frame, *axis_words(chart.units), style=style)
    marks += throat_mark(frame, chart.throat, style)
    if len(chart.band):
        low, high = (frame.points(chart.band[:, [0, column]]) for column in (1, 2))
        ring = np.concatenate([low, high[::-1]])
        marks.append(Region(ring, style.present, opacity=BAND_OPACITY))
    marks.append(frame.curve(chart.line[:, 0], chart.line[:, 1], held))
    marks += [] if chart.after is None else [frame.curve(chart.distance, chart.after, cut)]
    marks.append(frame.curve(chart.distance, chart.area, now))
    dots = frame.points(np.column_stack([chart.station_distance, chart.station_area]))
    marks += [Spot(at, "dot", 5.5, style.present, style.paper) for at in dots]
    marks += station_marks(frame, chart.station_distance, chart.station_names, style)
    marks += _told(frame, chart, style)
    return sheet(WIDTH, frame.bottom + 34.0, marks, frame.upright(float(chart.distance[0]), float(chart.distance[-1])))


def _strokes(style: Style) -> tuple[Stroke, Stroke, Stroke]:
    """Return how the line held against, the area once cut and the area as it is are drawn."""
    return (
        Stroke(style.quiet, 1.2, (6.0, 3.6)),
        Stroke(style.wanted, 2.0, (2.4, 2.8)),
        Stroke(style.present, style.line_width),
    )


def _band_stroke(style: Style) -> Stroke:
    return Stroke(style.present, 7.0, opacity=BAND_OPACITY)


def axis_words(units: Units) -> tuple[str, str]:
    """Return what the axes of a chart of areas along the path show."""
    return f"distance along the path from the manifold face, {units}", f"flow area, {units}2"


def _frame(chart: AreaChart, top: float) -> Frame:
    curves = [chart.area, chart.line[:, 1], *chart.band.T[1:], *([] if chart.after is None else [chart.after])]
    every = [c for c in curves if len(c)]
    low, high = min(float(a.min()) for a in every), max(float(a.max()) for a in every)
    room = max(high - low, 0.05 * high)
    return along_frame(chart.distance, low - 0.34 * room, high + 0.24 * room, top, top + 225.0)


def along_frame(distance: F64, low: float, high: float, top: float, bottom: float) -> Frame:
    """Return the frame of a chart along the path, with a little room at both ends."""
    first, last = float(distance[0]), float(distance[-1])
    span = last - first
    return Frame(60.0, top, WIDTH - 12.0, bottom, first - 0.02 * span, last + 0.03 * span, low, high)


def throat_mark(frame: Frame, throat: float, style: Style = STYLE) -> list[Mark]:
    """Return the line at the throat and its name."""
    x = frame.x(throat)
    return [
        line(x, frame.top, x, frame.bottom, Stroke(style.faint, 1.0)),
        Words(place(x - 3.0, frame.top + 6.0), "throat", style.small_size, style.quiet, "end"),
    ]


def station_marks(frame: Frame, stations: F64, names: tuple[str, ...], style: Style = STYLE) -> list[Mark]:
    """Return a tick and the name of every station along the foot, names left out where they would crowd."""
    marks: list[Mark] = []
    room = name_room(map(short, names), style.small_size) * (frame.x1 - frame.x0) / frame.wide
    for k in spaced(stations, room):
        x = frame.x(float(stations[k]))
        marks.append(line(x, frame.bottom, x, frame.bottom - 6.0, Stroke(style.quiet, style.thin_width)))
        marks.append(Words(place(x, frame.bottom - 11.0), short(names[k]), style.small_size, style.quiet))
    return marks


def _told(frame: Frame, chart: AreaChart, style: Style) -> list[Mark]:
    """Mark every place, and say what the largest few on either side are, one above the other where close."""
    marks: list[Mark] = []
    span = float(np.ptp(chart.distance))
    for below in (True, False):
        side = [m for m in chart.marks if m.below == below]
        marks += [Spot(place(frame.x(m.distance), frame.y(m.area)), "diamond", 6.5, style.ink) for m in side]
        told: list[Told] = []
        for mark in sorted(side, key=lambda m: -m.size)[:MOST_WORDS]:
            level = sum(abs(mark.distance - other.distance) < WORDS_APART * span for other in told)
            marks += _pin(frame, chart, mark, level, style)
            told.append(mark)
    return marks


def _pin(frame: Frame, chart: AreaChart, mark: Told, level: int, style: Style) -> list[Mark]:
    """Pin words to a place of the curve, clear of every curve near it and of ``level`` words before."""
    reach = 0.09 * float(chart.distance[-1] - chart.distance[0])
    near = np.abs(chart.distance - mark.distance) <= reach
    held = np.interp(chart.distance[near], chart.line[:, 0], chart.line[:, 1])
    curves = [chart.area[near], held, *([] if chart.after is None else [chart.after[near]])]
    if len(chart.band):
        curves += [np.interp(chart.distance[near], chart.band[:, 0], side) for side in chart.band[:, 1:].T]
    end = frame.y(min(float(c.min()) for c in curves) if mark.below else max(float(c.max()) for c in curves))
    away = 16.0 + 17.0 * level
    x, y = frame.x(mark.distance), end + away if mark.below else end - away
    if not frame.top < y < frame.bottom:
        return []
    half = 0.5 * max(len(row) for row in mark.words.split("\n")) * 0.58 * style.small_size
    x = min(max(x, frame.left + half), frame.right - half)
    words = lines_of_words(x, y, mark.words, style.small_size, style.ink, ground=style.paper)
    leader = Stroke(style.quiet, style.thin_width)
    return [line(frame.x(mark.distance), frame.y(mark.area), x, y - 5.0 if mark.below else y + 5.0, leader), *words]
