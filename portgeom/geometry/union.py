"""What is the union of two runs of sections, and what are the moments of polygons of unlike size?"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from portgeom.geometry.arrays import F64, Bool
from portgeom.geometry.moments import Moments, polygon_moments


def joined(first: Sequence[F64], second: Sequence[F64], first_less_second_mm: F64) -> list[F64]:
    """Return the outer boundary of each pair's union, anticlockwise.

    Parameters
    ----------
    first, second : m polygons (n, 2)
        Each pair overlaps.
    first_less_second_mm : (m, n) float
        How far the first lies outside the second along the rays of a chart. A pair of which one holds
        the other along every ray is not joined: the larger is the union, but for slivers between rays.

    Notes
    -----
    An island left standing between the two is counted in: metal cut free all round comes off.
    """
    import shapely

    larger: Bool = np.any(first_less_second_mm > 0.0, axis=1)
    smaller: Bool = np.any(first_less_second_mm < 0.0, axis=1)
    union = [a if out else b for a, b, out in zip(first, second, larger, strict=True)]
    pairs = np.flatnonzero(larger & smaller).tolist()
    if pairs:
        one = shapely.make_valid(np.array([shapely.Polygon(first[k]) for k in pairs]))
        other = shapely.make_valid(np.array([shapely.Polygon(second[k]) for k in pairs]))
        for k, shape in zip(pairs, shapely.union(one, other), strict=True):
            parts = shapely.get_parts(shape)
            ring = shapely.get_exterior_ring(parts[np.argmax(shapely.area(parts))])
            points = shapely.get_coordinates(ring)[:-1]
            union[k] = points if shapely.is_ccw(ring) else points[::-1]
    return union


def padded(rows: Sequence[F64]) -> F64:
    """Return rows of unlike length (n, ...), as polygons (n, 2), as one (m, n, ...) array.

    The last place of the shorter is repeated.
    """
    if isinstance(rows, np.ndarray):
        return rows
    count = np.array([len(row) for row in rows])
    first = np.cumsum(count) - count
    at = first[:, None] + np.minimum(np.arange(count.max()), count[:, None] - 1)
    return np.concatenate(rows)[at]


def moments_of(polygons: Sequence[F64]) -> Moments:
    """Return the moments (m,) of polygons of unlike size."""
    return polygon_moments(padded(polygons))
