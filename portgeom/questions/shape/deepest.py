"""Where is the cut deepest, and how deep is it there?"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from portgeom.geometry.arrays import F64, Int
from portgeom.geometry.surface import Surface
from portgeom.questions.shape.places import clock_deg

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
    grid = chart.planes.world_mm(present.points_mm)
    wanted = chart.planes.world_mm(after.points_mm)[slab, ray]
    # no place is cut deeper than along its own ray, so only those cut far enough along it can be the deepest
    bound = outward[slab, ray]
    reach = float(bound.max()) + chart.tolerance.length_mm
    likely = _greatest(bound, 8 * CANDIDATES)
    best, depth = _deepest(grid, wanted, reach, likely)
    rest = np.flatnonzero(bound > depth)
    rest = rest[~np.isin(rest, likely)]
    if len(rest):
        other, deeper = _deepest(grid, wanted, reach, rest)
        best, depth = (other, deeper) if deeper > depth else (best, depth)
    j, k = int(slab[best]), int(ray[best])
    clock = clock_deg(after.points_mm[j, k], chart.centre_mm[j])
    return Deepest(float(chart.distance_mm[j]), clock, depth)


def _greatest(values: F64, count: int) -> Int:
    """Return which are the greatest so many values, the greatest first; of equals the earlier ones."""
    if len(values) <= count:
        return np.argsort(-values, kind="stable")
    least = np.partition(values, -count)[-count]
    large = np.flatnonzero(values >= least)
    return large[np.argsort(-values[large], kind="stable")[:count]]


def _deepest(grid: F64, wanted: F64, reach: float, chosen: Int) -> tuple[int, float]:
    """Return which of the chosen places lies furthest from the grid's surface, and how far.

    None lies further than ``reach`` from the grid.
    """
    from scipy.spatial import cKDTree

    places = wanted[chosen]
    around = (grid >= places.min(axis=0) - reach) & (grid <= places.max(axis=0) + reach)
    near = np.flatnonzero(around.all(axis=-1))
    tree = cKDTree(grid.reshape(-1, 3)[near], balanced_tree=False, compact_nodes=False)
    rough, nearest = tree.query(places)
    first = _greatest(rough, CANDIDATES)
    depth = _close_mm(grid, near[nearest[first]], places[first])
    best = int(np.argmax(depth))
    return int(chosen[first[best]]), float(depth[best])


def _close_mm(grid: F64, nearest: Int, points: F64) -> F64:
    """Return the distances of points (k, 3) from the surface in the four cells round their nearest grid points (k,)."""
    slabs, rays, _ = grid.shape
    i, j = np.divmod(nearest, rays)
    beside = np.array([-1, 0, 1])
    rows = np.clip(i[:, None] + beside, 0, slabs - 1)
    corner = grid[rows[:, :, None], ((j[:, None] + beside) % rays)[:, None, :]]
    a, b = (t[..., None] for t in np.meshgrid(*[np.linspace(0.0, 1.0, FINE)] * 2, indexing="ij"))
    least = np.full(len(points), np.inf)
    for r in (0, 1):
        for c in (0, 1):
            here, right, ahead, both = (corner[:, r + s, c + q, None, None] for s in (0, 1) for q in (0, 1))
            near = (1.0 - a) * here + a * ahead
            far = (1.0 - a) * right + a * both
            cell = (1.0 - b) * near + b * far
            away = np.linalg.norm(cell - points[:, None, None], axis=-1)
            least = np.minimum(least, away.min(axis=(1, 2)))
    return least
