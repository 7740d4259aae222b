"""How much metal is left behind the wall, all round the port and all along it, laid out flat?"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np

from portgeom.geometry.arrays import F64, Int, frozen
from portgeom.geometry.surface import Surface
from portgeom.job.units import length_from_mm
from portgeom.job.values import Port, Units
from portgeom.output.charts.chart_style import STYLE, Style
from portgeom.output.charts.frame import Frame, axes, colour_bar
from portgeom.output.charts.level_lines import level_lines
from portgeom.output.charts.sheet import (
    WIDTH,
    Anchor,
    Mark,
    Painting,
    Sheet,
    Spot,
    Stroke,
    Words,
    line,
    name_room,
    place,
    sheet,
    spaced,
)
from portgeom.output.charts.wall_scale import WallScale
from portgeom.output.words.names import short
from portgeom.output.words.shown import Shown
from portgeom.questions.walls.walls import Wall, WallMap, Walls

CONVENTION = (
    "the wall cut open along the floor and laid flat, seen from outside: manifold face at the left, "
    "roof in the middle, left wall (looking in) above it"
)

STEP_DEG = 2.5
"""Step of the map round the port."""

SLABS = 300
"""The map is drawn from at most so many places along the port."""

LETTER, LINE_DEG = 0.0088, 27.0
"""Room that words take: a letter as a share of the map's length, a line in degrees of its clock."""

BEYOND = 1.0
"""A margin to the limit that is not known is taken for this many mm: it only has to be above zero."""


@dataclass(frozen=True, slots=True)
class WallMark:
    """The least wall to one hazard: distance and degrees from the crown, clockwise looking in, and words."""

    distance: float
    clock_deg: float
    words: str


@dataclass(frozen=True, slots=True)
class WallChart:
    """What the wall map draws, in the units shown.

    Attributes
    ----------
    distance : (m,) float
    clock_deg : (k,) float
        From -180 (floor) over the left wall, the roof (0) and the right wall to 180 (floor).
    wall : (m, k) float
        Least metal to anything, no more than the scale's end; NaN where it is not known.
    over_limit : (m, k) float
        Least metal over the limit to any hazard that has one; thin below zero.
    marks : tuple of WallMark
    stations : (n,) float
    station_names : tuple of str
    """

    units: Units
    scale: WallScale
    distance: F64
    clock_deg: F64
    wall: F64
    over_limit: F64
    marks: tuple[WallMark, ...]
    stations: F64
    station_names: tuple[str, ...]
    left_wall: str
    right_wall: str


def wall_chart(
    found: Walls, wall_map: WallMap, port: Port, stations: tuple[tuple[str, float], ...], shown: Shown
) -> WallChart:
    """Return the wall map of one surface of a port.

    Parameters
    ----------
    wall_map : WallMap
        Of the same surface and hazards.
    stations : tuple of (name, distance in mm)
    """
    scale, surface = length_from_mm(1.0, shown.units), found.surface
    clock = np.arange(-180.0, 180.0 + 0.5 * STEP_DEG, STEP_DEG)
    chosen = np.unique(np.linspace(0, len(surface.rho_mm) - 1, min(SLABS, len(surface.rho_mm))).astype(int))
    wall = np.minimum(wall_map.wall_mm, wall_map.to_mm)
    by_clock = _by_clock(surface, [wall, _over_limit_mm(found)], chosen, clock) * scale
    return WallChart(
        units=shown.units,
        scale=WallScale.over([w.behind for w in found.walls], wall_map.to_mm, shown.units),
        distance=frozen(surface.chart.distance_mm[chosen] * scale),
        clock_deg=frozen(clock),
        wall=frozen(by_clock[0]),
        over_limit=frozen(by_clock[1]),
        marks=tuple(m for w in found.walls for m in _mark(w, wall_map.to_mm, scale, shown)),
        stations=frozen(np.array([s for _, s in stations]) * scale),
        station_names=tuple(n for n, _ in stations),
        left_wall=port.left_wall,
        right_wall=port.right_wall,
    )


