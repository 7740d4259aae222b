"""What does a port look like in three dimensions, drawn without any graphics driver?"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, cast

import numpy as np

from portgeom.geometry.arrays import F64
from portgeom.output.charts.chart_style import STYLE, Style
from portgeom.output.charts.figures import look, new_figure, png_bytes
from portgeom.output.scene.painted import hidden, painted
from portgeom.output.scene.port_scene import PortScene
from portgeom.output.scene.projection import VIEWS, View, ViewName
from portgeom.output.words.names import short

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

SIZE_IN = (9.0, 5.85)
"""A picture is laid out on at least this; larger ones in pixels are drawn finer, not emptier."""

SIZE = (1620, 1053)
"""Pixels of a picture unless said otherwise."""

HEAD_IN, FOOT_IN = 0.62, 0.72
"""Height kept for the title above and the colour bar below."""


def drawn_picture(
    scene: PortScene, *, view: ViewName | View = "roof", size: tuple[int, int] = SIZE, round_about: bool = False
) -> bytes:
    """Return a PNG of a scene, ``size`` pixels wide and high; its words grow with it.

    ``round_about`` gives it the scale and the middle that it has from all sides round it.
    """
    dpi = _dpi(size)
    way = view if isinstance(view, View) else VIEWS[view]
    with look():
        figure = draw_scene(scene, way, (size[0] / dpi, size[1] / dpi), round_about=round_about)
        return png_bytes(figure, dpi=dpi)


def _dpi(size: tuple[int, int]) -> float:
    return min(size[0] / SIZE_IN[0], size[1] / SIZE_IN[1])


def draw_scene(
    scene: PortScene, view: View, size_in: tuple[float, float] = SIZE_IN, *, round_about: bool = False,
    style: Style = STYLE,
) -> Figure:  # fmt: skip
    """Return the drawing of a scene with title, station names, peak, axes and colour bar."""
    from matplotlib.collections import PolyCollection

    wide, tall = size_in
    figure = new_figure(wide, tall)
    axes = figure.add_axes((0.0, FOOT_IN / tall, 1.0, 1.0 - (HEAD_IN + FOOT_IN) / tall))
    axes.set_axis_off()
    pieces = painted(scene, view)
    low = pieces.quads_mm.min(axis=(0, 1))
    high = pieces.quads_mm.max(axis=(0, 1))
    if round_about:
        low, high = round_box(scene, view)
    _frame(axes, low, high, wide, tall - HEAD_IN - FOOT_IN)
    # a line round a piece closes the gap to the next; round a piece of glass it would be seen twice
    edges = np.where(pieces.glass[:, None], 0.0, pieces.colours)
    axes.add_collection(
        PolyCollection(
            cast(Any, pieces.quads_mm),
            facecolors=pieces.colours,
            edgecolors=edges,
            linewidths=0.4,
        ),
        autolim=False,
    )
    taken = _names(axes, scene, view, style)
    _shape_names(axes, scene, view, taken, style)
    _pin(axes, scene, view, style)
    _triad(figure, view, wide, tall, style)
    figure.text(0.15 / wide, 1.0 - 0.08 / tall, short(scene.title, 48), va="top", fontweight="bold")
    figure.text(
        1.0 - 0.15 / wide,
        1.0 - 0.08 / tall,
        f"the passage as a mould of it, {view.words}",
        ha="right",
        va="top",
        fontsize=style.small_size,
        color=style.quiet,
    )
    _bar(figure, scene, wide, tall, style)
    return figure


def round_box(scene: PortScene, view: View) -> tuple[F64, F64]:
    """Return a box (2,), (2,) of the picture that holds a scene turned any way about the upright."""
    every = np.concatenate([scene.skin_mm.reshape(-1, 3), *(shape.vertices_mm for shape in scene.shapes)])
    middle = 0.5 * (every.min(axis=0) + every.max(axis=0))
    reach = float(np.linalg.norm((every - middle)[:, :2], axis=1).max())
    tall = 0.5 * float(np.ptp(every[:, 2]))
    out = view.axes()[2]
    flat = float(np.hypot(out[0], out[1]))
    half = np.array([reach, tall * flat + reach * abs(float(out[2]))])
    centre = view.project(middle)[:2]
    return centre - half, centre + half


def _frame(axes: Axes, low: F64, high: F64, wide: float, tall: float) -> None:
    """Fit the picture into its axes with room round it, the same scale both ways."""
    room = 1.16 * float(max((high[0] - low[0]) / wide, (high[1] - low[1]) / tall))
    middle = 0.5 * (low + high)
    axes.set_xlim(middle[0] - 0.5 * room * wide, middle[0] + 0.5 * room * wide)
    axes.set_ylim(middle[1] - 0.5 * room * tall, middle[1] + 0.5 * room * tall)


def _names(axes: Axes, scene: PortScene, view: View, style: Style) -> list[F64]:
    """Write the stations' names along that side of the port where they have more room; return their places."""
    whole = view.project(scene.skin_mm.mean(axis=1))[:, :2]
    left = _places(scene, view, whole, 1.0)
    right = _places(scene, view, whole, -1.0)
    ends, aside = max((left, right), key=lambda side: float(np.linalg.norm(np.diff(side[0], axis=0), axis=1).sum()))
    taken: list[F64] = []
    low, high = axes.get_xlim()
    for ring, end, away in zip(scene.rings, ends, aside, strict=True):
        if any(np.linalg.norm(end - other) < 0.018 * (high - low) for other in taken):
            continue
        taken.append(end)
        axes.annotate(
            short(ring.station),
            tuple(end),
            xytext=tuple(9.0 * away),
            textcoords="offset points",
            ha="center",
            va="center",
            fontsize=style.small_size,
        )
    return taken


