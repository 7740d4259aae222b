"""Where does the roof stand over the line, and where past it, seen from above?"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from portgeom.geometry.arrays import F64, frozen
from portgeom.job.units import length_from_mm
from portgeom.job.values import Port, Units
from portgeom.output.charts.chart_style import STYLE, ProudScale, Style
from portgeom.output.charts.figures import equal_axes, new_figure, spaced
from portgeom.output.charts.roof_edges import RoofEdges, roof_edges
from portgeom.output.words.names import short
from portgeom.output.words.shown import Shown
from portgeom.questions.shape.roof import Roof

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.colors import Colormap, Normalize
    from matplotlib.figure import Figure
    from matplotlib.image import AxesImage

CONVENTION = "seen from above, the path laid out straight: manifold face at the left, left wall at the top"


MOST_POINTS = 400
"""Points of the painted grid along either axis."""

BAR_IN = 0.85
"""Height kept for the colour bar."""


@dataclass(frozen=True, slots=True)
class Patch:
    """One bulge on the map: its number, its outline's box, its peak and its size in words."""

    number: int
    low: F64
    high: F64
    peak: F64
    words: str


@dataclass(frozen=True, slots=True)
class RoofChart:
    """What the roof map draws, in the units shown.

    Attributes
    ----------
    distance, across : (j,), (k,) float
        Across is positive to the right, looking in.
    proud : (j, k) float
        Height over the line, positive where metal is to come off; NaN where there is wall.
    stands_out : (j, k) float
        Height over the bridge; bulges are outlined where it passes ``bulge_limit``.
    stations : (n,) float
    station_names : tuple of str
    patches : tuple of Patch
        The bulges, numbered by volume.
    """

    units: Units
    distance: F64
    across: F64
    proud: F64
    stands_out: F64
    bulge_limit: float
    stations: F64
    station_names: tuple[str, ...]
    patches: tuple[Patch, ...]
    left_wall: str
    right_wall: str
    guessed: bool

    @property
    def scale(self) -> ProudScale:
        """Return the colour scale of the heights."""
        per = length_from_mm(1.0, self.units)
        return ProudScale.over(float(np.nanmin(self.proud)) / per, float(np.nanmax(self.proud)) / per, self.units)


def roof_chart(
    result: Roof, port: Port, stations: tuple[tuple[str, float], ...], shown: Shown, *, bulge_limit_mm: float
) -> RoofChart:
    """Return the roof map of one stage of a port.

    Parameters
    ----------
    stations : tuple of (name, distance in mm)
    """
    scale = length_from_mm(1.0, shown.units)
    roof_map = result.map
    on_roof = [(n, s) for n, s in stations if s <= result.end_mm + 1e-6 * max(1.0, result.end_mm)]
    patches = tuple(
        Patch(
            number=k,
            low=frozen(np.array([b.from_mm, b.across_from_mm]) * scale),
            high=frozen(np.array([b.to_mm, b.across_to_mm]) * scale),
            peak=frozen(np.array([b.peak.distance_mm, b.peak.across_mm]) * scale),
            words=f"stands out {shown.length(b.stands_out_mm)}, {shown.volume(b.volume_mm3)}",
        )
        for k, b in enumerate(result.bulges, 1)
    )
    return RoofChart(
        units=shown.units,
        distance=frozen(roof_map.distance_mm * scale),
        across=frozen(roof_map.across_mm * scale),
        proud=frozen(roof_map.proud_mm * scale),
        stands_out=frozen(roof_map.stands_out_mm * scale),
        bulge_limit=bulge_limit_mm * scale,
        stations=frozen(np.array([s for _, s in on_roof]) * scale),
        station_names=tuple(n for n, _ in on_roof),
        patches=patches,
        left_wall=port.left_wall,
        right_wall=port.right_wall,
        guessed=result.line_from == "bridge",
    )


def draw_roof(chart: RoofChart, style: Style = STYLE) -> Figure:
    """Return the drawing of a roof map, the same scale both ways."""
    edges = roof_edges(chart.distance, chart.across, chart.proud)
    rows = np.flatnonzero(np.isfinite(edges.left))
    left, right, along = edges.left[rows], edges.right[rows], chart.distance[rows]
    low, high = float(left.min()), float(right.max())
    length = float(chart.distance[-1] - chart.distance[0])
    side = 0.16 * (high - low)
    start, end = float(chart.distance[0]) - 0.02 * length, float(chart.distance[-1]) + 0.02 * length
    figure = new_figure(9.0, 5.0)
    axes = equal_axes(
        figure, np.array([start, low - side]), np.array([end, high + side]), across_in=9.0, tallest_in=4.6
    )
    axes.invert_yaxis()
    _room_below(figure, axes)
    colours, norm = chart.scale.colours()
    filled = _colours(axes, along, chart.across, chart.proud[rows], colours, norm)
    ring = np.concatenate([np.column_stack([along, left]), np.column_stack([along, right])[::-1]])
    (outline,) = axes.fill(*ring.T, facecolor="none", edgecolor=style.present, linewidth=1.0, zorder=1.2)
    filled.set_clip_path(outline)
    _levels(axes, chart, style)
    _stations(axes, chart, edges, high + 0.45 * side, style)
    axes.axhline(0.0, color=style.quiet, linewidth=0.9, linestyle=(0, (8, 2, 1, 2)))
    for patch in chart.patches:
        _patch(axes, patch, style)
    axes.set_xlabel(f"distance along the path from the manifold face, {chart.units}")
    axes.set_ylabel(f"right  ←  of the path, {chart.units}  →  left")
    axes.yaxis.set_major_formatter(lambda value, _: f"{abs(value):g}")
    left_wall, right_wall = short(chart.left_wall, 60), short(chart.right_wall, 60)
    for wall, y in ((f"{left_wall} (left looking in)", 1.015), (f"{right_wall} (right looking in)", 0.015)):
        axes.text(
            0.5,
            y,
            wall,
            transform=axes.transAxes,
            ha="center",
            va="bottom",
            fontsize=style.small_size,
            color=style.quiet,
        )
    _bar(figure, filled, chart)
    return figure


