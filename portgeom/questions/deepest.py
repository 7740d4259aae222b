"""Where is the cut deepest, and how deep is it there?"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from portgeom.geometry.arrays import F64
from portgeom.geometry.surface import Surface
from portgeom.questions.places import clock_deg

CANDIDATES = 64
"""Places looked at closely: those that lie furthest from the present surface's grid."""

FINE = 9
"""Points along each side of a grid cell when it is looked at closely."""


@dataclass(frozen=True, slots=True)
class Deepest:
    """Where the wanted surface lies furthest from the present one."""

    distance_mm: float
    clock_deg: float
    depth_mm: float


def deepest_cut(present: Surface, after: Surface) -> Deepest | None:
    """Return the deepest cut: the greatest distance from the surface after to the nearest metal now.

    None where nothing comes off. The nearest grid point is found for every cut point, then the cells
    round it are searched finely for the places that could be deepest.
    """
    chart = present.chart
    cut = after.rho_mm - present.rho_mm > chart.tolerance.length_mm
    if not cut.any():
        return None
    from scipy.spatial import cKDTree

    grid = chart.planes.world_mm(present.points_mm)
    wanted = chart.planes.world_mm(after.points_mm)[cut]
    rough, nearest = cKDTree(grid.reshape(-1, 3)).query(wanted)
    order = np.argsort(-rough, kind="stable")[:CANDIDATES]
    depth = np.array([_close_mm(grid, int(nearest[k]), wanted[k]) for k in order])
    best = int(np.argmax(depth))
    slab, ray = (int(axis[order[best]]) for axis in np.nonzero(cut))
    clock = clock_deg(after.points_mm[slab, ray], chart.centre_mm[slab])
    return Deepest(float(chart.distance_mm[slab]), clock, float(depth[best]))


def _close_mm(grid: F64, nearest: int, point: F64) -> float:
    """Return the distance from a point to the surface in the four cells round its nearest grid point."""
    slabs, rays, _ = grid.shape
    i, k = divmod(nearest, rays)
    rows = np.clip([i - 1, i, i + 1], 0, slabs - 1)
    corner = grid[np.ix_(rows, (k + np.array([-1, 0, 1])) % rays)]
    t = np.linspace(0.0, 1.0, FINE)
    a, b = t[:, None, None], t[None, :, None]
    least = np.inf
    for r in (0, 1):
        for c in (0, 1):
            near = (1.0 - a) * corner[r, c] + a * corner[r + 1, c]
            far = (1.0 - a) * corner[r, c + 1] + a * corner[r + 1, c + 1]
            cell = (1.0 - b) * near + b * far
            least = min(least, float(np.linalg.norm(cell - point, axis=-1).min()))
    return least
