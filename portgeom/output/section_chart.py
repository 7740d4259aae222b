"""What does every station look like, as it is and as wanted, looking in?"""

from __future__ import annotations

from dataclasses import dataclass
from math import ceil
from typing import TYPE_CHECKING, TypeAlias

import numpy as np

from portgeom.geometry.arrays import F64, frozen
from portgeom.job.units import length_from_mm
from portgeom.job.values import Units
from portgeom.model.roof_end import TURNED_DEG
from portgeom.output.chart_style import STYLE, Style
from portgeom.output.figures import new_figure
from portgeom.output.names import short
from portgeom.output.shown import Shown
from portgeom.questions.whole import Answers

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure
    from matplotlib.patches import Rectangle
    from matplotlib.path import Path

LOOKING_IN = "Looking in from the manifold face, deck down"
FROM_CHAMBER = "As seen from the chamber, the side of the roof up: left and right swap"

Dashes: TypeAlias = "str | tuple[float, tuple[float, ...]]"

COLUMNS = 5
"""Sections in a row."""

DRAWN_WITHIN = 3e-4
"""Outlines are drawn within this share of a section's cell: a twentieth of a line's width."""


@dataclass(frozen=True, slots=True)
class Section:
    """One station's section in the units shown, (u, v) about the path.

    Attributes
    ----------
    present, wanted : (n, 2), (k, 2) float
        Closed outlines without a repeated end.
    title, below : str
        Its name, and its areas in words.
    from_chamber : bool
        Drawn as seen from the chamber: u already points to the left.
    """

    present: F64
    wanted: F64
    title: str
    below: str
    from_chamber: bool


@dataclass(frozen=True, slots=True)
class SectionChart:
    """All sections of one stage, those after the turn a second time as seen from the chamber."""

    units: Units
    left_wall: str
    right_wall: str
    looking_in: tuple[Section, ...]
    from_chamber: tuple[Section, ...]


def section_chart(answer: Answers, shown: Shown) -> SectionChart:
    """Return the sections of one stage of a port."""
    scale = length_from_mm(1.0, shown.units)
    chart, rows = answer.port.chart, answer.stage.stage.sections.rows
    normal = chart.planes.normal
    turned = np.degrees(np.arccos(np.clip(normal @ normal[0], -1.0, 1.0)))
    after = answer.removal.after.area_mm2
    looking, chamber = [], []
    for row, slab, s in zip(rows, answer.stage.slab, answer.stage.distance_mm, strict=True):
        present = row.outline.points_mm * scale
        wanted = answer.wanted.polygons[slab] * scale
        place = f", {row.place}" if row.place else ""
        more = float(after[slab]) - row.outline.area_mm2
        below = (
            shown.area(row.outline.area_mm2)
            if more < 0.5
            else f"{shown.area(row.outline.area_mm2)}, {shown.area_number(more)} to come off"
        )
        name = short(row.station, 12)
        title = f"{name}{place}, at {shown.length(float(s))}"
        looking.append(Section(frozen(present), frozen(wanted), title, below, False))
        if turned[slab] > TURNED_DEG:
            flip = np.array([-1.0, 1.0])
            chamber.append(Section(frozen(present * flip), frozen(wanted * flip), title, below, True))
    port = answer.port.port
    return SectionChart(shown.units, port.left_wall, port.right_wall, tuple(looking), tuple(chamber))


