"""How far is a point from a drilled hole, or from the open side of a machined face?

Distances are signed: positive in the metal outside, negative inside. They are exact on both sides, and no
distance grows faster than one walks.
"""

from __future__ import annotations

import math
from itertools import pairwise

import numpy as np

from portgeom.geometry.arrays import F64

DRILL_POINT_DEG = 118.0
"""Angle of the point that a standard twist drill leaves at the end of a blind hole."""


def cylinder_distance_mm(
    points_mm: F64, start_mm: F64, end_mm: F64, diameter_mm: float, *, drill_point: bool = False
) -> F64:
    """Return the distance of points from a solid cylinder with flat ends.

    Parameters
    ----------
    points_mm : (..., 3) float
    start_mm, end_mm : (3,) float
        Ends of the axis, not the same place.
    drill_point : bool
        Adds a 118 degree cone beyond the end, its tip pointing on from start to end: the full diameter
        runs from start to end, as a hole's depth is given on a drawing.

    Returns
    -------
    (...) float
        Negative inside.

    Examples
    --------
    >>> axis = np.zeros(3), np.array([0.0, 0.0, 10.0])
    >>> cylinder_distance_mm(np.array([[5.0, 0.0, 5.0], [0.0, 0.0, 13.0], [0.0, 1.0, 5.0]]), *axis, 4.0).tolist()
    [3.0, 3.0, -1.0]
    """
    axis = end_mm - start_mm
    length = float(np.linalg.norm(axis))
    axis = axis / length
    from_start = points_mm - start_mm
    along = from_start @ axis
    out = np.linalg.norm(from_start - along[..., None] * axis, axis=-1)
    radius = 0.5 * diameter_mm
    tip = length + (radius / math.tan(math.radians(0.5 * DRILL_POINT_DEG)) if drill_point else 0.0)
    profile = np.array([(0.0, 0.0), (0.0, radius), (length, radius), (tip, 0.0)])
    return _profile_distance_mm(along, out, profile)


def half_space_distance_mm(points_mm: F64, point_mm: F64, towards_port: F64) -> F64:
    """Return the distance of points (..., 3) from the open side of a plane: positive on the metal's side.

    ``towards_port`` is square to the plane, of any length, and points from the open side to the metal.
    """
    return (points_mm - point_mm) @ (towards_port / np.linalg.norm(towards_port))


def _profile_distance_mm(along: F64, out: F64, profile: F64) -> F64:
    """Return the distance from a convex solid of revolution, whose profile (k, 2) leaves and meets the axis."""
    nearest = np.full(np.shape(along), np.inf)
    inside = np.ones(np.shape(along), dtype=bool)
    for (a0, r0), (a1, r1) in pairwise(profile):
        da, dr = a1 - a0, r1 - r0
        pa, pr = along - a0, out - r0
        share = np.clip((pa * da + pr * dr) / (da * da + dr * dr), 0.0, 1.0)
        nearest = np.minimum(nearest, (pa - share * da) ** 2 + (pr - share * dr) ** 2)
        inside &= da * pr - dr * pa <= 0.0  # on the right of a profile that runs outward, along and back
    return np.where(inside, -1.0, 1.0) * np.sqrt(nearest)
