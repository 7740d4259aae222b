"""How far may a pass go where every wall must keep its least?

A wall is held at the places of the grid first, each along its own ray. Between the places the surface is flat, and so
nearer to something round behind it; most of all where one ray ends at a hole and the next one passes beside it. What
lacks there is given back by the places round it.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from portgeom.geometry.arrays import F64, Int
from portgeom.geometry.chart import Chart
from portgeom.geometry.near import cells_touched, corners, round_cells, within_cells
from portgeom.questions.walls.behind import Behind
from portgeom.questions.walls.stop import stop_depth_mm

LACKS_MM = 0.003
"""Less that a wall lacks between places is left."""

PARTS = 6
"""Parts of a cell each way, at whose ends the wall is asked for."""

GIVEN_BACK = 1.5
"""How much more than what lacks is given back: rays meet a wall aslant."""

ROUNDS = 40
"""Most times that what lacks is given back."""


def held_back(chart: Chart, before_mm: F64, after_mm: F64, hazards: Sequence[Behind]) -> F64:
    """Return distances (m, n) after a pass, nowhere beyond where a wall is at its limit.

    Parameters
    ----------
    before_mm, after_mm : (m, n) float
        Along the rays of the chart, as the pass finds the port and as it would leave it: nothing is ever put back
        on. ``after_mm`` itself is returned where the pass takes nothing.
    """
    slab, ray = np.nonzero(after_mm > before_mm + chart.tolerance.length_mm)
    if not len(slab):
        return after_mm
    points = chart.planes.world_mm(chart.tips_mm(before_mm))[slab, ray]
    u, v = chart.rays.direction[ray].T
    ahead = u[:, None] * chart.planes.right[slab] + v[:, None] * chart.planes.up[slab]
    held, taken = after_mm.copy(), (after_mm - before_mm)[slab, ray]
    held[slab, ray] = before_mm[slab, ray] + np.minimum(taken, stop_depth_mm(points, ahead, hazards, deepest_mm=taken))
    return _between_places(chart, before_mm, held, hazards)


def _between_places(chart: Chart, before_mm: F64, held_mm: F64, hazards: Sequence[Behind]) -> F64:
    """Return distances at which the wall is kept between places too."""
    held = held_mm.copy()
    nodes = chart.planes.world_mm(chart.tips_mm(held))
    moved = held > before_mm
    for _ in range(ROUNDS):
        cells = cells_touched(moved)
        back = np.zeros(held.shape)
        for hazard in hazards:
            if not hazard.hazard.open_allowed:
                _give_back(back, nodes, *cells, hazard)
        given = np.maximum(before_mm, held - back)
        moved = given < held
        slabs = np.flatnonzero(moved.any(axis=1))
        if not len(slabs):
            break
        held[slabs] = given[slabs]
        tips = chart.rays.tips_mm(chart.centre_mm[slabs], chart.half_mm[slabs], held[slabs])
        nodes[slabs] = chart.planes.at(slabs).world_mm(tips)
    return held


def _give_back(back_mm: F64, nodes_mm: F64, row: Int, ray: Int, hazard: Behind) -> None:
    """Raise how much (m, n) every place is to give back, so that a hazard keeps its wall within cells (c,)."""
    row, ray = _near_cells(nodes_mm, row, ray, hazard)
    share = np.linspace(0.0, 1.0, PARTS + 1)
    a, b = (np.tile(x.ravel(), (len(row), 1)) for x in np.meshgrid(share, share, indexing="ij"))
    wall = hazard.wall_mm(within_cells(nodes_mm, row, ray, a, b).reshape(-1, 3)).reshape(a.shape)
    lacks = np.nan_to_num(hazard.stop_mm - wall, nan=0.0).max(axis=1, initial=0.0)
    given = np.where(lacks > LACKS_MM, GIVEN_BACK * lacks, 0.0)
    for at in round_cells(row, ray, nodes_mm.shape[1]):
        np.maximum.at(back_mm, at, given)


def _near_cells(nodes_mm: F64, row: Int, ray: Int, hazard: Behind) -> tuple[Int, Int]:
    """Return the cells in which a wall may be too thin: no place is further from all corners than half a diagonal."""
    asked = np.zeros(nodes_mm.shape[:2], dtype=bool)
    for at in round_cells(row, ray, nodes_mm.shape[1]):
        asked[at] = True
    quick = hazard.wall_mm if hazard.at_least_mm is None else hazard.at_least_mm
    away = np.full(asked.shape, np.inf)
    away[asked] = quick(nodes_mm[asked])
    nearest = np.fmin.reduce(corners(away, row, ray), axis=1)
    corner = corners(nodes_mm, row, ray)
    across = np.maximum(*(np.linalg.norm(corner[:, i] - corner[:, k], axis=1) for i, k in ((0, 3), (1, 2))))
    near = nearest <= hazard.stop_mm + 0.5 * across
    return row[near], ray[near]