def draw_sections(chart: SectionChart, style: Style = STYLE) -> Figure:
    """Return the drawing of all sections, every one at the same scale."""
    every = np.concatenate([p for s in chart.looking_in for p in (s.present, s.wanted)])
    reach = np.abs(every).max(axis=0)
    cell = np.array([2.0 * reach[0] * 1.12, (every[:, 1].max() - every[:, 1].min()) * 1.36])
    top = float(every[:, 1].max())
    left, right = short(chart.left_wall, 24), short(chart.right_wall, 24)
    blocks = [(f"{LOOKING_IN} ({left} at the left, {right} at the right)", chart.looking_in)]
    if chart.from_chamber:
        blocks.append((f"{FROM_CHAMBER} ({right} at the left, {left} at the right)", chart.from_chamber))
    columns = min(COLUMNS, max(2, len(chart.looking_in)))
    width = 9.0
    per = width / (columns * cell[0])
    head = 0.30 / per
    lines = sum(ceil(len(sections) / columns) for _, sections in blocks)
    total = lines * cell[1] + len(blocks) * head
    figure = new_figure(width, float(total * per) + 0.3)
    axes = figure.add_axes((0.0, 0.0, 1.0, 1.0))
    axes.set_axis_off()
    axes.set_xlim(0.0, columns * cell[0])
    axes.set_ylim(-total - 0.3 / per, 0.0)
    down = 0.0
    for words, sections in blocks:
        axes.text(0.12 / per, -down - 0.5 * head, words, fontweight="bold", va="center")
        down += head
        for k, section in enumerate(sections):
            row, column = divmod(k, columns)
            centre = np.array([(column + 0.5) * cell[0], -down - row * cell[1] - 0.15 * cell[1] - top])
            _draw(axes, section, centre, cell, top, style)
        down += ceil(len(sections) / columns) * cell[1]
    _key(axes, total, per, style)
    return figure


def _draw(axes: Axes, section: Section, centre: F64, cell: F64, top: float, style: Style) -> None:
    from matplotlib.patches import PathPatch

    near = DRAWN_WITHIN * float(cell[0])
    present, wanted = section.present + centre, section.wanted + centre
    axes.add_artist(PathPatch(_ring(wanted, near), facecolor=style.metal, edgecolor="none", zorder=1))
    axes.add_artist(
        PathPatch(_ring(present, near), facecolor=style.neutral, edgecolor=style.present, linewidth=1.3, zorder=2)
    )
    axes.add_artist(
        PathPatch(
            _ring(wanted, near),
            facecolor="none",
            edgecolor=style.wanted,
            linewidth=1.1,
            linestyle=(0, (3, 1.5)),
            zorder=3,
        )
    )
    arm = 0.05 * cell[0]
    for step in (np.array([arm, 0.0]), np.array([0.0, arm])):
        axes.plot(*np.stack([centre - step, centre + step]).T, color=style.quiet, linewidth=0.8, zorder=4)
    axes.text(centre[0], centre[1] + top + 0.075 * cell[1], section.title, ha="center", va="center", fontsize=8.0)
    axes.text(
        centre[0],
        centre[1] + 0.17 * cell[1],
        section.below.replace(", ", "\n"),
        ha="center",
        va="center",
        fontsize=style.small_size,
        color=style.quiet,
        linespacing=1.3,
        zorder=4,
    )


def _ring(points: F64, near: float) -> Path:
    """Return a closed path through points, without those that lie within ``near`` of a straight run."""
    import shapely
    from matplotlib.path import Path as Drawn

    ring = np.concatenate([points, points[:1]])
    return Drawn(shapely.get_coordinates(shapely.simplify(shapely.LineString(ring), near)), closed=True)


def _key(axes: Axes, total: float, per: float, style: Style) -> None:
    """Say along the foot what is what."""
    y = -total - 0.12 / per
    x = 0.12 / per
    for words, face, edge, dashes in (
        ("as it is", style.neutral, style.present, "solid"),
        ("wanted", "none", style.wanted, (0, (3, 1.5))),
        ("metal to take off", style.metal, "none", "solid"),
    ):
        axes.add_artist(_box(x, y, 0.28 / per, 0.12 / per, face, edge, dashes))
        axes.text(x + 0.36 / per, y, words, va="center", fontsize=style.small_size)
        x += 1.6 / per
    axes.plot([x, x + 0.16 / per], [y, y], color=style.quiet, linewidth=0.8)
    axes.plot([x + 0.08 / per] * 2, [y - 0.08 / per, y + 0.08 / per], color=style.quiet, linewidth=0.8)
    axes.text(x + 0.26 / per, y, "path", va="center", fontsize=style.small_size)


def _box(x: float, y: float, wide: float, tall: float, face: str, edge: str, dashes: Dashes) -> Rectangle:
    from matplotlib.patches import Rectangle as Drawn

    return Drawn((x, y - 0.5 * tall), wide, tall, facecolor=face, edgecolor=edge, linestyle=dashes)
