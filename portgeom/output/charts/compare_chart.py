"""How do the areas of several ports run side by side, and by how much do they differ along the path?

Above every port's area against distance; below the difference, of two from each other, of more from the median of
them all. The grey band is what the readings of two ports may make them differ by.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from portgeom.geometry.arrays import F64, frozen
from portgeom.job.units import area_from_mm2, length_from_mm
from portgeom.job.values import Units
from portgeom.output.charts.area_chart import axis_words
from portgeom.output.charts.chart_style import STYLE, Style
from portgeom.output.charts.charts import Drawing
from portgeom.output.charts.frame import ROW, Frame, Key, axes, legend, legend_rows
from portgeom.output.charts.sheet import WIDTH, Mark, Region, Sheet, Stroke, Words, line, place, sheet
from portgeom.output.words.compare_doc import called
from portgeom.output.words.names import short
from portgeom.output.words.shown import Shown
from portgeom.questions.compare.compare import Comparison

CONVENTION = "square to the flow, manifold face at the left; the same distance along each path"

FEW = 4
"""So many curves have a colour and a dash of their own; of more, only the odd one out and the median have."""

COLOURS = ("#2f4b6e", "#c2571a", "#00796b", "#8a4f9e")
DASHES: tuple[tuple[float, ...], ...] = ((), (7.0, 2.5), (2.4, 2.4), (8.0, 2.0, 2.0, 2.0))

UPPER, LOWER, BETWEEN = 210.0, 130.0, 46.0
"""Heights of the two drawings and the gap between them, in points."""


@dataclass(frozen=True, slots=True)
class CompareChart:
    """What the chart of a comparison draws, in the units shown.

    Attributes
    ----------
    distance : (k,) float
        As far as the shortest path runs.
    area : (n, k) float
        Of every port.
    names : tuple of str
    difference : (j, k) float
        Of two, one curve: the first less the second. Of more siblings, each less the median of all; of stages, each
        less the first.
    low, high : (k,) float
        Of two, the 95 percent interval of the difference; of more, that of a difference of nothing.
    odd : int
        Which stands out, -1 where none does.
    siblings : bool
        Whether all are different ports.
    """

    units: Units
    distance: F64
    area: F64
    names: tuple[str, ...]
    difference: F64
    low: F64
    high: F64
    odd: int
    siblings: bool

    @property
    def two(self) -> bool:
        """Return whether two are compared."""
        return len(self.names) == 2


def compare_chart(result: Comparison, shown: Shown) -> CompareChart:
    """Return the chart of a comparison of two ports or more."""
    scale, per = length_from_mm(1.0, shown.units), area_from_mm2(1.0, shown.units)
    areas = [p.areas for p in result.pairs]
    shortest = min(areas, key=lambda a: float(a.distance_mm[-1]))
    s = shortest.distance_mm
    every = np.array([np.interp(s, m.distance_mm, m.flow_area_mm2) for m in result.members])
    if len(result.members) == 2:
        difference, low, high = shortest.difference_mm2[None], shortest.low_mm2, shortest.high_mm2
    else:
        difference = every - (np.median(every, axis=0) if result.siblings else every[0])
        # about nothing, as wide as that of a middling pair
        half = [np.interp(s, a.distance_mm, 0.5 * (a.high_mm2 - a.low_mm2)) for a in areas]
        high = np.median(half, axis=0)
        low = -high
    return CompareChart(
        units=shown.units,
        distance=frozen(s * scale),
        area=frozen(every * per),
        names=tuple(called(result, m) for m in result.members),
        difference=frozen(difference * per),
        low=frozen(low * per),
        high=frozen(high * per),
        odd=-1 if result.odd is None else result.odd.member,
        siblings=result.siblings,
    )


def draw_compare(chart: CompareChart, style: Style = STYLE) -> Sheet:
    """Return the drawing of a comparison."""
    keys = _keys(chart, style)
    rows = legend_rows(keys, WIDTH - 70.0, style)
    top = 10.0 + ROW * len(rows)
    upper = _frame(chart, chart.area, top, UPPER)
    both = np.concatenate([chart.difference, chart.low[None], chart.high[None], np.zeros((1, len(chart.distance)))])
    lower = _frame(chart, both, upper.bottom + BETWEEN, LOWER)
    along, beside = axis_words(chart.units)
    marks: list[Mark] = legend(rows, upper.left, 5.0, style)
    marks += axes(upper, "", beside, style=style)
    marks += axes(lower, along, f"difference, {chart.units}2", style=style)
    for k in _order(chart):
        marks.append(upper.curve(chart.distance, chart.area[k], _stroke(chart, k, style)))
    if len(chart.names) > FEW:
        marks.append(upper.curve(chart.distance, np.median(chart.area, axis=0), _median(style)))
    ring = np.column_stack(
        [np.concatenate([chart.distance, chart.distance[::-1]]), np.concatenate([chart.low, chart.high[::-1]])]
    )
    if np.isfinite(ring).all():  # no draw of the readings makes a port of both
        marks.append(Region(lower.points(ring), style.faint))
    marks.append(line(lower.left, lower.y(0.0), lower.right, lower.y(0.0), Stroke(style.quiet, 0.8)))
    if chart.two:
        marks.append(lower.curve(chart.distance, chart.difference[0], Stroke(style.ink, style.line_width)))
    else:
        for k in _order(chart):
            marks.append(lower.curve(chart.distance, chart.difference[k], _stroke(chart, k, style)))
    marks.append(Words(place(lower.left, lower.top - 11.0), _below(chart), style.small_size, style.ink, "start"))
    first, last = float(chart.distance[0]), float(chart.distance[-1])
    cursor = np.array([[s, upper.x(s), upper.top, upper.x(s), lower.bottom] for s in (first, last)])
    return sheet(WIDTH, lower.bottom + 34.0, marks, cursor)


def compare_drawing(result: Comparison, shown: Shown) -> Drawing:
    """Return the chart of a comparison as a drawing for a page or a file."""
    chart = compare_chart(result, shown)
    described = f"Flow areas of {', '.join(chart.names)} against distance, and their difference: {_less(chart)}."
    return Drawing("compare", "Ports side by side", CONVENTION, described, draw_compare(chart))


def _less(chart: CompareChart) -> str:
    if chart.two:
        return f"{short(chart.names[0], 24)} less {short(chart.names[1], 24)}"
    return "each less the median of all" if chart.siblings else f"each less {short(chart.names[0], 24)}"


def _below(chart: CompareChart) -> str:
    if chart.two:
        grey = "95 percent of what the readings allow, a real difference where zero is outside it"
    else:
        grey = "what the readings of two may make them differ by (95 percent)"
    return f"{_less(chart)}; grey: {grey}"


def _keys(chart: CompareChart, style: Style) -> list[Key]:
    few = len(chart.names) <= FEW
    named = range(len(chart.names)) if few else [k for k in (chart.odd,) if k >= 0]
    keys = [Key(_told(chart, k), _stroke(chart, k, style)) for k in named]
    if not few:
        rest = len(chart.names) - len(keys)
        keys += [
            Key(f"the other {rest}" if keys else f"all {rest}", Stroke(style.quiet, 0.8)),
            Key("median", _median(style)),
        ]
    return keys


def _told(chart: CompareChart, k: int) -> str:
    return short(chart.names[k], 30) + (", the odd one out" if k == chart.odd else "")


def _order(chart: CompareChart) -> list[int]:
    """Return the curves from the back to the front: the odd one out last."""
    return sorted(range(len(chart.names)), key=lambda k: k == chart.odd)


def _stroke(chart: CompareChart, k: int, style: Style) -> Stroke:
    if len(chart.names) <= FEW:
        return Stroke(COLOURS[k], 2.2 if k == chart.odd else style.line_width, DASHES[k])
    return Stroke(COLOURS[1], 2.2) if k == chart.odd else Stroke(style.quiet, 0.8)


def _median(style: Style) -> Stroke:
    return Stroke(style.present, style.line_width, DASHES[1])


def _frame(chart: CompareChart, values: F64, top: float, tall: float) -> Frame:
    low, high = float(np.nanmin(values)), float(np.nanmax(values))
    room = max(high - low, 1e-3 * float(np.abs(chart.area).max()))
    first, last = float(chart.distance[0]), float(chart.distance[-1])
    span = last - first
    return Frame(
        61.0,
        top,
        WIDTH - 13.0,
        top + tall,
        first - 0.02 * span,
        last + 0.03 * span,
        low - 0.06 * room,
        high + 0.06 * room,
    )
