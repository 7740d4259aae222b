"""What is the union of two runs of sections, and what are the moments of polygons of unlike size?"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import numpy.typing as npt

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
    larger: Bool = np.any(first_less_second_mm > 0.0, axis=1)
    smaller: Bool = np.any(first_less_second_mm < 0.0, axis=1)
    union = [a if out else b for a, b, out in zip(first, second, larger, strict=True)]
    pairs = np.flatnonzero(larger & smaller).tolist()
    if pairs:
        for k, polygon in zip(pairs, _unions([first[k] for k in pairs], [second[k] for k in pairs]), strict=True):
            union[k] = polygon
    return union


def _unions(first: Sequence[F64], second: Sequence[F64]) -> list[F64]:
    """Return the outer boundary of the largest part of each pair's union, anticlockwise."""
    import shapely

    one, other = (shapely.make_valid(_shapes(polygons)) for polygons in (first, second))
    parts, pair = shapely.get_parts(shapely.union(one, other), return_index=True)
    by_size = np.lexsort((-shapely.area(parts), pair))
    largest = by_size[np.flatnonzero(np.diff(pair, prepend=-1))]
    rings = shapely.get_exterior_ring(parts[largest])
    points, ring = shapely.get_coordinates(rings, return_index=True)
    each = np.split(points, np.flatnonzero(np.diff(ring)) + 1)
    return [p[:-1] if ccw else p[-2::-1] for p, ccw in zip(each, shapely.is_ccw(rings), strict=True)]


def _shapes(polygons: Sequence[F64]) -> npt.NDArray[np.object_]:
    import shapely

    count = [len(p) for p in polygons]
    rings = shapely.linearrings(np.concatenate(polygons), indices=np.repeat(np.arange(len(count)), count))
    return shapely.polygons(rings)


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
