"""Which numbers were read off gauges for one section, and which outline do other numbers make in the same way?

An outline alone no longer says which reading made it; how well a section is known depends on that.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from portgeom.geometry import shapes
from portgeom.geometry.arrays import F64, frozen
from portgeom.geometry.gauged_shape import NAMES, Gauged, gauged_outline
from portgeom.geometry.outline import Outline

CORNERS = {
    "radius_tl": ("radius", "radius_top"),
    "radius_tr": ("radius", "radius_top"),
    "radius_br": ("radius", "radius_bottom"),
    "radius_bl": ("radius", "radius_bottom"),
}
"""Every corner of a rectangle by its own column, and the columns that give it together with others."""


@dataclass(frozen=True, slots=True)
class ShapeReadings:
    """The gauge readings of one section.

    Attributes
    ----------
    shape : str
        As the table names it: circle, ellipse, rectangle, obround or gauged.
    columns : tuple of str
        The columns of the table that hold a reading.
    values_mm : (k,) float
    """

    shape: str
    columns: tuple[str, ...]
    values_mm: F64

    def with_values(self, values_mm: F64) -> ShapeReadings:
        """Return other readings of the same columns."""
        return ShapeReadings(self.shape, self.columns, frozen(values_mm))

    def outline(self) -> Outline:
        """Return the outline that the readings make, in its place.

        Raises
        ------
        OutlineError
            Where they make none.
        """
        given = dict(zip(self.columns, self.values_mm.tolist(), strict=True))
        return self._shape(given).moved(*self._place(given))

    def _shape(self, given: dict[str, float]) -> Outline:
        if self.shape == "circle":
            return shapes.circle(given.get("width", given.get("height", 0.0)))
        if self.shape == "ellipse":
            return shapes.ellipse(given["width"], given["height"])
        if self.shape == "obround":
            return shapes.obround(given["width"], given["height"])
        corners = [
            next((given[column] for column in (corner, *shared) if column in given), 0.0)
            for corner, shared in CORNERS.items()
        ]
        radii = shapes.CornerRadii(*corners)
        if self.shape == "rectangle":
            return shapes.rectangle(given["width"], given["height"], radii)
        sizes = np.array([given[name] for name in NAMES])
        return gauged_outline(Gauged(sizes[:3], sizes[3:], radii)).outline

    def _place(self, given: dict[str, float]) -> tuple[float, float]:
        across = 0.5 * given["width"] - given["side"] if "side" in given else given.get("across", 0.0)
        up = 0.5 * given["height"] + given["floor"] if "floor" in given else given.get("up", 0.0)
        return across, up
