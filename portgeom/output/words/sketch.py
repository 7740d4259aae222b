"""What can be drawn with letters alone: a section, and the area along the port, for a terminal and a log?

Plain ASCII, at most 80 columns. A letter is taken to be twice as tall as it is wide.
"""

from __future__ import annotations

import numpy as np

from portgeom.geometry.arrays import F64, Bool
from portgeom.model.lofted import LoftedPort
from portgeom.output.words.names import harmless
from portgeom.output.words.shown import Shown
from portgeom.questions.shape.profile import Profile
from portgeom.questions.templates.sections import PlacedSection

TALL, WIDE = 19, 60
"""Most rows and columns of a section."""

ROWS, COLUMNS = 12, 62
"""Rows and columns of the area's field."""

METAL, WALL, PATH = ":", "#", "+"
AREA, LINE = "*", "."


def section_sketch(section: PlacedSection, port: LoftedPort, shown: Shown) -> str:
    """Return a section looking in: its wall, the metal wanted off it, and the path.

    A letter is wall where the outline runs through its field, and metal where most of the field lies between the
    section and the one wanted.
    """
    both = np.concatenate([section.present_mm, section.wanted_mm])
    low, high = both.min(axis=0), both.max(axis=0)
    step = max((high[1] - low[1]) / TALL, 2.0 * (high[0] - low[0]) / WIDE)
    columns, rows = max(1, round((high[0] - low[0]) / (0.5 * step))), max(1, round((high[1] - low[1]) / step))
    middle = 0.5 * (low + high)
    u = middle[0] + 0.5 * step * (np.arange(columns) - 0.5 * (columns - 1))
    v = middle[1] - step * (np.arange(rows) - 0.5 * (rows - 1))
    wall = _through(section.present_mm, u, v, step)
    metal = ~_inside(section.present_mm, u, v) & _inside(section.wanted_mm, u, v) & ~wall
    field = np.full((rows, columns), " ")
    field[metal], field[wall] = METAL, WALL
    row, column = int(np.argmin(np.abs(v))), int(np.argmin(np.abs(u)))
    if abs(v[row]) <= 0.5 * step and abs(u[column]) <= 0.25 * step:
        field[row, column] = PATH
    where = f"station {section.station}, " if section.station else ""
    names = f"{harmless(port.port.left_wall)[:24]:<{max(1, columns - 24)}}{harmless(port.port.right_wall)[:24]:>24}"
    lines = ["".join(row).rstrip() for row in field]
    told = f"{METAL} metal to take off, " if metal.any() else ""
    head = f"  Section at {where}{shown.length(section.distance_mm)}, looking in, deck down, roof up"
    return "\n".join(
        [
            head,
            f"  ({WALL} the wall as it is, {told}{PATH} the path)",
            *(f"    {x}".rstrip() for x in lines),
            f"    {names}",
        ]
    )


def _inside(outline: F64, u: F64, v: F64) -> Bool:
    """Return which of the places of a grid, rows of v by columns of u, lie inside an outline."""
    from shapely import Polygon, contains_xy

    across, up = np.meshgrid(u, v)
    return np.asarray(contains_xy(Polygon(outline), across, up), dtype=bool)


def _through(outline: F64, u: F64, v: F64, step: float) -> Bool:
    """Return through which fields of a grid an outline runs."""
    import shapely

    across, up = np.meshgrid(u, v)
    ring = shapely.LinearRing(outline)
    fields = shapely.box(across - 0.25 * step, up - 0.5 * step, across + 0.25 * step, up + 0.5 * step)
    return np.asarray(shapely.intersects(ring, fields), dtype=bool)


def area_sketch(result: Profile, shown: Shown) -> str:
    """Return the flow area over the path, with the line it is held against and the stations below."""
    s, area = result.distance_mm, result.flow_area_mm2
    corners = result.taper.line_mm2
    places = np.linspace(s[0], s[-1], COLUMNS)
    here = np.interp(places, s, area)
    line = np.interp(places, corners[:, 0], corners[:, 1], left=np.nan, right=np.nan)
    low, high = float(np.nanmin([here, line])), float(np.nanmax([here, line]))
    if high - low < 0.02 * high:  # a level area is drawn level, in the middle
        low, high = low - 0.06 * high, high + 0.05 * high  # on a row, not between two
    field = np.full((ROWS, COLUMNS), " ")
    for values, letter in ((line, LINE), (here, AREA)):
        known = np.isfinite(values)
        rows = np.round((high - values[known]) / (high - low) * (ROWS - 1)).astype(int)
        field[rows, np.flatnonzero(known)] = letter
    marks = {0: high, (ROWS - 1) // 2: high - (high - low) * ((ROWS - 1) // 2) / (ROWS - 1), ROWS - 1: low}
    labels = [shown.area_number(marks[k]) if k in marks else "" for k in range(ROWS)]
    wide = max(len(x) for x in labels)
    drawn = [f"  {text:>{wide}} |{''.join(row)}".rstrip() for text, row in zip(labels, field, strict=True)]
    names = _under([x.station for x in result.stations], [x.distance_mm for x in result.stations], s)
    ends = f"{shown.number(float(s[0]))}{shown.length(float(s[-1])):>{COLUMNS - len(shown.number(float(s[0])))}}"
    pad = " " * (wide + 4)
    return "\n".join(
        [
            f"  flow area, {shown.units}2, from the face to the last station ({AREA} as it is, {LINE} held against)",
            *drawn,
            f"  {'':>{wide}} +{'-' * COLUMNS}",
            f"{pad}{ends}",
            f"{pad}{names}".rstrip(),
        ]
    )


def _under(names: list[str], distances: list[float], s: F64) -> str:
    """Return the stations' names under their places, those left out that would run into the one before."""
    out = [" "] * (COLUMNS + 8)
    free = 0
    for name, distance in zip(names, distances, strict=True):
        plain = harmless(name).encode("ascii", "replace").decode("ascii")[:6]
        at = round((distance - float(s[0])) / float(s[-1] - s[0]) * (COLUMNS - 1)) - (len(plain) - 1) // 2
        at = max(0, at)
        if at < free or at + len(plain) > len(out):
            continue
        out[at : at + len(plain)] = plain
        free = at + len(plain) + 1
    return "".join(out).rstrip()