def _colours(axes: Axes, along: F64, across: F64, proud: F64, colours: Colormap, norm: Normalize) -> AxesImage:
    """Paint a map's heights as an even grid; walls carry the height of the nearest roof, to be cut off.

    The grid is finer than the map, so that what is seen of its points is smaller than a line's width.
    """
    fine_s, fine_u = _even(along), _even(across)
    rows = np.array([np.interp(fine_u, across[np.isfinite(row)], row[np.isfinite(row)]) for row in proud])
    after = np.clip(np.searchsorted(along, fine_s), 1, len(along) - 1)
    share = ((fine_s - along[after - 1]) / (along[after] - along[after - 1]))[:, None]
    grid = (1.0 - share) * rows[after - 1] + share * rows[after]
    half_s, half_u = 0.5 * (fine_s[1] - fine_s[0]), 0.5 * (fine_u[1] - fine_u[0])
    extent = (fine_s[0] - half_s, fine_s[-1] + half_s, fine_u[-1] + half_u, fine_u[0] - half_u)
    return axes.imshow(grid.T, extent=extent, cmap=colours, norm=norm, aspect="auto", interpolation="none", zorder=0.5)


def _even(places: F64) -> F64:
    """Return evenly spaced places over the same range, half as far apart as the closest of them at most."""
    count = int(np.ceil(2.0 * np.ptp(places) / np.diff(places).min())) + 1
    return np.linspace(places[0], places[-1], min(count, MOST_POINTS))


def _room_below(figure: Figure, axes: Axes) -> None:
    """Make a figure taller for a colour bar under its axes."""
    box, width, height = axes.get_position(), figure.get_figwidth(), figure.get_figheight()
    taller = height + BAR_IN
    figure.set_size_inches(width, taller)
    axes.set_position((box.x0, (box.y0 * height + BAR_IN) / taller, box.width, box.height * height / taller))


def _levels(axes: Axes, chart: RoofChart, style: Style) -> None:
    """Draw lines of equal height, labelled, and the outline of every bulge."""
    finite = chart.proud[np.isfinite(chart.proud)]
    levels = [m for m in chart.scale.marks if finite.min() < m < finite.max() - 0.1 * chart.scale.step]
    grid = np.ma.masked_invalid(chart.proud.T)
    if levels:
        lines = axes.contour(
            chart.distance, chart.across, grid, levels=levels, colors=style.ink, linewidths=0.5, alpha=0.75
        )
        axes.clabel(lines, fmt=lambda v: f"{v:g}", fontsize=style.small_size - 0.5, inline_spacing=2)
    if chart.patches:
        axes.contour(
            chart.distance,
            chart.across,
            np.nan_to_num(chart.stands_out.T),
            levels=[chart.bulge_limit],
            colors=style.ink,
            linewidths=1.6,
            linestyles="dashed",
        )


def _stations(axes: Axes, chart: RoofChart, edges: RoofEdges, label_at: float, style: Style) -> None:
    for s in chart.stations:
        row = int(np.argmin(np.abs(chart.distance - s)))
        axes.plot([s, s], [edges.left[row], edges.right[row]], color=style.quiet, linewidth=style.thin_width)
    for k in spaced(chart.stations, 0.025 * float(np.ptp(chart.distance))):
        axes.text(
            float(chart.stations[k]),
            label_at,
            short(chart.station_names[k]),
            ha="center",
            va="center",
            fontsize=style.small_size,
        )


def _patch(axes: Axes, patch: Patch, style: Style) -> None:
    axes.plot(*patch.peak, "+", color=style.ink, markersize=8, markeredgewidth=1.4)
    start, end = axes.get_xlim()
    to_left = patch.high[0] > start + 0.72 * (end - start)
    axes.annotate(
        f"bulge {patch.number}: {patch.words}",
        (float(patch.low[0] if to_left else patch.high[0]), float(patch.peak[1])),
        xytext=(-6 if to_left else 6, 0),
        textcoords="offset points",
        ha="right" if to_left else "left",
        va="center",
        fontsize=style.small_size,
        bbox={"boxstyle": "round,pad=0.25", "facecolor": style.paper, "edgecolor": "none", "alpha": 0.85},
    )


def _bar(figure: Figure, filled: AxesImage, chart: RoofChart) -> None:
    """Draw the colour bar with its ends in words."""
    scale, height = chart.scale, float(figure.get_figheight())
    axes = figure.add_axes((0.30, 0.50 / height, 0.40, 0.13 / height))
    bar = figure.colorbar(filled, cax=axes, orientation="horizontal", ticks=list(scale.marks))
    bar.ax.set_xticklabels([f"{m:g}" for m in scale.marks])
    bar.outline.set_linewidth(0.5)
    source = "bridged line (a guess)" if chart.guessed else "line"
    bar.set_label(f"height over the {source}, {chart.units} (0 is at the line)")
    figure.text(0.29, 0.565 / height, scale.low_words, ha="right", va="center")
    figure.text(0.71, 0.565 / height, scale.high_words, ha="left", va="center")
