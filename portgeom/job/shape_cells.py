"""What outline do the shape cells of one row of a section table describe?"""

from __future__ import annotations

from portgeom.geometry import shapes
from portgeom.geometry.arrays import frozen
from portgeom.geometry.outline import Outline, OutlineError
from portgeom.job.cells import Row
from portgeom.job.drawing import DRAWINGS, MM_PER
from portgeom.job.faults import nearest, shown
from portgeom.job.files import Folder
from portgeom.job.gauged_cells import PLACED, READINGS, read_gauged
from portgeom.job.kinds import distance, length, size
from portgeom.job.outlines import DrawnAs, read_outline, tell
from portgeom.job.shape_readings import CORNERS, ShapeReadings
from portgeom.job.units import mm_per_unit
from portgeom.job.values import Units

RADII = ("radius", "radius_top", "radius_bottom", *CORNERS)
SIZES = ("width", "height")
DRAWN = ("layer", "drawing_units")
SHAPE_COLUMNS = ("shape", *SIZES, *READINGS, *RADII, "across", "up", *PLACED, "outline", *DRAWN)

USED = {
    "circle": SIZES,
    "ellipse": SIZES,
    "rectangle": (*SIZES, *RADII),
    "obround": SIZES,
    "gauged": (*SIZES, *READINGS, *RADII, *PLACED),
    "outline": ("outline", *DRAWN),
}
"""Which of the columns each shape uses; across and up place them all."""


def read_shape(row: Row, *, folder: Folder, units: Units) -> Outline | None:
    """Return the outline a row describes, in its place, or None after taking down what is wrong."""
    shape = row.text("shape").casefold()
    if not shape:
        row.at("shape").fault("is blank", f"write one of {', '.join(USED)}")
        return None
    if shape not in USED:
        row.at("shape").fault(f"{shown(row.text('shape'))} is not known", nearest(shape, USED, what="shape"))
        return None
    sound = True
    for column in (c for c in SHAPE_COLUMNS if c not in ("shape", "across", "up")):
        if row.text(column) and column not in USED[shape]:
            mend = "leave the cell blank, or mend the shape"
            row.at(column).fault(f"{shown(row.text(column))} means nothing to the shape {shape}", mend)
            sound = False
    before = row.whole.gathered.count
    across, up = row.number("across", length(), units), row.number("up", length(), units)
    outline = _traced(row, folder, units) if shape == "outline" else _measured(row, shape, units)
    if outline is None or not sound or row.whole.gathered.count > before:
        return None
    return outline if across is None and up is None else outline.moved(across or 0.0, up or 0.0)


def shape_readings(row: Row, units: Units) -> ShapeReadings | None:
    """Return the gauge readings of a row that ``read_shape`` found sound; None where its outline was drawn."""
    shape = row.text("shape").casefold()
    if shape == "outline":
        return None
    given = {column: row.number(column, length(), units) for column in (*USED[shape], "across", "up")}
    read = {column: value for column, value in given.items() if value is not None}
    return ShapeReadings(shape, tuple(read), frozen(list(read.values())))


def _traced(row: Row, folder: Folder, units: Units) -> Outline | None:
    name = row.text("outline")
    if not name:
        row.at("outline").fault("is blank", "name the file that holds the traced outline")
        return None
    drawn = _drawn_as(row, name)
    return None if drawn is None else read_outline(name, row.at("outline"), folder=folder, units=units, drawn=drawn)


def _drawn_as(row: Row, name: str) -> DrawnAs | None:
    """Return what a row says of the drawing it names; None after taking down what is wrong."""
    if not name.casefold().endswith(DRAWINGS):
        given = [column for column in DRAWN if row.text(column)]
        for column in given:
            row.at(column).fault(f"{shown(row.text(column))} means nothing to {shown(name)}", "leave the cell blank")
        return None if given else DrawnAs()
    said = row.text("drawing_units").casefold()
    if not said:
        return DrawnAs(row.text("layer"))
    if said not in MM_PER:
        row.at("drawing_units").fault(f"{shown(said)} is not known", nearest(said, MM_PER, what="unit"))
        return None
    return DrawnAs(row.text("layer"), said)


def _measured(row: Row, shape: str, units: Units) -> Outline | None:
    width, height = (row.number(column, size(), units) for column in SIZES)
    if shape == "circle":
        return _circle(row, width, height)
    if shape == "gauged":
        radii = _corners(row, units)
        return None if radii is None else read_gauged(row, radii, units)
    corners = _corners(row, units) if shape == "rectangle" else None
    for column in SIZES:
        if not row.text(column):
            row.at(column).fault("is blank", f"give the {column} of the {shape}")
    if width is None or height is None or (shape == "rectangle" and corners is None):
        return None
    try:
        if corners is not None:
            return _rectangle(width, height, corners, units)
        return shapes.ellipse(width, height) if shape == "ellipse" else shapes.obround(width, height)
    except OutlineError as error:
        tell(error, row.at(_radius_columns(row)), "mm")  # a shape is refused in the job's own units
        return None


def _rectangle(width_mm: float, height_mm: float, radii: shapes.CornerRadii, units: Units) -> Outline:
    """Return a rectangle, refused in the units the person works in where its corners do not fit."""
    mm = mm_per_unit(units)
    corners = (radii.top_left, radii.top_right, radii.bottom_right, radii.bottom_left)
    shapes.rectangle(width_mm / mm, height_mm / mm, shapes.CornerRadii(*(r / mm for r in corners)))
    return shapes.rectangle(width_mm, height_mm, radii)


def _circle(row: Row, width: float | None, height: float | None) -> Outline | None:
    given = [column for column in SIZES if row.text(column)]
    if not given:
        row.at("width").fault("is blank", "give the diameter of the circle")
        return None
    diameters = [d for d in (width, height) if d is not None]
    if len(diameters) < len(given):
        return None
    if len(set(diameters)) > 1:
        found = f"is {row.text('height')} where width is {row.text('width')}"
        row.at("height").fault(found, "a circle has one diameter; give it once, or write ellipse")
        return None
    return shapes.circle(diameters[0])


def _corners(row: Row, units: Units) -> shapes.CornerRadii | None:
    """Return the corner radii; sharp corners where the row gives no radius at all."""
    given = {column: row.number(column, distance(), units) for column in RADII if row.text(column)}
    if not given:
        return shapes.CornerRadii(0.0, 0.0, 0.0, 0.0)
    radii, sound = [], None not in given.values()
    for corner, shared in CORNERS.items():
        columns = [column for column in (*shared, corner) if column in given]
        if len(columns) > 1:
            row.at(columns[1]).fault(f"gives a corner that {columns[0]} gives too", "give every corner once")
        elif not columns:
            misspelt = (c for c in shared if row.whole.gathered.mistook(row.whole.file, c))
            row.at(next(misspelt, corner)).fault(
                "this corner has no radius while others have",
                f"give {shared[1]} or {corner}; 0 is a sharp corner",
            )
        sound = sound and len(columns) == 1
        radii.append(given[columns[0]] if columns else None)
    if not sound:
        return None
    top_left, top_right, bottom_right, bottom_left = (r for r in radii if r is not None)
    return shapes.CornerRadii(top_left, top_right, bottom_right, bottom_left)


def _radius_columns(row: Row) -> str:
    return next((column for column in RADII if row.text(column)), "width")
