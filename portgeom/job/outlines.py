"""What outline does a file that a section table names hold: traced points, or a drawing?"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from portgeom.geometry.arrays import F64
from portgeom.geometry.moments import polygon_moments
from portgeom.geometry.outline import Outline, OutlineError
from portgeom.geometry.polar import polar_outline
from portgeom.job.cells import Sheet, read_sheet
from portgeom.job.drawing import DRAWING_BYTES, DRAWINGS, DrawingError, DrawingUnits, read_drawing
from portgeom.job.faults import Spot
from portgeom.job.files import OUTLINE_BYTES, Folder, relative
from portgeom.job.kinds import SMALLEST_MM, Number, length, size
from portgeom.job.values import Units

MOST_POINTS = 20_000
MOST_RADII = 720

UV = ("u", "v")
POINTER = ("clock", "radius")
CLOCK = Number("degrees", least=0.0, most=359.999)


@dataclass(frozen=True, slots=True)
class DrawnAs:
    """What a section table says of a drawing it names: the layer, and the unit where the drawing has none."""

    layer: str = ""
    units: DrawingUnits | None = None


AS_IT_IS = DrawnAs()


def read_outline(
    name: str, named_at: Spot, *, folder: Folder, units: Units, drawn: DrawnAs = AS_IT_IS
) -> Outline | None:
    """Return the outline in a file of the job folder, or None after taking down its faults.

    A CSV holds points ``u, v``, or ``clock, radius`` as a pointer gives them: degrees clockwise from the crown
    and the radii there, through which a smooth curve is drawn. Points listed clockwise are turned round and a
    point repeated by its neighbour is dropped, each told as a note. What was left out of a drawing is told too.
    """
    suffix = next((s for s in DRAWINGS if name.casefold().endswith(s)), None)
    if suffix is not None:
        return _drawing(name, suffix, named_at, folder, drawn)
    text = folder.text(name, named_at, most_bytes=OUTLINE_BYTES)
    if text is None:
        return None
    whole = Spot(named_at.gathered, relative(name), None, "u, v")
    sheet = read_sheet(text, whole, known=(*UV, *POINTER), required=(), most_rows=MOST_POINTS)
    if sheet is None:
        return None
    columns = POINTER if sheet.columns & {*POINTER} else UV
    if sheet.columns != {*columns}:
        found = f"has the columns {', '.join(sorted(sheet.columns)) or 'of no name'}"
        sheet.header.fault(found, "give u and v, or clock and radius")
        return None
    points = _rows(sheet, columns, units)
    if points is None:
        return None
    if columns == POINTER:
        return _pointed(points, sheet, whole, units)
    if len(points) < 3:
        sheet.header.cell(None, "u, v").fault(f"holds {len(points)} points", "an outline needs at least 3")
        return None
    return _outline(_plain(points, sheet, whole), whole, units)


def _drawing(name: str, suffix: str, named_at: Spot, folder: Folder, drawn: DrawnAs) -> Outline | None:
    data = folder.data(name, named_at, most_bytes=DRAWING_BYTES[suffix])
    if data is None:
        return None
    whole = Spot(named_at.gathered, relative(name), None, "drawing")
    try:
        found = read_drawing(data, suffix, layer=drawn.layer, units=drawn.units)
    except DrawingError as error:
        whole.fault(error.found, error.mend)
        return None
    for told in found.told:
        what, _, mend = told.partition("; ")
        whole.note(what, mend or "look whether that is right")
    return found.outline


def _rows(sheet: Sheet, columns: tuple[str, str], units: Units) -> F64 | None:
    """Return the two numbers of every row (n, 2), in mm or degrees, or None after taking down blanks and slips."""
    kinds = (CLOCK, size()) if columns == POINTER else (length(), length())
    sound, points = True, []
    for row in sheet.rows:
        point = [row.number(column, kind, units) for column, kind in zip(columns, kinds, strict=True)]
        for column in columns:
            if not row.text(column):
                row.at(column).fault("is blank", f"give every point a {columns[0]} and a {columns[1]}")
        sound = sound and None not in point
        points.append(point)
    return np.array(points, dtype=np.float64).reshape(-1, 2) if sound else None


def _pointed(points: F64, sheet: Sheet, whole: Spot, units: Units) -> Outline | None:
    """Return the smooth outline through radii at clock positions, in whatever order they were taken."""
    if len(points) > MOST_RADII:
        whole.cell(None, "clock, radius").fault(f"holds {len(points)} radii", f"give at most {MOST_RADII}, or u and v")
        return None
    order = np.argsort(points[:, 0], kind="stable")
    clock = points[order, 0]
    again = np.flatnonzero(np.diff(clock) == 0.0)
    for k in again:
        sheet.rows[int(order[k + 1])].at("clock").fault(f"{clock[k]:g} has a radius already", "give each clock once")
    if len(again):
        return None
    try:
        return polar_outline(clock, points[order, 1])
    except OutlineError as error:
        tell(error, whole.cell(None, "clock, radius"), units)
        return None


def _plain(points: F64, sheet: Sheet, whole: Spot) -> F64:
    """Return the points without repeats and anticlockwise, telling what was done."""
    if (points[0] == points[-1]).all():
        last = sheet.rows[-1].row
        whole.cell(last, "u, v").note("repeats the first point; it was left out", "end the outline before it")
        points = points[:-1]
    again = (points == np.roll(points, 1, axis=0)).all(axis=1)
    if again.any():
        row = sheet.rows[int(np.flatnonzero(again)[0])].row
        whole.cell(row, "u, v").note(
            f"{int(again.sum())} points repeat the one before, the first here; they were left out",
            "list every point once",
        )
        points = points[~again]
    if len(points) >= 3 and float(polygon_moments(points).area_mm2) < 0.0:
        whole.note("runs clockwise as seen looking in; it was turned round", "list the points anticlockwise")
        points = points[::-1]
    return points


def _outline(points: F64, whole: Spot, units: Units) -> Outline | None:
    if len(points) and float(np.ptp(points, axis=0).min()) < SMALLEST_MM:
        whole.fault("holds no area; its points lie on one line", "list the points once round the section")
        return None
    try:
        return Outline.polygon(points)
    except OutlineError as error:
        tell(error, whole, units)
        return None


def tell(error: OutlineError, spot: Spot, units: Units) -> None:
    """Take down why an outline could not be made."""
    found, _, mend = str(error).partition("; ")
    in_mm = " (lengths in mm)" if units == "in" else ""
    spot.fault(found, (mend or "measure the section again") + in_mm)
