"""What does the port look like from the side, in the head's own coordinates?"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from portgeom.geometry.arrays import F64, Bool, frozen
from portgeom.job.units import length_from_mm
from portgeom.job.values import Units
from portgeom.output.charts.chart_style import STYLE, Style
from portgeom.output.charts.figures import equal_axes, new_figure, quiet_grid, spaced
from portgeom.output.words.names import short
from portgeom.output.words.shown import Shown
from portgeom.questions.shape.roof import Roof
from portgeom.questions.shape.side_view import side_view
from portgeom.questions.whole import Answers

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

CONVENTION = "seen from the port's right side, manifold face at the left, deck down"
"""With x to the right, y in and z up, whoever sees the face at the left looks along -x."""

SEEN_MM = 0.05
"""Less than this prints as 0.0 mm and is not shaded."""


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


def draw_side(chart: SideChart, style: Style = STYLE) -> Figure:
    """Return the drawing of a side view, the same scale both ways."""
    every = np.concatenate([chart.roof, chart.floor, chart.wanted])
    low, high = every.min(axis=0), every.max(axis=0)
    margin = 0.09 * float((high - low).max())
    figure = new_figure(9.0, 5.0)
    axes = equal_axes(figure, low - margin, high + margin, across_in=9.0, tallest_in=5.6)
    quiet_grid(axes)
    axes.fill(*np.concatenate([chart.roof, chart.floor[::-1]]).T, color=style.neutral, linewidth=0.0, zorder=0.5)
    _stations(axes, chart, margin, style)
    if chart.hanging is not None:
        _metal(axes, chart, chart.hanging.roof, chart.hanging.wanted, style)
        axes.plot(*chart.hanging.roof.T, color=style.present, linestyle=(0, (4, 1.5)), label=chart.hanging.words)
    _metal(axes, chart, chart.roof, chart.wanted, style)
    axes.plot(*chart.roof.T, color=style.present, label="crown and floor")
    axes.plot(*chart.floor.T, color=style.present)
    axes.plot(*chart.path.T, color=style.quiet, linestyle=(0, (8, 2, 1, 2)), linewidth=0.9, label="path")
    words = "roof line wanted (a guess by bridging)" if chart.guessed else "roof line wanted"
    axes.plot(*chart.wanted.T, color=style.wanted, linestyle=(0, (1.2, 1.4)), linewidth=2.0, label=words)
    axes.plot(*chart.roof_end, "|", color=style.ink, markersize=9, markeredgewidth=1.2)
    axes.annotate(
        "roof ends",
        tuple(chart.roof_end),
        xytext=(-4, -9),
        textcoords="offset points",
        ha="right",
        va="top",
        fontsize=style.small_size,
        color=style.quiet,
    )
    axes.set_xlabel(f"into the head (y), {chart.units}")
    axes.set_ylabel(f"up from the deck (z), {chart.units}")
    axes.legend(
        loc="lower left", bbox_to_anchor=(0.0, 1.0), ncols=3, handlelength=2.2, columnspacing=1.2, borderaxespad=0.2
    )
    return figure


def _stations(axes: Axes, chart: SideChart, margin: float, style: Style) -> None:
    floor, roof = chart.planes[:, 0], chart.planes[:, 1]
    away = (roof - floor) / np.linalg.norm(roof - floor, axis=1, keepdims=True)
    places = roof + 0.42 * margin * away
    for bottom, top in chart.planes:
        axes.plot([bottom[0], top[0]], [bottom[1], top[1]], color=style.quiet, linewidth=style.thin_width, zorder=1)
    for k in spaced(places, 0.3 * margin):
        axes.text(
            float(places[k, 0]),
            float(places[k, 1]),
            short(chart.station_names[k]),
            ha="center",
            va="center",
            fontsize=style.small_size,
            color=style.ink,
        )


def _metal(axes: Axes, chart: SideChart, roof: F64, wanted: F64, style: Style) -> None:
    """Shade between roof and line: metal to take off, and where the roof is past the line."""
    rise = wanted - roof
    outward = np.einsum("ij,ij->i", rise, roof - chart.floor.mean(axis=0))
    seen = np.linalg.norm(rise, axis=1) >= length_from_mm(SEEN_MM, chart.units)
    known = set(axes.get_legend_handles_labels()[1])
    for over, colour, words in (
        (seen & (outward > 0.0), style.metal, "metal to take off"),
        (seen & (outward < 0.0), style.past, "already past the line"),
    ):
        for run in _runs(over):
            ring = np.concatenate([roof[run], wanted[run][::-1]])
            label = None if words in known else words
            known.add(words)
            axes.fill(*ring.T, color=colour, linewidth=0.0, zorder=0.8, label=label)


def _runs(inside: Bool) -> list[slice]:
    """Return the stretches where something holds, each with the places beside it."""
    edge = np.flatnonzero(np.diff(np.concatenate([[False], inside, [False]]).astype(int)))
    return [slice(max(0, a - 1), b + 1) for a, b in edge.reshape(-1, 2)]
