"""How does the area run from face to throat, against the line it is held to, as it is and once cut?"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from portgeom.geometry.arrays import F64, frozen
from portgeom.job.units import area_from_mm2, length_from_mm
from portgeom.job.values import Units
from portgeom.output.charts.chart_style import STYLE, Style
from portgeom.output.charts.figures import new_figure, quiet_grid, spaced
from portgeom.output.words.names import short
from portgeom.output.words.shown import Shown, percent
from portgeom.questions.shape.profile import Profile
from portgeom.questions.shape.taper import Dip, Taper

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

AGAINST_WORDS = {
    "straight": "straight from face to throat",
    "schedule": "the schedule",
    "places": "straight between the named places",
}

NAMES_APART, WORDS_APART = 0.02, 0.17
"""How far apart names of stations, and words on one level, stand at least, as a share of the length."""

MOST_WORDS = 3
"""Places named on either side of the curve; all of them are marked and in the table."""


@dataclass(frozen=True, slots=True)
class Mark:
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
    marks : tuple of Mark
        Necks, bellies and the steepest growth, in words.
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
    marks: tuple[Mark, ...]


def area_chart(
    result: Profile, shown: Shown, *, after_mm2: F64 | None = None, cone_limit_deg: float | None = None
) -> AreaChart:
    """Return the chart of a profile.

    Parameters
    ----------
    after_mm2 : (m,) float, optional
        Flow area at the same slabs once the metal is off.
    cone_limit_deg : float, optional
        The steepest growth is marked where it exceeds this.
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
    )


def _headline(taper: Taper, shown: Shown) -> str:
    angle, place = taper.steepest.cone_angle_deg, shown.length(taper.steepest.distance_mm)
    growth = f"steepest growth like a cone of {angle:.1f} degrees, at {place}" if angle > 0.0 else "it grows nowhere"
    return f"As it is: {'smooth' if taper.smooth else 'not smooth'}; {growth}"


def _marks(result: Profile, shown: Shown, cone_limit: float | None) -> tuple[Mark, ...]:
    taper, units = result.taper, shown.units

    def mark(distance_mm: float, area_mm2: float, words: str, size: float, *, below: bool) -> Mark:
        return Mark(length_from_mm(distance_mm, units), area_from_mm2(area_mm2, units), words, size, below)

    def dip(kind: str, d: Dip) -> Mark:
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


def draw_area(chart: AreaChart, style: Style = STYLE) -> Figure:
    """Return the drawing of an area chart."""
    figure = new_figure(9.0, 4.4)
    axes = figure.add_axes((0.085, 0.125, 0.895, 0.76))
    figure.text(0.085, 0.985, chart.headline, va="top")
    quiet_grid(axes, axis="y")
    axes.plot(
        chart.line[:, 0],
        chart.line[:, 1],
        color=style.quiet,
        linestyle=(0, (5, 3)),
        linewidth=1.2,
        label=f"held against: {chart.line_words}",
    )
    if chart.after is not None:
        axes.plot(
            chart.distance,
            chart.after,
            color=style.wanted,
            linestyle=(0, (1.2, 1.4)),
            linewidth=2.0,
            label="once the metal is off",
        )
    axes.plot(chart.distance, chart.area, color=style.present, label="as it is")
    axes.plot(
        chart.station_distance,
        chart.station_area,
        "o",
        color=style.present,
        markersize=4.5,
        markeredgecolor=style.paper,
        label="stations",
    )
    _frame(axes, chart, style)
    gap = NAMES_APART * float(np.ptp(chart.distance))
    for k in spaced(chart.station_distance, gap):
        name, s = chart.station_names[k], float(chart.station_distance[k])
        axes.axvline(s, ymax=0.035, color=style.quiet, linewidth=style.thin_width)
        axes.annotate(
            short(name),
            (s, 0.04),
            xycoords=("data", "axes fraction"),
            ha="center",
            va="bottom",
            fontsize=style.small_size,
            color=style.quiet,
        )
    _marks_on(axes, chart, style)
    axes.legend(loc="lower left", bbox_to_anchor=(0.0, 1.0), ncols=4, handlelength=2.8, borderaxespad=0.2)
    return figure


def _frame(axes: Axes, chart: AreaChart, style: Style) -> None:
    every = [chart.area, chart.line[:, 1], *([] if chart.after is None else [chart.after])]
    low, high = min(float(a.min()) for a in every), max(float(a.max()) for a in every)
    room = max(high - low, 0.05 * high)
    axes.set_ylim(low - 0.34 * room, high + 0.24 * room)
    span = float(chart.distance[-1] - chart.distance[0])
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


def _marks_on(axes: Axes, chart: AreaChart, style: Style) -> None:
    """Mark every place, and say what the largest few on either side are, one above the other where close."""
    span = float(np.ptp(chart.distance))
    for below in (True, False):
        side = [m for m in chart.marks if m.below == below]
        for mark in side:
            axes.plot([mark.distance], [mark.area], "D", color=style.ink, markersize=4.0, zorder=5)
        told: list[Mark] = []
        for mark in sorted(side, key=lambda m: -m.size)[:MOST_WORDS]:
            level = sum(abs(mark.distance - other.distance) < WORDS_APART * span for other in told)
            _pin(axes, chart, mark, level, style)
            told.append(mark)


def _pin(axes: Axes, chart: AreaChart, mark: Mark, level: int, style: Style) -> None:
    """Pin words to a place of the curve, clear of every curve near it and of ``level`` words before."""
    reach = 0.09 * float(chart.distance[-1] - chart.distance[0])
    near = np.abs(chart.distance - mark.distance) <= reach
    held = np.interp(chart.distance[near], chart.line[:, 0], chart.line[:, 1])
    curves = [chart.area[near], held, *([] if chart.after is None else [chart.after[near]])]
    end = min(float(c.min()) for c in curves) if mark.below else max(float(c.max()) for c in curves)
    low, high = axes.get_ylim()
    away = (0.055 + 0.075 * level) * (high - low)
    place = end - away if mark.below else end + away
    if not low < place < high:
        return
    axes.annotate(
        mark.words,
        (mark.distance, mark.area),
        xytext=(mark.distance, place),
        textcoords="data",
        ha="center",
        va="top" if mark.below else "bottom",
        fontsize=style.small_size,
        arrowprops={"arrowstyle": "-", "color": style.quiet, "linewidth": style.thin_width, "shrinkB": 3},
    )
