"""What outline do the gauge readings in one row of a section table make, and where does it lie?"""

from __future__ import annotations

import numpy as np

from portgeom.geometry.gauged_shape import NAMES, Gauged, gauged_outline
from portgeom.geometry.outline import Outline, OutlineError
from portgeom.geometry.shapes import CornerRadii
from portgeom.job.cells import Row
from portgeom.job.kinds import length, size
from portgeom.job.outlines import tell
from portgeom.job.units import length_from_mm
from portgeom.job.values import Units

READINGS = ("width_low", "width_high", "height_left", "height_right")
"""The columns that only this shape has, besides width and height in the middle."""

PLACED = {"side": "across", "floor": "up"}
"""Where the left wall and the floor are, and the column that gives the same of the shape's middle."""

TOLD_MM = 0.3
"""Readings and corner radii that disagree by more are told: it is more than calipers are wrong."""

REFUSED = 0.05
"""Of the section's size: beyond this a reading is a slip of the pen."""


def read_gauged(row: Row, radii: CornerRadii, units: Units) -> Outline | None:
    """Return the outline of a row's readings, or None after taking down what is wrong with them.

    It lies about (0, 0) unless ``side`` and ``floor`` say where the left wall and the floor are.
    """
    before = row.whole.gathered.count
    readings = {name: row.number(name, size(), units) for name in NAMES}
    for name, value in readings.items():
        if value is None and not row.text(name):
            row.at(name).fault("is blank", f"give {name}; where it cannot be reached, write what its neighbour reads")
    given = {name: row.number(name, length(), units) for name in PLACED}
    for name, column in PLACED.items():
        if row.text(name) and row.text(column):
            row.at(column).fault(f"gives a place that {name} gives too", "leave one of them blank")
    if row.whole.gathered.count > before:
        return None
    values = [value for value in readings.values() if value is not None]
    try:
        found = gauged_outline(Gauged(np.array(values[:3]), np.array(values[3:]), radii))
    except OutlineError as error:
        tell(error, row.at("width"), units)
        return None
    worst = int(np.argmax(np.abs(found.misses_mm)))
    miss = float(found.misses_mm[worst])
    if abs(miss) > TOLD_MM:
        spot = row.at(NAMES[worst])
        shows = f"{length_from_mm(values[worst] + miss, units):.4g}"
        what = f"does not suit the corner radii, with which it would be {shows}"
        if abs(miss) > REFUSED * max(values):
            spot.fault(what, "gauge it and the radii again")
            return None
        spot.note(f"{what}; it lies on a corner there", "gauge the radii again if that is more than a hair")
    side, floor = given["side"], given["floor"]
    across = 0.0 if side is None else 0.5 * values[1] - side
    up = 0.0 if floor is None else 0.5 * values[4] + floor
    return found.outline.moved(across, up)
