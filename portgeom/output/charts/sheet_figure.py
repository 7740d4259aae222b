"""How does a drawing become a figure, for PNG and PDF files?"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from portgeom.output.charts.figures import new_figure
from portgeom.output.charts.sheet import Curve, Mark, Painting, Region, Sheet, Spot, Stroke, Words

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

POINTS_PER_IN = 72.0
SHAPES = {"dot": "o", "diamond": "D", "plus": "+", "tick": "|"}
ALIGN = {"start": "left", "middle": "center", "end": "right"}


def figure_of(drawing: Sheet) -> Figure:
    """Return a drawing as a figure of its own size. Make it and write it within ``figures.look``."""
    figure = new_figure(drawing.width / POINTS_PER_IN, drawing.height / POINTS_PER_IN)
    axes = figure.add_axes((0.0, 0.0, 1.0, 1.0))
    axes.set_axis_off()
    axes.set_xlim(0.0, drawing.width)
    axes.set_ylim(drawing.height, 0.0)
    for order, mark in enumerate(drawing.marks):
        _draw(axes, mark, order)
    return figure


def _draw(axes: Axes, mark: Mark, order: int) -> None:
    from matplotlib.patches import Polygon

    if isinstance(mark, Curve):
        axes.plot(*mark.points.T, zorder=order, scalex=False, scaley=False, **_line(mark.stroke))
    elif isinstance(mark, Region):
        edge: dict[str, Any] = {"edgecolor": "none"} if mark.edge is None else _edge(mark.edge)
        fill = {"facecolor": "none"} if mark.fill is None else {"facecolor": (mark.fill, mark.opacity)}
        axes.add_artist(Polygon(mark.points, closed=True, zorder=order, **fill, **edge))
    elif isinstance(mark, Spot):
        edge_colour = mark.edge or mark.colour
        style: dict[str, Any] = {"color": mark.colour, "markeredgecolor": edge_colour, "markersize": mark.size}
        axes.plot([mark.at[0]], [mark.at[1]], SHAPES[mark.shape], zorder=order, scalex=False, scaley=False, **style)
    elif isinstance(mark, Words):
        _words(axes, mark, order)
    else:
        _painting(axes, mark, order)


def _words(axes: Axes, words: Words, order: int) -> None:
    ground = {"boxstyle": "round,pad=0.15", "facecolor": words.ground, "edgecolor": "none", "alpha": 0.9}
    axes.text(
        float(words.at[0]),
        float(words.at[1]),
        words.text,
        fontsize=words.size,
        color=words.colour,
        ha=ALIGN[words.anchor],
        va="center",
        fontweight="bold" if words.bold else "normal",
        rotation=90.0 if words.turned else 0.0,
        bbox=ground if words.ground is not None else None,
        zorder=order,
    )


def _painting(axes: Axes, image: Painting, order: int) -> None:
    from matplotlib.patches import Polygon

    extent = float(image.low[0]), float(image.high[0]), float(image.high[1]), float(image.low[1])
    limits = axes.get_xlim(), axes.get_ylim()
    drawn = axes.imshow(image.pixels, extent=extent, aspect="auto", interpolation="none", zorder=order)
    axes.set_xlim(*limits[0])
    axes.set_ylim(*limits[1])
    if image.ring is not None:
        ring = Polygon(image.ring, closed=True, facecolor="none", edgecolor="none")
        axes.add_artist(ring)
        drawn.set_clip_path(ring)


def _line(stroke: Stroke) -> dict[str, Any]:
    style: Any = (0.0, tuple(d / stroke.width for d in stroke.dashes)) if stroke.dashes else "solid"
    return {"color": stroke.colour, "linewidth": stroke.width, "linestyle": style, "alpha": stroke.opacity}


def _edge(stroke: Stroke) -> dict[str, Any]:
    line = _line(stroke)
    return {"edgecolor": line["color"], "linewidth": line["linewidth"], "linestyle": line["linestyle"]}