def _over_limit_mm(found: Walls) -> F64:
    over = np.full(found.surface.rho_mm.shape, BEYOND)
    for wall, near in zip(found.walls, found.found, strict=True):
        if wall.behind.limit_mm is not None:
            over = np.fmin(over, near.distance_mm - wall.behind.limit_mm)
    return over


def _by_clock(surface: Surface, values: Sequence[F64], slabs: Int, clock: F64) -> F64:
    """Return some values (m, n) at slabs and rays as (i, j, k) at some slabs and clock positions."""
    away = surface.points_mm[slabs] - surface.chart.centre_mm[slabs, None]
    at = np.degrees(np.arctan2(away[..., 0], away[..., 1]))
    order = np.argsort(at, axis=1)
    order = np.concatenate([order[:, -1:], order, order[:, :1]], axis=1)
    angles = np.take_along_axis(at, order, axis=1)
    angles[:, 0] -= 360.0
    angles[:, -1] += 360.0
    turned = [np.take_along_axis(value[slabs], order, axis=1) for value in values]
    return np.array([[np.interp(clock, a, row) for a, row in zip(angles, one, strict=True)] for one in turned])


def _mark(wall: Wall, to_mm: float, scale: float, shown: Shown) -> list[WallMark]:
    at = wall.least
    if at is None or at.wall_mm > to_mm:
        return []
    left = "open" if at.wall_mm <= 0.0 else shown.length(at.wall_mm)
    thin = ", thin" if wall.verdict == "thin" else ""
    clock = (at.clock_deg + 180.0) % 360.0 - 180.0
    return [WallMark(at.distance_mm * scale, clock, f"{short(wall.hazard, 24)}: {left}{thin}")]


def draw_walls(chart: WallChart, style: Style = STYLE) -> Sheet:
    """Return the drawing of a wall map."""
    length = float(np.ptp(chart.distance))
    low, high = float(chart.distance[0]), float(chart.distance[-1])
    # upwards in the drawing is backwards round the clock
    frame = Frame(94.0, 18.0, WIDTH - 12.0, 238.0, low - 0.01 * length, high + 0.01 * length, -180.0, 180.0)

    def points(values: F64) -> F64:
        return frame.points(values * (1.0, -1.0))

    half_s, half_c = 0.5 * length / (len(chart.distance) - 1), 0.5 * STEP_DEG
    walls = _even(chart).T
    pixels = chart.scale.ramp.banded(np.nan_to_num(walls))
    pixels[np.isnan(walls)] = [int(style.casting[k : k + 2], 16) for k in (1, 3, 5)]
    corners = points(np.array([[low - half_s, -180.0 - half_c], [high + half_s, 180.0 + half_c]]))
    edge = points(np.array([[frame.x0, -180.0], [frame.x1, -180.0], [frame.x1, 180.0], [frame.x0, 180.0]]))
    marks: list[Mark] = [Painting(corners[0], corners[1], pixels, edge)]
    taken: list[F64] = []
    pins = [mark for told in chart.marks for mark in _pin(frame, told, low, length, taken, style)]
    marks += _levels(chart, points, [mark for mark in pins if isinstance(mark, Words)], style)
    marks += _stations(frame, chart, style)
    marks += pins
    below = f"distance along the path from the manifold face, {chart.units}"
    marks += axes(frame, below, "", upright=False, style=style)
    left, right = short(chart.left_wall, 14), short(chart.right_wall, 14)
    names = ["floor, 6 o'clock", f"{left}, 9", "roof, 12", f"{right}, 3", "floor, 6"]
    for name, clock in zip(names, (-180.0, -90.0, 0.0, 90.0, 180.0), strict=True):
        y = frame.y(-clock)
        marks.append(line(frame.left - 3.0, y, frame.left, y, Stroke(style.quiet, style.thin_width)))
        marks.append(Words(place(frame.left - 5.0, y), name, style.small_size, style.ink, "end"))
    marks += _bar(frame, chart, style)
    return sheet(WIDTH, frame.bottom + 76.0, marks, frame.upright(low, high))


