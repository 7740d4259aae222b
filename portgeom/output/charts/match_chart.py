"""What does a match look like: the three outlines on each other, their holes, and the steps round the clock?"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, TypeAlias

import numpy as np

from portgeom.geometry.arrays import F64
from portgeom.job.units import length_from_mm
from portgeom.job.values import Port, Units
from portgeom.output.charts.chart_style import STYLE, Style
from portgeom.output.charts.figures import equal_axes, new_figure
from portgeom.output.words.match_doc import fine
from portgeom.output.words.names import short
from portgeom.output.words.shown import Shown
from portgeom.questions.match.match import Match

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

CONVENTION = "looking in from the manifold face, deck down; the figures are the manifold's steps"

Dashes: TypeAlias = "str | tuple[float, tuple[float, ...]]"

MANIFOLD, GASKET, AGAINST = "#8f3206", "#7a6a00", "#b00020"


@dataclass(frozen=True, slots=True)
class MatchChart:
    """A match in the units shown. ``labels`` are what each hour says, with whether it faces the flow."""

    units: Units
    left_wall: str
    right_wall: str
    found: Match
    scale: float
    labels: tuple[tuple[str, bool], ...]


def match_chart(found: Match, port: Port, shown: Shown) -> MatchChart:
    """Return what the drawing of a match shows."""
    labels = []
    for step in found.steps:
        within = step.manifold or step.gasket
        labels.append(("" if within is None else fine(within.best_mm, shown), step.facing == "faces the flow"))
    return MatchChart(
        shown.units, port.left_wall, port.right_wall, found, length_from_mm(1.0, shown.units), tuple(labels)
    )


def draw_match(chart: MatchChart, style: Style = STYLE) -> Figure:
    """Return the drawing of a match."""
    found, scale = chart.found, chart.scale
    rings = [found.port_mm, found.matched_mm, found.pins_mm]
    rings += [p.outline_mm for p in (found.gasket, found.manifold) if p is not None]
    every = np.concatenate(rings) * scale
    pad = 9.0 * scale
    figure = new_figure(7.0, 5.0)
    axes = equal_axes(figure, every.min(axis=0) - pad, every.max(axis=0) + pad, across_in=7.0, tallest_in=5.2)
    axes.set_xlabel(f"across, {chart.units}: {short(chart.left_wall, 24)} left, {short(chart.right_wall, 24)} right")
    axes.set_ylabel(f"up, {chart.units}")
    _ring(axes, found.port_mm * scale, style.present, "port", "-", 1.8)
    if found.gasket is not None:
        _ring(axes, found.gasket.outline_mm * scale, GASKET, "gasket", (0, (1.0, 1.2)), 1.4)
    if found.manifold is not None:
        _ring(axes, found.manifold.outline_mm * scale, MANIFOLD, "manifold", (0, (5.0, 2.0)), 1.4)
        _ring(axes, found.matched_mm * scale, style.wanted, "common line to cut to", (0, (6.0, 1.5, 1.0, 1.5)), 0.9)
    _pins(axes, found, scale, style)
    places = found.places
    for place, out, (words, against) in zip(places.place_mm, places.out, chart.labels, strict=True):
        at = place * scale
        axes.plot(*at, marker="o", markersize=2.6, color=AGAINST if against else style.present, linestyle="none")
        label = at + out * 5.0 * scale
        weight = "bold" if against else "normal"
        axes.text(
            float(label[0]), float(label[1]), words, ha="center", va="center", fontsize=style.small_size,
            fontweight=weight, color=AGAINST if against else style.ink,
        )  # fmt: skip
    axes.legend(loc="lower left", bbox_to_anchor=(0.0, 1.0), ncols=4, borderaxespad=0.2)
    if any(against for _, against in chart.labels):
        axes.text(
            0.99, 0.01, "bold: faces the flow", transform=axes.transAxes, ha="right", va="bottom",
            fontsize=style.small_size, color=AGAINST,
        )  # fmt: skip
    return figure


def _ring(axes: Axes, points: F64, colour: str, label: str, dashes: Dashes, width: float) -> None:
    closed = np.concatenate([points, points[:1]])
    axes.plot(*closed.T, color=colour, linestyle=dashes, linewidth=width, label=label)


def _pins(axes: Axes, found: Match, scale: float, style: Style) -> None:
    from matplotlib.patches import Circle

    for pin, diameter in zip(found.pins_mm, found.pin_diameter_mm, strict=True):
        radius = 0.5 * (float(diameter) if np.isfinite(diameter) else 3.0) * scale
        axes.add_artist(Circle(tuple(pin * scale), radius, facecolor=style.faint, edgecolor=style.quiet, linewidth=0.8))
    for part, colour in ((found.gasket, GASKET), (found.manifold, MANIFOLD)):
        if part is None:
            continue
        for hole, diameter in zip(part.holes_mm, part.hole_diameter_mm, strict=True):
            if np.isfinite(diameter):
                axes.add_artist(
                    Circle(
                        tuple(hole * scale), 0.5 * float(diameter) * scale, facecolor="none", edgecolor=colour,
                        linewidth=0.8,
                    )
                )  # fmt: skip
            else:
                axes.plot(*(hole * scale), marker="+", color=colour, markersize=7.0, linestyle="none")
