"""Where is the cut deepest, and how deep is it there?"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from portgeom.geometry.arrays import F64, Int
from portgeom.geometry.surface import Surface
from portgeom.questions.shape.places import clock_deg

CANDIDATES = 64
"""So many places are looked at closely in a turn."""

TURNS = 8
"""Where after so many turns others could still be deeper, all are about as deep."""

STEPS = 24
"""Of a walk over the present surface's grid, from a place's own ray to about the nearest point."""

SPARE_MM = 0.01
"""Kept beyond the furthest that is looked for, against rounding."""

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

    None where nothing comes off. No place is cut deeper than along its own ray, nor than it lies from any point of
    the present surface; those that could be the deepest are looked at closely, the likeliest first, until no other
    could be deeper.
    """
    chart = present.chart
    outward = after.rho_mm - present.rho_mm
    slab, ray = np.nonzero(outward > chart.tolerance.length_mm)
    if not len(slab):
        return None
    grid = present.world_mm
    wanted = after.world_mm[slab, ray]
    most = outward[slab, ray]
    best, depth = -1, 0.0
    for turn in range(TURNS):
        open_yet = np.flatnonzero(most > depth)
        if not len(open_yet):
            break
        if turn == 1:
            most[open_yet] = _at_most_mm(grid, slab[open_yet], ray[open_yet], wanted[open_yet], most[open_yet])
            open_yet = open_yet[most[open_yet] > depth]
        chosen = open_yet[_greatest(most[open_yet], CANDIDATES)]
        if not len(chosen):
            break
        deep = _close_mm(grid, _nearest(grid, wanted[chosen], float(most[chosen].max())), wanted[chosen])
        most[chosen] = -np.inf
        if float(deep.max()) > depth:
            best, depth = int(chosen[np.argmax(deep)]), float(deep.max())
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


def _at_most_mm(grid: F64, slab: Int, ray: Int, places: F64, most: F64) -> F64:
    """Return how far places (k, 3) on some slabs and rays lie from the grid at most: where a walk over it ends.

    Each walk starts at a place's own slab and ray and goes on to the nearest point beside as long as there is one.
    """
    slabs, rays, _ = grid.shape
    row, column, square = slab.copy(), ray.copy(), most**2
    walking = np.arange(len(places))
    for _ in range(STEPS):
        start = square[walking]
        row_before, column_before = row[walking], column[walking]
        for i in (-1, 0, 1):
            beside = np.clip(row_before + i, 0, slabs - 1)
            for j in (-1, 0, 1):
                along = (column_before + j) % rays
                away = grid[beside, along] - places[walking]
                nearer = np.einsum("ij,ij->i", away, away)
                less = nearer < square[walking]
                moved = walking[less]
                square[moved], row[moved], column[moved] = nearer[less], beside[less], along[less]
        walking = walking[square[walking] < start]
        if not len(walking):
            break
    return np.sqrt(square)


def _nearest(grid: F64, places: F64, reach: float) -> Int:
    """Return the point of the grid, numbered row by row, that is nearest to each place (k, 3), within ``reach``."""
    reach += SPARE_MM
    around = (grid >= places.min(axis=0) - reach) & (grid <= places.max(axis=0) + reach)
    near = np.flatnonzero(around.all(axis=-1))
    # about their own middle, so that squares stay small
    middle = places.mean(axis=0)
    points, own = grid.reshape(-1, 3)[near] - middle, places - middle
    square = np.einsum("ij,ij->i", points, points) - 2.0 * own @ points.T
    return near[np.argmin(square, axis=1)]


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
