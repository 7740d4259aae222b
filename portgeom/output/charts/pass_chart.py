"""What does each pass do to the area: where does it open the port, and how far is that from what is wanted?

Every pass is a band between the area before it and the area after it, laid one on the other from the port as
it is to the port wanted.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from portgeom.geometry.arrays import F64, frozen
from portgeom.job.units import area_from_mm2, length_from_mm
from portgeom.job.values import Units
from portgeom.output.charts.area_chart import NAMES_APART
from portgeom.output.charts.chart_style import STYLE, Style
from portgeom.output.charts.figures import new_figure, quiet_grid, spaced
from portgeom.output.words.names import short
from portgeom.output.words.shown import Shown
from portgeom.questions.whole import Answers
from portgeom.questions.whole_cutting import Cutting

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

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


def draw_passes(chart: PassChart, style: Style = STYLE) -> Figure:
    """Return the drawing of areas after each pass."""
    count = len(chart.names)
    rows = -(-(count + 2) // 4)
    head = 0.19 * rows + 0.1
    figure = new_figure(9.0, 4.0 + head)
    tall = 4.0 + head
    axes = figure.add_axes((0.085, 0.5 / tall, 0.895, 1.0 - (0.5 + head) / tall))
    quiet_grid(axes, axis="y")
    _frame(axes, chart, style)
    before = chart.present
    few = np.unique(np.linspace(0, len(chart.distance) - 1, min(MOST_POINTS, len(chart.distance))).astype(int))
    s = chart.distance[few]
    for k, after in enumerate(chart.after):
        colour = BANDS[k % len(BANDS)]
        top = np.maximum(before, after)
        axes.fill_between(s, before[few], top[few], color=colour, linewidth=0.0, label=f"{k + 1} {_name(chart, k)}")
        axes.plot(s, after[few], color=style.ink, linewidth=0.5)
        _number(axes, chart, k, before, top, style)
        before = after
    axes.plot(chart.distance, chart.present, color=style.present, label="as it is")
    axes.plot(
        chart.distance, chart.wanted, color=style.wanted, linestyle=(0, (1.2, 1.4)), linewidth=2.0, label="wanted"
    )
    _stations(axes, chart, style)
    handles, words = axes.get_legend_handles_labels()
    order = [count, *range(count), count + 1]
    axes.legend(
        [handles[k] for k in order],
        [words[k] for k in order],
        loc="lower left",
        bbox_to_anchor=(0.0, 1.0),
        ncols=4,
        handlelength=2.2,
        columnspacing=1.2,
        borderaxespad=0.2,
    )
    return figure


def _name(chart: PassChart, k: int) -> str:
    return short(chart.names[k], 26)


def _frame(axes: Axes, chart: PassChart, style: Style) -> None:
    every = np.concatenate([chart.present[None], chart.wanted[None], chart.after])
    low, high = float(every.min()), float(every.max())
    room = max(high - low, 0.05 * high)
    axes.set_ylim(low - 0.14 * room, high + 0.08 * room)
    span = float(np.ptp(chart.distance))
    axes.set_xlim(float(chart.distance[0]) - 0.02 * span, float(chart.distance[-1]) + 0.03 * span)
    axes.set_xlabel(f"distance along the path from the manifold face, {chart.units}")
    axes.set_ylabel(f"flow area, {chart.units}2")
    axes.axvline(chart.throat, color=style.faint, linewidth=1.0, zorder=0)
    axes.annotate(
        "throat",
        (chart.throat, 1.0),
        xycoords=("data", "axes fraction"),
        xytext=(-3, -2),
        textcoords="offset points",
        ha="right",
        va="top",
        fontsize=style.small_size,
        color=style.quiet,
    )


def _number(axes: Axes, chart: PassChart, k: int, before: F64, after: F64, style: Style) -> None:
    """Write a band's number where it is widest, if it is wide enough there."""
    low, high = axes.get_ylim()
    j = int(np.argmax(after - before))
    if after[j] - before[j] < TELLING * (high - low):
        return
    axes.text(
        float(chart.distance[j]),
        0.5 * float(before[j] + after[j]),
        str(k + 1),
        ha="center",
        va="center",
        fontsize=style.small_size,
        fontweight="bold",
        color=style.ink if k % len(BANDS) < 4 else style.paper,
    )


def _stations(axes: Axes, chart: PassChart, style: Style) -> None:
    for k in spaced(chart.station_distance, NAMES_APART * float(np.ptp(chart.distance))):
        s = float(chart.station_distance[k])
        axes.axvline(s, ymax=0.03, color=style.quiet, linewidth=style.thin_width)
        axes.annotate(
            short(chart.station_names[k]),
            (s, 0.035),
            xycoords=("data", "axes fraction"),
            ha="center",
            va="bottom",
            fontsize=style.small_size,
            color=style.quiet,
        )
