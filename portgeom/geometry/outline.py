"""What is one section's outline, and how large is it?

An outline is one closed curve in its section plane: u to the right and v up, as seen looking in. It is
kept as corners of a polygon together with the area, perimeter and centroid of the curve itself, so a
circle measures as a circle and not as the polygon that draws it.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Self

import numpy as np
import numpy.typing as npt

from portgeom.geometry.arrays import F64, frozen
from portgeom.geometry.moments import polygon_moments, polygon_perimeter_mm


class OutlineError(ValueError):
    """An outline that is not one plain closed curve. The message says what was found and how to mend it."""


@dataclass(frozen=True, slots=True)
class Outline:
    """One closed curve, anticlockwise as seen looking in, without a repeated end point.

    Attributes
    ----------
    points_mm : (n, 2) float
        Points on the curve, in (u, v).
    area_mm2, perimeter_mm : float
        Of the curve itself.
    centroid_mm : (2,) float
        Of the region inside the curve.
    """

    points_mm: F64
    area_mm2: float
    perimeter_mm: float
    centroid_mm: F64

    @classmethod
    def curve(
        cls,
        points_mm: npt.ArrayLike,
        *,
        area_mm2: float,
        perimeter_mm: float,
        centroid_mm: npt.ArrayLike = (0.0, 0.0),
    ) -> Self:
        """Return the outline of a curve whose measures are known in closed form."""
        return cls(frozen(points_mm), area_mm2, perimeter_mm, frozen(centroid_mm))

    @classmethod
    def polygon(cls, points_mm: npt.ArrayLike) -> Self:
        """Return the outline through ``points_mm`` (n, 2), measured exactly as the polygon they make.

        Raises
        ------
        OutlineError
            If there are fewer than three different points, a number is missing or infinite, the curve
            runs clockwise, crosses itself or touches itself, or holds no area.
        """
        points = np.array(points_mm, dtype=np.float64)
        if points.ndim != 2 or points.shape[1] != 2:
            raise OutlineError(f"an outline is rows of u and v; this has shape {points.shape}")
        if not np.isfinite(points).all():
            row = int(np.flatnonzero(~np.isfinite(points).all(axis=1))[0]) + 1
            raise OutlineError(f"point {row} is not a number; give every point a u and a v")
        if len(points) < 3:
            raise OutlineError(f"{len(points)} points; an outline needs at least 3")
        _refuse_crossing(points)
        moments = polygon_moments(points)
        area = float(moments.area_mm2)
        if area < 0.0:
            raise OutlineError("runs clockwise; turn the order of the points round")
        return cls(
            frozen(points),
            area,
            float(polygon_perimeter_mm(points)),
            frozen(moments.first_mm3 / area),
        )

    @property
    def low_mm(self) -> F64:
        """Return (2,), the smallest u and v."""
        return self.points_mm.min(axis=0)

    @property
    def high_mm(self) -> F64:
        """Return (2,), the largest u and v."""
        return self.points_mm.max(axis=0)

    @property
    def width_mm(self) -> float:
        """Return the extent along u."""
        return float(self.high_mm[0] - self.low_mm[0])

    @property
    def height_mm(self) -> float:
        """Return the extent along v."""
        return float(self.high_mm[1] - self.low_mm[1])

    @property
    def hydraulic_diameter_mm(self) -> float:
        """Return four times the area over the perimeter (ASHRAE Fundamentals 2021, ch. 21, eq. 24)."""
        return 4.0 * self.area_mm2 / self.perimeter_mm

    def moved(self, across_mm: float, up_mm: float) -> Self:
        """Return the outline moved to the right and up in its plane."""
        shift = np.array([across_mm, up_mm])
        return type(self)(
            frozen(self.points_mm + shift),
            self.area_mm2,
            self.perimeter_mm,
            frozen(self.centroid_mm + shift),
        )

    def mirrored(self) -> Self:
        """Return the outline with left and right swapped, again anticlockwise."""
        flip = np.array([-1.0, 1.0])
        return type(self)(
            frozen(self.points_mm[::-1] * flip),
            self.area_mm2,
            self.perimeter_mm,
            frozen(self.centroid_mm * flip),
        )


def _refuse_crossing(points: F64) -> None:
    import shapely

    ring = shapely.LinearRing(points)
    if shapely.is_simple(ring) and shapely.is_valid(shapely.Polygon(ring)):
        return
    reason = shapely.is_valid_reason(shapely.Polygon(ring))
    where = reason[reason.find("[") :].strip("[]").split()
    place = f" at u {float(where[0]):.2f}, v {float(where[1]):.2f} mm" if len(where) == 2 else ""
    if shapely.area(shapely.convex_hull(ring)) <= 1e-12 * float(np.ptp(points)) ** 2:
        raise OutlineError("holds no area; its points lie on one line")
    raise OutlineError(f"crosses or touches itself{place}; list the points once round, in order")
