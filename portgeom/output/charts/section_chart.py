"""What does every station look like, as it is and as wanted, looking in?"""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import ceil

import numpy as np

from portgeom.geometry.arrays import F64, frozen
from portgeom.job.units import length_from_mm
from portgeom.job.values import Units
from portgeom.model.roof_end import TURNED_DEG
from portgeom.output.charts.chart_style import STYLE, Style
from portgeom.output.charts.sheet import (
    WIDTH,
    Mark,
    Region,
    Sheet,
    Stroke,
    Words,
    box,
    line,
    lines_of_words,
    place,
    sheet,
)
from portgeom.output.words.names import short
from portgeom.output.words.shown import Shown
from portgeom.questions.whole import Answers

LOOKING_IN = "Looking in from the manifold face, deck down"
FROM_CHAMBER = "As seen from the chamber, the side of the roof up: left and right swap"

COLUMNS = 5
"""Sections in a row."""

MOST_ROWS = 5
"""Rows of sections in one chart, so that it prints on one page."""

SEEN_MM2 = 0.5
"""Less than this prints as 0 mm2 and is not told."""

DRAWN_WITHIN = 0.06
"""Outlines are drawn within so many points: a twentieth of a line's width."""

HEAD = 22.0
"""Height kept for the words over a block of sections."""


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


def draw_sections(chart: SectionChart, style: Style = STYLE) -> Sheet:
    """Return the drawing of all sections, every one at the same scale."""
    wide = 2.0 * float(np.maximum(np.abs(chart.low), np.abs(chart.high))[0])
    per = WIDTH / (COLUMNS * 1.12 * wide)
    cell = np.array([WIDTH / COLUMNS, 1.36 * float(chart.high[1] - chart.low[1]) * per])
    top = float(chart.high[1]) * per
    left, right = short(chart.left_wall, 24), short(chart.right_wall, 24)
    blocks = []
    if chart.looking_in:
        blocks.append((f"{LOOKING_IN} ({left} at the left, {right} at the right)", chart.looking_in))
    if chart.from_chamber:
        blocks.append((f"{FROM_CHAMBER} ({right} at the left, {left} at the right)", chart.from_chamber))
    marks: list[Mark] = []
    down = 0.0
    for words, sections in blocks:
        marks.append(Words(place(9.0, down + 0.5 * HEAD), words, style.font_size, style.ink, "start", bold=True))
        down += HEAD
        for k, section in enumerate(sections):
            row, column = divmod(k, COLUMNS)
            centre = np.array([(column + 0.5) * cell[0], down + row * cell[1] + 0.15 * cell[1] + top])
            marks += _draw(section, centre, cell, top, per, style)
        down += ceil(len(sections) / COLUMNS) * cell[1]
    marks += _key(down + 9.0, style)
    return sheet(WIDTH, down + 20.0, marks)


def _draw(section: Section, centre: F64, cell: F64, top: float, per: float, style: Style) -> list[Mark]:
    present = _ring(section.present * (per, -per) + centre)
    wanted = _ring(section.wanted * (per, -per) + centre)
    arm = 0.05 * float(cell[0])
    quiet = Stroke(style.quiet, 0.8)
    x, y = float(centre[0]), float(centre[1])
    return [
        Region(wanted, style.metal),
        Region(present, style.neutral, Stroke(style.present, 1.3)),
        Region(wanted, None, Stroke(style.wanted, 1.1, (3.3, 1.65))),
        line(x - arm, y, x + arm, y, quiet),
        line(x, y - arm, x, y + arm, quiet),
        Words(place(x, y - top - 0.075 * float(cell[1])), section.title, 8.0, style.ink),
        *lines_of_words(x, y - 0.17 * float(cell[1]), section.below.replace(", ", "\n"), style.small_size, style.quiet),
    ]


def _ring(points: F64) -> F64:
    """Return a ring without those points that lie within a twentieth of a line's width of a straight run."""
    import shapely

    ring = np.concatenate([points, points[:1]])
    return shapely.get_coordinates(shapely.simplify(shapely.LineString(ring), DRAWN_WITHIN))[:-1]


def _key(y: float, style: Style) -> list[Mark]:
    """Say along the foot what is what."""
    x = 9.0
    marks: list[Mark] = []
    for words, fill, edge in (
        ("as it is", style.neutral, Stroke(style.present, 1.2)),
        ("wanted", None, Stroke(style.wanted, 1.2, (3.6, 1.8))),
        ("metal to take off", style.metal, None),
    ):
        marks.append(box(x, y - 4.5, x + 20.0, y + 4.5, fill, edge))
        marks.append(Words(place(x + 26.0, y), words, style.small_size, style.ink, "start"))
        x += 115.0
    quiet = Stroke(style.quiet, 0.8)
    marks += [line(x, y, x + 11.5, y, quiet), line(x + 5.75, y - 5.75, x + 5.75, y + 5.75, quiet)]
    marks.append(Words(place(x + 19.0, y), "path", style.small_size, style.ink, "start"))
    return marks
