"""Where is the cut deepest, and how deep is it there?"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from portgeom.geometry.arrays import F64, Int
from portgeom.geometry.surface import Surface
from portgeom.questions.shape.places import clock_deg

if TYPE_CHECKING:
    from scipy.spatial import cKDTree

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
    outward = after.rho_mm - present.rho_mm
    slab, ray = np.nonzero(outward > chart.tolerance.length_mm)
    if not len(slab):
        return None
    from scipy.spatial import cKDTree

    grid = chart.planes.world_mm(present.points_mm)
    wanted = chart.planes.world_mm(after.points_mm)[slab, ray]
    tree = cKDTree(grid.reshape(-1, 3), balanced_tree=False, compact_nodes=False)
    # no place is cut deeper than along its own ray, so only those cut far enough along it can be the deepest
    bound = outward[slab, ray]
    likely = np.argsort(-bound, kind="stable")[: 8 * CANDIDATES]
    best, depth = _deepest(grid, tree, wanted, likely)
    rest = np.flatnonzero(bound > depth)
    rest = rest[~np.isin(rest, likely)]
    if len(rest):
        other, deeper = _deepest(grid, tree, wanted, rest)
        best, depth = (other, deeper) if deeper > depth else (best, depth)
    j, k = int(slab[best]), int(ray[best])
    clock = clock_deg(after.points_mm[j, k], chart.centre_mm[j])
    return Deepest(float(chart.distance_mm[j]), clock, depth)


def _deepest(grid: F64, tree: cKDTree, wanted: F64, chosen: Int) -> tuple[int, float]:
    """Return which of the chosen places lies furthest from the grid's surface, and how far."""
    rough, nearest = tree.query(wanted[chosen])
    order = np.argsort(-rough, kind="stable")[:CANDIDATES]
    depth = [_close_mm(grid, int(nearest[k]), wanted[chosen[k]]) for k in order]
    best = int(np.argmax(depth))
    return int(chosen[order[best]]), depth[best]


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