def _stations(frame: Frame, chart: WallChart, style: Style) -> list[Mark]:
    marks: list[Mark] = []
    names = [short(name) for name in chart.station_names]
    for k in spaced(chart.stations, name_room(names, style.small_size) * (frame.x1 - frame.x0) / frame.wide):
        x = frame.x(float(chart.stations[k]))
        marks.append(line(x, frame.top, x, frame.bottom, Stroke(style.quiet, 0.35)))
        marks.append(Words(place(x, frame.top - 7.0), names[k], style.small_size, style.ink))
    return marks


def _even(chart: WallChart) -> F64:
    """Return the walls at evenly spaced distances, which an image needs."""
    even = np.linspace(chart.distance[0], chart.distance[-1], len(chart.distance))
    after = np.clip(np.searchsorted(chart.distance, even), 1, len(even) - 1)
    share = ((even - chart.distance[after - 1]) / (chart.distance[after] - chart.distance[after - 1]))[:, None]
    return (1.0 - share) * chart.wall[after - 1] + share * chart.wall[after]


def _levels(chart: WallChart, points: Callable[[F64], F64], written: Sequence[Words], style: Style) -> list[Mark]:
    """Draw lines of equal wall, labelled clear of what is ``written``, and the outline of what is too thin."""
    marks: list[Mark] = []
    if not np.isnan(chart.wall).all():
        least = float(np.nanmin(chart.wall))
        levels = [m for m in chart.scale.marks if chart.scale.limit < m < chart.scale.high and least < m]
        thin = Stroke(style.ink, 0.5, opacity=0.6)
        walls = chart.wall.T
        marks += level_lines(
            chart.distance, chart.clock_deg, walls, levels, points, thin, named=True, clear_of=written, style=style
        )
    over = np.nan_to_num(chart.over_limit.T, nan=BEYOND)
    if float(over.min()) < 0.0:
        thick = Stroke(style.ink, 1.6, (6.0, 2.6))
        marks += level_lines(chart.distance, chart.clock_deg, over, [0.0], points, thick, style=style)
    return marks


def _pin(frame: Frame, mark: WallMark, low: float, length: float, taken: list[F64], style: Style) -> list[Mark]:
    """Mark the least wall to a hazard and say it above or below, clear of the words ``taken`` by others."""
    share = (mark.distance - low) / length
    anchor: Anchor = "start" if share < 0.12 else "end" if share > 0.88 else "middle"
    half = 0.5 * LETTER * len(mark.words)
    middle = share + {"start": half, "end": -half, "middle": 0.0}[anchor]
    up = mark.clock_deg > LINE_DEG - 180.0
    offsets = [k * sign for k in (1.0, 1.9, 2.8) for sign in ((1.0, -1.0) if up else (-1.0, 1.0))]
    places = [np.array([middle, mark.clock_deg - k * LINE_DEG, half]) for k in offsets]
    clear = [p for p in places if not any(_meet(p, other) for other in taken)]
    chosen = (clear or places)[0]
    taken.append(chosen)
    x = frame.x(mark.distance)
    return [
        Spot(place(x, frame.y(-mark.clock_deg)), "plus", 9.0, style.ink),
        Words(
            place(x, frame.y(-float(chosen[1]))), mark.words, style.small_size, style.ink, anchor, ground=style.paper
        ),
    ]


def _meet(one: F64, other: F64) -> bool:
    """Return whether two words meet, each its middle along and up, and half its width."""
    return bool(abs(one[0] - other[0]) < one[2] + other[2] and abs(one[1] - other[1]) < 0.85 * LINE_DEG)


def _bar(frame: Frame, chart: WallChart, style: Style) -> list[Mark]:
    thin = "; dashed: thinner than the limit" if float(np.nanmin(chart.over_limit, initial=BEYOND)) < 0.0 else ""
    unknown = "; grey: not known" if np.isnan(chart.wall).any() else ""
    return colour_bar(
        0.30 * WIDTH,
        frame.bottom + 38.0,
        0.70 * WIDTH,
        chart.scale.ramp,
        chart.scale.marks,
        f"{chart.scale.words}{thin}{unknown}",
        (chart.scale.low_words, chart.scale.high_words),
        style,
    )
