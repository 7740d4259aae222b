"""How near do many surfaces of one layout come to something?

As ``near.nearest_spot`` asks of one, but of all at once, for surfaces that differ by little, as draws of one port do.
"""

from __future__ import annotations

import numpy as np

from portgeom.geometry.arrays import F64
from portgeom.geometry.near import HALVINGS, Distance

CONTENDS_MM = 6.0
"""A place so much further than the nearest one on the first surface is the nearest on none of the others."""

CELLS = 24
"""Cells of every surface that are searched for the least distance: those with the nearest corners."""

BEST = 4
"""Of those, the ones searched again, each time half as wide: a place on an edge is in its neighbours too."""


def least_distances_mm(nodes_mm: F64, distance: Distance) -> F64:
    """Return the least distance (s,) of surfaces, taken as flat from place to place of their grids.

    Parameters
    ----------
    nodes_mm : (s, m, n, 3) float
        Every surface's places at slabs and rays, in the head frame.
    distance : Distance
        To what they come near, by points (k, 3).
    """
    surfaces, slabs, rays, _ = nodes_mm.shape
    first = distance(nodes_mm[0].reshape(-1, 3)).reshape(slabs, rays)
    slab, ray = np.nonzero(first <= first.min() + CONTENDS_MM)
    away = np.full((surfaces, slabs, rays), np.inf)
    away[:, slab, ray] = distance(nodes_mm[:, slab, ray].reshape(-1, 3)).reshape(surfaces, -1)
    either = np.minimum(away, np.roll(away, -1, axis=2))
    cell_mm = np.minimum(either[:, :-1], either[:, 1:]).reshape(surfaces, -1)
    row, column = np.divmod(np.argsort(cell_mm, axis=1, kind="stable")[:, :CELLS], rays)
    step_a, step_b = (x.ravel() for x in np.meshgrid(*[np.linspace(-1.0, 1.0, 5)] * 2, indexing="ij"))
    one = np.arange(surfaces)[:, None]
    a = b = np.full(row.shape, 0.5)
    for halving in range(HALVINGS + 1):
        half = 0.5 ** (halving + 1)
        by_a, by_b = (np.clip(x[..., None] + half * s, 0.0, 1.0) for x, s in ((a, step_a), (b, step_b)))
        after = (column + 1) % rays
        here, ahead, beside, across = (
            nodes_mm[one, j, k][:, :, None]
            for j, k in ((row, column), (row + 1, column), (row, after), (row + 1, after))
        )
        this_ray = here + by_a[..., None] * (ahead - here)
        next_ray = beside + by_a[..., None] * (across - beside)
        points = this_ray + by_b[..., None] * (next_ray - this_ray)
        found = distance(points.reshape(-1, 3)).reshape(by_a.shape)
        at = np.argmin(found, axis=2)[..., None]
        a, b, least = (np.take_along_axis(x, at, axis=2)[..., 0] for x in (by_a, by_b, found))
        if halving == 0:
            best = np.argsort(least, axis=1, kind="stable")[:, :BEST]
            row, column, a, b = (np.take_along_axis(x, best, axis=1) for x in (row, column, a, b))
    return least.min(axis=1)