def _places(scene: PortScene, view: View, whole: F64, side: float) -> tuple[F64, F64]:
    """Return the outermost point of every section on one side of the way the port runs, and which way that is."""
    ends, away = [], []
    for ring in scene.rings:
        places = view.project(ring.points_mm)[:, :2]
        nearest = int(np.argmin(np.linalg.norm(whole - places.mean(axis=0), axis=1)))
        span = whole[max(0, nearest - 2) : nearest + 3]
        along = span[-1] - span[0]
        length = float(np.linalg.norm(along))
        aside = side * along[::-1] * (-1.0, 1.0) / length if length > 0.0 else np.array([side, 0.0])
        ends.append(places[int(np.argmax(places @ aside))])
        away.append(aside)
    return np.array(ends), np.array(away)


def _shape_names(axes: Axes, scene: PortScene, view: View, taken: list[F64], style: Style) -> None:
    """Write what lies behind the walls, each at an end of it that faces away from the port, clear of other names."""
    if not scene.shapes:
        return
    middle = view.project(scene.skin_mm.mean(axis=(0, 1)))[:2]
    (left, right), (low, high) = axes.get_xlim(), axes.get_ylim()
    letter, line = 0.0075 * (right - left), 0.035 * (high - low)
    clear = [(place, np.array([2.0 * letter, line])) for place in taken]
    if scene.pin is not None:
        foot = view.project(scene.pin.place_mm)[:2]
        clear.append((np.array([foot[0], 0.5 * (foot[1] + high)]), np.array([letter, 0.5 * (high - foot[1]) + line])))
    for shape in scene.shapes:
        name = short(shape.name, 24)
        half = np.array([0.5 * letter * len(name) + letter, 0.5 * line])
        ends = _ends(view.project(shape.vertices_mm)[:, :2], middle, half)
        free = [e for e in ends if not any((np.abs(e - place) < half + other).all() for place, other in clear)]
        end = free[0] if free else ends[0]
        clear.append((end, half))
        axes.text(
            float(end[0]),
            float(end[1]),
            name,
            ha="center",
            va="center",
            fontsize=style.small_size,
            color=style.hidden,
            fontweight="bold",
        )


def _ends(places: F64, middle: F64, half: F64) -> list[F64]:
    """Return where beside a shape its name could stand, the furthest from the port's middle first."""
    away = places.mean(axis=0) - middle
    start = float(np.arctan2(away[1], away[0]))
    turns = np.radians([0.0, 30.0, -30.0, 60.0, -60.0, 90.0, -90.0, 135.0, -135.0, 180.0])
    ways = [np.array([np.cos(angle), np.sin(angle)]) for angle in start + turns]
    return [places[int(np.argmax(places @ way))] + gap * half * way for gap in (1.15, 2.5) for way in ways]


def _pin(axes: Axes, scene: PortScene, view: View, style: Style) -> None:
    if scene.pin is None:
        return
    words = short(scene.pin.words, 70)
    if hidden(scene, view, scene.pin.place_mm):
        axes.text(0.5, 1.0, f"{words} (out of sight from here)", transform=axes.transAxes, ha="center")
        return
    place = view.project(scene.pin.place_mm)[:2]
    low, high = axes.get_xlim()
    across = (place[0] - low) / (high - low)
    axes.annotate(
        words,
        tuple(place),
        xytext=(float(np.clip(across, 0.3, 0.7)), 1.0),
        textcoords="axes fraction",
        ha="center",
        va="bottom",
        arrowprops={"arrowstyle": "-", "color": style.ink, "linewidth": 0.8, "shrinkB": 0},
    )
    axes.plot(*place, "o", color=style.paper, markeredgecolor=style.ink, markersize=4.5, markeredgewidth=1.0)


def _triad(figure: Figure, view: View, wide: float, tall: float, style: Style) -> None:
    """Draw which way is right, in and up."""
    side = 1.1
    axes = figure.add_axes((0.1 / wide, 0.1 / tall, side / wide, side / tall))
    axes.set_axis_off()
    axes.set_xlim(-1.8, 1.8)
    axes.set_ylim(-1.8, 1.8)
    tips = view.project(np.eye(3))
    for tip, words in sorted(zip(tips, ("right", "in", "up"), strict=True), key=lambda t: t[0][2]):
        flat = tip[:2]
        if np.linalg.norm(flat) < 0.3:
            continue
        axes.annotate("", tuple(flat), xytext=(0.0, 0.0), arrowprops={"arrowstyle": "-|>", "color": style.ink})
        axes.text(
            float(1.32 * flat[0]), float(1.32 * flat[1]), words, ha="center", va="center", fontsize=style.small_size
        )


def _bar(figure: Figure, scene: PortScene, wide: float, tall: float, style: Style) -> None:
    from matplotlib.cm import ScalarMappable

    colours, norm = scene.scale.colours()
    axes = figure.add_axes((0.36, 0.50 / tall, 0.34, 0.11 / tall))
    bar = figure.colorbar(
        ScalarMappable(norm, colours), cax=axes, orientation="horizontal", ticks=list(scene.scale.marks)
    )
    bar.ax.set_xticklabels([f"{m:g}" for m in scene.scale.marks])
    bar.ax.tick_params(labelsize=style.small_size)
    bar.outline.set_linewidth(0.5)
    bar.set_label(scene.scale_words, fontsize=style.small_size)
    middle = 0.555 / tall
    figure.text(0.35, middle, scene.scale.low_words, ha="right", va="center", fontsize=style.small_size)
    figure.text(0.71, middle, scene.scale.high_words, ha="left", va="center", fontsize=style.small_size)
