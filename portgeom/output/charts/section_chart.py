"""What does every station look like, as it is and as wanted, looking in?"""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import ceil
from typing import TYPE_CHECKING, TypeAlias

import numpy as np

from portgeom.geometry.arrays import F64, frozen
from portgeom.job.units import length_from_mm
from portgeom.job.values import Units
from portgeom.model.roof_end import TURNED_DEG
from portgeom.output.charts.chart_style import STYLE, Style
from portgeom.output.charts.figures import new_figure
from portgeom.output.words.names import short
from portgeom.output.words.shown import Shown
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

MOST_ROWS = 5
"""Rows of sections in one chart, so that it prints on one page."""

SEEN_MM2 = 0.5
"""Less than this prints as 0 mm2 and is not told."""

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
    """Sections of one stage, as many as fit a page; those after the turn also as seen from the chamber.

    ``low`` and ``high`` (2,) hold every section of the stage, so that all its pages have one scale.
    """

    units: Units
    left_wall: str
    right_wall: str
    low: F64
    high: F64
    looking_in: tuple[Section, ...]
    from_chamber: tuple[Section, ...]


def section_charts(answer: Answers, shown: Shown) -> tuple[SectionChart, ...]:
    """Return all sections of one stage of a port, on as many charts as they need."""
    looking = _sections(answer, shown)
    normal = answer.port.chart.planes.normal
    turned = np.degrees(np.arccos(np.clip(normal @ normal[0], -1.0, 1.0)))[answer.stage.slab]
    chamber = [_from_chamber(s) for s, turn in zip(looking, turned, strict=True) if turn > TURNED_DEG]
    pages: list[tuple[list[Section], list[Section]]] = [([], [])]
    for view, sections in enumerate((looking, chamber)):
        for section in sections:
            if _rows(pages[-1], extra=view) > MOST_ROWS:
                pages.append(([], []))
            pages[-1][view].append(section)
    every = np.concatenate([p for s in (*looking, *chamber) for p in (s.present, s.wanted)])
    low, high = frozen(every.min(axis=0)), frozen(every.max(axis=0))
    port = answer.port.port
    return tuple(
        SectionChart(shown.units, port.left_wall, port.right_wall, low, high, tuple(first), tuple(then))
        for first, then in pages
    )


def _sections(answer: Answers, shown: Shown) -> list[Section]:
    """Return every station's section, looking in."""
    scale = length_from_mm(1.0, shown.units)
    after = answer.removal.after.area_mm2
    sections = []
    stage = answer.stage
    for row, slab, s in zip(stage.stage.sections.rows, stage.slab, stage.distance_mm, strict=True):
        place = f", {row.place}" if row.place else ""
        area, more = row.outline.area_mm2, float(after[slab]) - row.outline.area_mm2
        below = shown.area(area)
        if more >= SEEN_MM2:
            below += f", {shown.area_number(more)} to come off"
        sections.append(
            Section(
                present=frozen(row.outline.points_mm * scale),
                wanted=frozen(answer.wanted.polygons[slab] * scale),
                title=f"{short(row.station, 12)}{place}, at {shown.length(float(s))}",
                below=below,
                from_chamber=False,
            )
        )
    return sections


def _from_chamber(section: Section) -> Section:
    flip = np.array([-1.0, 1.0])
    return replace(
        section, present=frozen(section.present * flip), wanted=frozen(section.wanted * flip), from_chamber=True
    )


def _rows(page: tuple[list[Section], list[Section]], *, extra: int) -> int:
    """Return how many rows a page has once one more section is in its part ``extra``."""
    return sum(ceil((len(part) + (view == extra)) / COLUMNS) for view, part in enumerate(page))


def draw_sections(chart: SectionChart, style: Style = STYLE) -> Figure:
    """Return the drawing of all sections, every one at the same scale."""
    wide = 2.0 * float(np.maximum(np.abs(chart.low), np.abs(chart.high))[0])
    cell = np.array([1.12 * wide, 1.36 * float(chart.high[1] - chart.low[1])])
    top = float(chart.high[1])
    left, right = short(chart.left_wall, 24), short(chart.right_wall, 24)
    blocks = []
    if chart.looking_in:
        blocks.append((f"{LOOKING_IN} ({left} at the left, {right} at the right)", chart.looking_in))
    if chart.from_chamber:
        blocks.append((f"{FROM_CHAMBER} ({right} at the left, {left} at the right)", chart.from_chamber))
    columns = COLUMNS
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
