"""What are the area, first moments and perimeter of polygons, many at once?

Everything is an integral along the boundary of straight pieces, so it is exact for polygons.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from portgeom.geometry.arrays import F64, Bool


@dataclass(frozen=True, slots=True)
class Moments:
    """Area and first moments of plane regions.

    Attributes
    ----------
    area_mm2 : (...) float
        Signed area, positive anticlockwise.
    first_mm3 : (..., 2) float
        Integrals of u and of v over the region: area times centroid.
    """

    area_mm2: F64
    first_mm3: F64

    def __add__(self, other: Moments) -> Moments:
        return Moments(self.area_mm2 + other.area_mm2, self.first_mm3 + other.first_mm3)

    def __sub__(self, other: Moments) -> Moments:
        return Moments(self.area_mm2 - other.area_mm2, self.first_mm3 - other.first_mm3)


def polygon_moments(points_mm: F64) -> Moments:
    """Return the moments of closed polygons.

    Parameters
    ----------
    points_mm : (..., n, 2) float
        Corners in (u, v), anticlockwise, the first not repeated.

    Notes
    -----
    Green's theorem on straight edges. The corners are taken relative to the mean corner first, so a
    small polygon far from the origin loses no digits.

    Examples
    --------
    >>> m = polygon_moments(np.array([[0.0, 0.0], [2.0, 0.0], [2.0, 1.0], [0.0, 1.0]]))
    >>> float(m.area_mm2), m.first_mm3.tolist()
    (2.0, [2.0, 1.0])
    """
    count = points_mm.shape[-2]
    round_it = np.empty((*points_mm.shape[:-2], 2, count + 1))
    round_it[..., :-1] = np.moveaxis(points_mm, -1, -2)
    middle = np.einsum("...n->...", round_it[..., :-1]) / count
    round_it[..., :-1] -= middle[..., None]
    round_it[..., -1] = round_it[..., 0]
    return closed_moments(round_it, middle)


def closed_moments(round_mm: F64, middle_mm: F64) -> Moments:
    """Return the moments of closed polygons whose corners are given about a place near them.

    Parameters
    ----------
    round_mm : (..., 2, n + 1) float
        Corners u and v less that place, the first again at the end, so that each corner's next is a view.
    middle_mm : (..., 2) float
        The place.
    """
    here, after = round_mm[..., :-1], round_mm[..., 1:]
    cross = here[..., 0, :] * after[..., 1, :]
    cross -= after[..., 0, :] * here[..., 1, :]
    area = 0.5 * np.einsum("...n->...", cross)
    first = np.vecdot(here, cross[..., None, :]) + np.vecdot(after, cross[..., None, :])
    return Moments(area, first / 6.0 + area[..., None] * middle_mm)


def polygon_perimeter_mm(points_mm: F64) -> F64:
    """Return the length round closed polygons of shape (..., n, 2)."""
    step = np.roll(points_mm, -1, axis=-2) - points_mm
    return np.hypot(step[..., 0], step[..., 1]).sum(axis=-1)


def strip_moments(start_mm: F64, end_mm: F64, low_mm: F64, high_mm: F64, *, counted: Bool | None = None) -> Moments:
    """Return the moments between directed edges and the u axis, clipped to a band of u.

    Each edge contributes the region between itself and v = 0, positive where the edge runs towards
    smaller u (the roof of an anticlockwise outline). Summed round a closed polygon, that is the part
    of the polygon inside the band.

    Parameters
    ----------
    start_mm, end_mm : (..., n, 2) float
        Ends of the edges.
    low_mm, high_mm : (...) float
        The band low <= u <= high, one for each set of edges; infinite bounds are allowed.
    counted : (..., n) bool, optional
        Which edges count; all of them if left out.

    Examples
    --------
    >>> square = np.array([[0.0, 0.0], [2.0, 0.0], [2.0, 1.0], [0.0, 1.0]])
    >>> half = strip_moments(square, np.roll(square, -1, axis=0), np.float64(0.0), np.float64(1.0))
    >>> float(half.area_mm2)
    1.0
    """
    low, high = np.asarray(low_mm)[..., None], np.asarray(high_mm)[..., None]
    a, b = np.clip(start_mm[..., 0], low, high), np.clip(end_mm[..., 0], low, high)
    # an upright edge, or one beside the band, has nothing under it
    within = a != b if counted is None else (a != b) & counted
    *sets, count = within.shape
    edge_set = np.flatnonzero(within) // count
    a, b, (u0, v0), (u1, v1) = a[within], b[within], start_mm[within].T, end_mm[within].T
    slope = (v1 - v0) / (u1 - u0)
    va, vb = v0 + slope * (a - u0), v0 + slope * (b - u0)
    width = a - b
    # integrals of v, of u v and of v^2 / 2 along a straight piece
    area, first_u, first_v = (
        np.bincount(edge_set, weights=piece, minlength=within.size // count).reshape(sets)
        for piece in (
            0.5 * (va + vb) * width,
            width * (2.0 * (a * va + b * vb) + a * vb + b * va) / 6.0,
            width * (va * va + va * vb + vb * vb) / 6.0,
        )
    )
    return Moments(area, np.stack([first_u, first_v], axis=-1))
