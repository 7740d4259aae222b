"""Where is a place for someone at the bench: how deep from the face, how far along the roof, which o'clock?"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from portgeom.geometry.arrays import F64
from portgeom.geometry.surface import Surface


@dataclass(frozen=True, slots=True)
class BenchScale:
    """What a rule or a tape reads at every slab.

    Attributes
    ----------
    distance_mm : (m,) float
        Along the path.
    square_mm : (m,) float
        Depth of the roof's middle, square from the face.
    along_roof_mm : (m,) float
        Length along the roof's middle from the face.
    """

    distance_mm: F64
    square_mm: F64
    along_roof_mm: F64

    def square_at(self, distance_mm: float) -> float:
        """Return the depth square from the face of the roof's middle at a path distance."""
        return float(np.interp(distance_mm, self.distance_mm, self.square_mm))

    def along_roof_at(self, distance_mm: float) -> float:
        """Return the length along the roof's middle at a path distance."""
        return float(np.interp(distance_mm, self.distance_mm, self.along_roof_mm))


def bench_scale(surface: Surface) -> BenchScale:
    """Return the bench readings along a surface's roof, down the middle of the spine."""
    chart = surface.chart
    middle = chart.rays.fan + chart.rays.flat // 2
    points = chart.planes.world_mm(surface.points_mm[:, middle : middle + 1])[:, 0]
    square = (points - chart.planes.origin_mm[0]) @ chart.planes.normal[0]
    step = np.linalg.norm(np.diff(points, axis=0), axis=1)
    return BenchScale(chart.distance_mm, square, np.concatenate([[0.0], np.cumsum(step)]))


def clock_deg(point_mm: F64, centre_mm: F64) -> float:
    """Return degrees from straight up, clockwise looking in: 0 roof, 90 right wall, 180 floor, 270 left wall.

    Examples
    --------
    >>> clock_deg(np.array([2.0, 0.0]), np.zeros(2))
    90.0
    """
    return float(clocks_deg(point_mm, centre_mm))


def clocks_deg(points_mm: F64, centres_mm: F64) -> F64:
    """Return degrees (...) of points (..., 2) about centres (..., 2), as ``clock_deg`` counts them."""
    away = points_mm - centres_mm
    return np.degrees(np.arctan2(away[..., 0], away[..., 1])) % 360.0
