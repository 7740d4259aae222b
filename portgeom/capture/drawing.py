"""What outline does a drawing file hold, wherever it lies?"""

from __future__ import annotations

from pathlib import Path

from portgeom.geometry.outline import Outline
from portgeom.job.drawing import DRAWING_BYTES, DRAWINGS, DrawingError, DrawingUnits, Drawn, read_drawing
from portgeom.job.faults import Gathered, JobError, Spot, printable
from portgeom.job.files import read_bounded


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
    gathered = Gathered()
    spot = Spot(gathered, printable(path.name), None, "drawing")
    suffix = path.suffix.casefold()
    if suffix not in DRAWINGS:
        spot.fault("is no drawing that can be read", f"give a file that ends in {' or '.join(DRAWINGS)}")
        raise JobError(gathered.faults)
    data = read_bounded(path, DRAWING_BYTES[suffix], spot)
    gathered.refuse()
    assert data is not None
    try:
        return read_drawing(data, suffix, layer=layer, units=units)
    except DrawingError as error:
        spot.fault(error.found, error.mend)
        raise JobError(gathered.faults) from error
