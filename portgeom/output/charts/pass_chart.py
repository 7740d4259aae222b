"""What does each pass do to the area: where does it open the port, and how far is that from what is wanted?

Every pass is a band between the area before it and the area after it, laid one on the other from the port as
it is to the port wanted.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from portgeom.geometry.arrays import F64, frozen
from portgeom.job.units import area_from_mm2, length_from_mm
from portgeom.job.values import Units
from portgeom.output.charts.area_chart import along_frame, axis_words, station_marks, throat_mark
from portgeom.output.charts.chart_style import STYLE, Style
from portgeom.output.charts.frame import ROW, Frame, Key, axes, legend, legend_rows
from portgeom.output.charts.sheet import WIDTH, Mark, Region, Sheet, Stroke, Words, place, sheet
from portgeom.output.words.names import short
from portgeom.output.words.shown import Shown
from portgeom.questions.whole import Answers
from portgeom.questions.whole_cutting import Cutting

CONVENTION = "square to the flow, manifold face at the left; each pass a band from the area before it to the area after"

BANDS = ("#fbeccb", "#f5d699", "#ecbc69", "#dc9e42", "#c27f2a", "#a4621d")
"""From the first pass to the last: each darker than the one before, and again from the start after six."""

MOST_POINTS = 160
"""Places along the port that a band is drawn from."""

TELLING = 0.035
"""A band is numbered where it is at least this share of the chart's height."""


@dataclass(frozen=True, slots=True)
class PassChart:
    """What the chart of areas after each pass draws, in the units shown.

    Attributes
    ----------
    distance : (m,) float
    present, wanted : (m,) float
        Flow area as it is, and once all the metal is off.
    after : (k, m) float
        Flow area after each pass, in order.
    names : tuple of str
        Of the passes.
    station_distance : (n,) float
    station_names : tuple of str
    throat : float
    """

    units: Units
    distance: F64
    present: F64
    wanted: F64
    after: F64
    names: tuple[str, ...]
    station_distance: F64
    station_names: tuple[str, ...]
    throat: float


def pass_chart(answer: Answers, cutting: Cutting, shown: Shown) -> PassChart:
    """Return the chart of one stage of a port and the passes planned on it."""
    scale, per = length_from_mm(1.0, shown.units), area_from_mm2(1.0, shown.units)
    surface, stations = answer.stage.surface, answer.profile.stations
    return PassChart(
        units=shown.units,
        distance=frozen(answer.port.chart.distance_mm * scale),
        present=frozen(surface.flow_area_mm2 * per),
        wanted=frozen(answer.removal.after.flow_area_mm2 * per),
        after=frozen(np.array([r.after.flow_area_mm2 for r in cutting.results]) * per),
        names=tuple(r.plan.name for r in cutting.results),
        station_distance=frozen(np.array([s.distance_mm for s in stations]) * scale),
        station_names=tuple(s.station for s in stations),
        throat=answer.port.throat_mm * scale,
    )


def draw_passes(chart: PassChart, style: Style = STYLE) -> Sheet:
    """Return the drawing of areas after each pass."""
    now, wanted = Stroke(style.present, style.line_width), Stroke(style.wanted, 2.0, (2.4, 2.8))
    bands = [Key(f"{k + 1} {_name(chart, k)}", fill=BANDS[k % len(BANDS)]) for k in range(len(chart.names))]
    rows = legend_rows([Key("as it is", now), *bands, Key("wanted", wanted)], WIDTH - 70.0, style)
    frame = _frame(chart, 10.0 + ROW * len(rows))
    marks: list[Mark] = legend(rows, frame.left, 5.0, style)
    marks += axes(frame, *axis_words(chart.units), style=style)
    marks += throat_mark(frame, chart.throat, style)
    before = chart.present
    few = np.unique(np.linspace(0, len(chart.distance) - 1, min(MOST_POINTS, len(chart.distance))).astype(int))
    s = chart.distance[few]
    for k, after in enumerate(chart.after):
        top = np.maximum(before, after)[few]
        ring = np.column_stack([np.concatenate([s, s[::-1]]), np.concatenate([before[few], top[::-1]])])
        marks.append(Region(frame.points(ring), BANDS[k % len(BANDS)]))
        marks.append(frame.curve(s, after[few], Stroke(style.ink, 0.5)))
        marks += _number(frame, chart, k, before, top_of=np.maximum(before, after), style=style)
        before = after
    marks.append(frame.curve(chart.distance, chart.present, now))
    marks.append(frame.curve(chart.distance, chart.wanted, wanted))
    marks += station_marks(frame, chart.station_distance, chart.station_names, style)
    return sheet(WIDTH, frame.bottom + 34.0, marks, frame.upright(float(chart.distance[0]), float(chart.distance[-1])))


def _name(chart: PassChart, k: int) -> str:
    return short(chart.names[k], 26)


def _frame(chart: PassChart, top: float) -> Frame:
    every = np.concatenate([chart.present[None], chart.wanted[None], chart.after])
    low, high = float(every.min()), float(every.max())
    room = max(high - low, 0.05 * high)
    return along_frame(chart.distance, low - 0.14 * room, high + 0.08 * room, top, top + 250.0)


def _number(frame: Frame, chart: PassChart, k: int, before: F64, *, top_of: F64, style: Style) -> list[Mark]:
    """Write a band's number where it is widest, if it is wide enough there."""
    j = int(np.argmax(top_of - before))
    if top_of[j] - before[j] < TELLING * (frame.y1 - frame.y0):
        return []
    at = place(frame.x(float(chart.distance[j])), frame.y(0.5 * float(before[j] + top_of[j])))
    return [Words(at, str(k + 1), style.small_size, style.ink if k % len(BANDS) < 4 else style.paper, bold=True)]
