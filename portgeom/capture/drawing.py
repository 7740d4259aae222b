"""What outlines does a drawing file hold, wherever it lies?"""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from portgeom.geometry.arrays import F64
from portgeom.geometry.outline import Outline
from portgeom.job.drawing import (
    DRAWING_BYTES,
    DRAWINGS,
    DrawingError,
    DrawingUnits,
    Drawn,
    DrawnLoops,
    all_lines,
    read_drawing,
    read_loops,
)
from portgeom.job.faults import Gathered, JobError, Spot, printable
from portgeom.job.files import read_bounded


@dataclass(frozen=True, slots=True)
class DrawnSheet:
    """A drawing of slices: its file's name, its closed lines, and lines (n, 2) of other layers, only to be shown."""

    name: str
    loops: DrawnLoops
    beside_mm: tuple[F64, ...]


def is_drawing(path: Path) -> bool:
    """Return whether a file is a drawing by its name."""
    return path.suffix.casefold() in DRAWINGS


def outline_from_drawing(path: Path, *, layer: str = "", units: DrawingUnits | None = None) -> Outline:
    """Return the one outline drawn in a DXF or an SVG file, in mm about the drawing's own origin.

    Parameters
    ----------
    layer : str
        Only what lies on this layer; in an SVG the label or the id of a group or of one shape.
    units : DrawingUnits or None
        What a unit of the drawing is, where the drawing does not say it or says it wrongly.

    Raises
    ------
    JobError
        With the one fault that kept the outline from being had.
    """
    return drawn_in(path, layer=layer, units=units).outline


def drawn_in(path: Path, *, layer: str = "", units: DrawingUnits | None = None) -> Drawn:
    """Return the outline with its error and with what was left out or taken for granted; raises JobError."""
    data, spot = _bytes(path)
    try:
        return read_drawing(data, path.suffix.casefold(), layer=layer, units=units)
    except DrawingError as error:
        raise _refused(spot, error) from error


def sheet_in(path: Path, *, layer: str = "", units: DrawingUnits | None = None) -> DrawnSheet:
    """Return every closed line of a drawing; the parameters and what is raised are those of the one outline."""
    data, spot = _bytes(path)
    suffix = path.suffix.casefold()
    try:
        loops = read_loops(data, suffix, layer=layer, units=units)
    except DrawingError as error:
        raise _refused(spot, error) from error
    return DrawnSheet(path.name, loops, all_lines(data, suffix, units=units) if layer else ())


def _bytes(path: Path) -> tuple[bytes, Spot]:
    gathered = Gathered()
    spot = Spot(gathered, printable(path.name), None, "drawing")
    if not is_drawing(path):
        spot.fault("is no drawing that can be read", f"give a file that ends in {' or '.join(DRAWINGS)}")
        gathered.refuse()
    data = read_bounded(path, DRAWING_BYTES[path.suffix.casefold()], spot)
    gathered.refuse()
    assert data is not None
    return data, spot


def _refused(spot: Spot, error: DrawingError) -> JobError:
    spot.fault(error.found, error.mend)
    return JobError(spot.gathered.faults)
