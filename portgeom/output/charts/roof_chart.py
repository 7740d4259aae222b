"""Where does the roof stand over the line, and where past it, seen from above?"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np

from portgeom.geometry.arrays import F64, frozen
from portgeom.job.units import length_from_mm
from portgeom.job.values import Port, Units
from portgeom.output.charts.chart_style import STYLE, ProudScale, Style
from portgeom.output.charts.frame import Frame, axes, colour_bar, equal_frame
from portgeom.output.charts.level_lines import level_lines
from portgeom.output.charts.roof_edges import RoofEdges, roof_edges
from portgeom.output.charts.sheet import (
    WIDTH,
    Anchor,
    Curve,
    Mark,
    Painting,
    Region,
    Sheet,
    Spot,
    Stroke,
    Words,
    name_room,
    place,
    sheet,
    spaced,
)
from portgeom.output.words.names import short
from portgeom.output.words.shown import Shown
from portgeom.questions.shape.roof import Roof

CONVENTION = "seen from above, the path laid out straight: manifold face at the left, left wall at the top"


MOST_POINTS = 400
"""Points of the painted grid along either axis."""

BAR = 74.0
"""Height kept for the colour bar and the axis over it, in points."""


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


def draw_roof(chart: RoofChart, style: Style = STYLE) -> Sheet:
    """Return the drawing of a roof map, the same scale both ways."""
    edges = roof_edges(chart.distance, chart.across, chart.proud)
    rows = np.flatnonzero(np.isfinite(edges.left))
    left, right, along = edges.left[rows], edges.right[rows], chart.distance[rows]
    low, high = float(left.min()), float(right.max())
    length = float(chart.distance[-1] - chart.distance[0])
    side = 0.16 * (high - low)
    start, end = float(chart.distance[0]) - 0.02 * length, float(chart.distance[-1]) + 0.02 * length
    # upwards in the drawing is to the left, looking in
    frame = equal_frame(
        np.array([start, -high - side]), np.array([end, -low + side]), across=WIDTH, tallest=330.0, head=16.0
    )

    def points(values: F64) -> F64:
        return frame.points(values * (1.0, -1.0))

    ring = np.concatenate([np.column_stack([along, left]), np.column_stack([along, right])[::-1]])
    marks: list[Mark] = [
        _colours(frame, along, chart.across, chart.proud[rows], chart.scale, points(ring)),
        Region(points(ring), None, Stroke(style.present, 1.0)),
    ]
    patches = [mark for patch in chart.patches for mark in _patch(frame, patch, points, style)]
    stations = _stations(chart, edges, high + 0.45 * side, points, frame, style)
    written = [mark for mark in (*patches, *stations) if isinstance(mark, Words)]
    marks += _levels(chart, points, written, style)
    marks += stations
    middle = points(np.array([[start, 0.0], [end, 0.0]]))
    marks.append(Curve(middle, Stroke(style.quiet, 0.9, (7.2, 1.8, 0.9, 1.8))))
    marks += patches
    below = f"distance along the path from the manifold face, {chart.units}"
    beside = f"right  ←  of the path, {chart.units}  →  left"
    marks += axes(frame, below, beside, grid_y=False, unsigned=True, style=style)
    centre = 0.5 * (frame.left + frame.right)
    for wall, side_words, y in ((chart.left_wall, "left", frame.top), (chart.right_wall, "right", frame.bottom)):
        words = f"{short(wall, 60)} ({side_words} looking in)"
        marks.append(Words(place(centre, y - 7.0), words, style.small_size, style.quiet))
    source = "bridged line (a guess)" if chart.guessed else "line"
    marks += colour_bar(
        frame.left + 0.30 * frame.wide,
        frame.bottom + 36.0,
        frame.left + 0.70 * frame.wide,
        chart.scale.ramp,
        chart.scale.marks,
        f"height over the {source}, {chart.units} (0 is at the line)",
        (chart.scale.low_words, chart.scale.high_words),
        style,
    )
    cursor = frame.upright(float(chart.distance[0]), float(chart.distance[-1]))
    return sheet(WIDTH, frame.bottom + BAR, marks, cursor)


def _colours(frame: Frame, along: F64, across: F64, proud: F64, scale: ProudScale, ring: F64) -> Painting:
    """Paint a map's heights as an even grid; walls carry the height of the nearest roof, to be cut off.

    The grid is finer than the map, so that what is seen of its points is smaller than a line's width.
    """
    fine_s, fine_u = _even(along), _even(across)
    rows = np.array([np.interp(fine_u, across[np.isfinite(row)], row[np.isfinite(row)]) for row in proud])
    after = np.clip(np.searchsorted(along, fine_s), 1, len(along) - 1)
    share = ((fine_s - along[after - 1]) / (along[after] - along[after - 1]))[:, None]
    grid = (1.0 - share) * rows[after - 1] + share * rows[after]
    half_s, half_u = 0.5 * (fine_s[1] - fine_s[0]), 0.5 * (fine_u[1] - fine_u[0])
    low = place(frame.x(float(fine_s[0] - half_s)), frame.y(float(-(fine_u[0] - half_u))))
    high = place(frame.x(float(fine_s[-1] + half_s)), frame.y(float(-(fine_u[-1] + half_u))))
    return Painting(low, high, scale.ramp.banded(grid.T), ring)


def _even(places: F64) -> F64:
    """Return evenly spaced places over the same range, half as far apart as the closest of them at most."""
    count = int(np.ceil(2.0 * np.ptp(places) / np.diff(places).min())) + 1
    return np.linspace(places[0], places[-1], min(count, MOST_POINTS))


def _levels(chart: RoofChart, points: Callable[[F64], F64], written: Sequence[Words], style: Style) -> list[Mark]:
    """Draw lines of equal height, labelled clear of what is ``written``, and the outline of every bulge."""
    finite = chart.proud[np.isfinite(chart.proud)]
    near = 0.1 * chart.scale.step  # a line this near to an end of the range follows nothing but noise
    levels = [m for m in chart.scale.marks if finite.min() + near < m < finite.max() - near]
    grid, thin = chart.proud.T, Stroke(style.ink, 0.5, opacity=0.75)
    marks = level_lines(
        chart.distance, chart.across, grid, levels, points, thin, named=True, clear_of=written, style=style
    )
    if chart.patches:
        stands, thick = np.nan_to_num(chart.stands_out.T), Stroke(style.ink, 1.6, (6.0, 2.6))
        marks += level_lines(chart.distance, chart.across, stands, [chart.bulge_limit], points, thick, style=style)
    return marks


def _stations(
    chart: RoofChart, edges: RoofEdges, label_at: float, points: Callable[[F64], F64], frame: Frame, style: Style
) -> list[Mark]:
    marks: list[Mark] = []
    for s in chart.stations:
        row = int(np.argmin(np.abs(chart.distance - s)))
        ends = points(np.array([[s, edges.left[row]], [s, edges.right[row]]]))
        marks.append(Curve(ends, Stroke(style.quiet, style.thin_width)))
    names = [short(name) for name in chart.station_names]
    for k in spaced(chart.stations, name_room(names, style.small_size) * (frame.x1 - frame.x0) / frame.wide):
        (at,) = points(np.array([[chart.stations[k], label_at]]))
        marks.append(Words(place(at[0], at[1] - 4.0), names[k], style.small_size, style.ink))
    return marks


def _patch(frame: Frame, patch: Patch, points: Callable[[F64], F64], style: Style) -> list[Mark]:
    to_left = patch.high[0] > frame.x0 + 0.72 * (frame.x1 - frame.x0)
    peak, low, high = points(np.array([patch.peak, patch.low, patch.high]))
    x = float(low[0]) - 8.0 if to_left else float(high[0]) + 8.0
    words = f"bulge {patch.number}: {patch.words}"
    anchor: Anchor = "end" if to_left else "start"
    at = place(x, peak[1])
    return [
        Spot(peak, "plus", 9.0, style.ink),
        Words(at, words, style.small_size, style.ink, anchor, ground=style.paper),
    ]
