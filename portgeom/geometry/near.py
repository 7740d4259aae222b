"""Which part of a surface is near something, where is it nearest, and how large is the part that is too near?

The something is only known by a distance that no step can change by more than its own length. So a block of
places that is far off is left out by asking once for its middle.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Self, TypeAlias, TypeVar

import numpy as np
import numpy.typing as npt

from portgeom.geometry.arrays import F64, Bool, Int, frozen
from portgeom.geometry.surface import Surface

Distance: TypeAlias = Callable[[F64], F64]
"""Takes points (n, 3) in the head frame, returns signed distances (n,) in mm."""

_Kind = TypeVar("_Kind", bound=np.generic)

BLOCK = 8
"""Places along each side of a block that is kept or left out as one."""

MOST_LOWEST = 2048
"""Places whose neighbouring cells may hold the least distance: at most so many, the nearest ones."""

CELLS = 128
"""Cells that are searched for the least distance: those of them that are nearest at corners, edges and middle."""

HALVINGS = 4
"""How often the cells that hold the least distance are searched again, each time half as wide."""

SUBCELLS = 8
"""Parts along each side of a cell that the edge of an area runs through."""


@dataclass(frozen=True, slots=True)
class Places:
    """The grid of a surface in the head frame, in blocks.

    Attributes
    ----------
    surface : Surface
    nodes_mm : (m, n, 3) float
        One for every slab and ray.
    middle_mm, radius_mm : (p, q, 3), (p, q) float
        A ball round each block of places.
    cell_mm : float
        Longest diagonal of a cell between four places.
    """

    surface: Surface
    nodes_mm: F64
    middle_mm: F64
    radius_mm: F64
    cell_mm: float


@dataclass(frozen=True, slots=True)
class Near:
    """Distances (m, n) where they matter, infinite elsewhere; all that are at most ``asked_to_mm`` are there."""

    distance_mm: F64
    asked_to_mm: float


@dataclass(frozen=True, slots=True)
class Spot:
    """A place on a surface, between slabs and rays: fractional indices, and what was found there."""

    slab: float
    ray: float
    distance_mm: float


def places_of(surface: Surface) -> Places:
    """Return a surface's grid, ready to be asked what is near."""
    nodes = surface.world_mm
    xyz = np.ascontiguousarray(np.moveaxis(nodes, -1, 0))
    block = _blocks(xyz)
    middle = 0.5 * (block.min(axis=2).min(axis=-1) + block.max(axis=2).max(axis=-1))
    away = block - middle[:, :, None, :, None]
    radius = np.sqrt(np.einsum("c...,c...->...", away, away).max(axis=1).max(axis=-1))
    after = np.roll(xyz, -1, axis=-1)
    diagonals = xyz[:, 1:] - after[:, :-1], after[:, 1:] - xyz[:, :-1]
    longest = max(float(np.einsum("c...,c...->...", d, d).max()) for d in diagonals)
    return Places(surface, nodes, frozen(np.moveaxis(middle, 0, -1)), frozen(radius), float(np.sqrt(longest)))


def _blocks(values: npt.NDArray[_Kind]) -> npt.NDArray[_Kind]:
    """Return values (..., m, n) block by block, (..., p, BLOCK, q, BLOCK); the last of a side fill the last block."""
    *_, slabs, rays = values.shape
    by_slab, by_ray = (-(-count // BLOCK) for count in (slabs, rays))
    rows, columns = (np.minimum(np.arange(k * BLOCK), n - 1) for k, n in ((by_slab, slabs), (by_ray, rays)))
    filled = values[..., rows[:, None], columns]
    return filled.reshape(*values.shape[:-2], by_slab, BLOCK, by_ray, BLOCK)


def near(
    places: Places,
    distance: Distance,
    within_mm: float,
    *,
    at_least: Distance | None = None,
    earlier: Near | None = None,
    moved: Bool | None = None,
) -> Near:
    """Return the distances of all places within ``within_mm``, and of the nearest ones whatever they are.

    Parameters
    ----------
    at_least : Distance or None
        A quicker answer that is never above the distance from outside, for a distance that is slow to ask.
    earlier, moved : Near, (m, n) bool, or None
        What was found for an earlier surface on the same grid, and which places have moved since: only
        those are asked again.
    """
    if earlier is not None and moved is not None and earlier.asked_to_mm >= within_mm:
        block = _any_in_block(moved)
        away = np.full(block.shape, np.inf)
        away[block] = distance(places.middle_mm[block])
        kept = np.where(moved, np.inf, earlier.distance_mm)
        _ask(places, distance, at_least, away, earlier.asked_to_mm, moved, kept)
        if kept.min() <= earlier.asked_to_mm:
            return Near(frozen(kept), earlier.asked_to_mm)
    away = distance(places.middle_mm.reshape(-1, 3)).reshape(places.radius_mm.shape)
    to = max(within_mm, float((away + places.radius_mm).min()))
    found = np.full(places.nodes_mm.shape[:2], np.inf)
    _ask(places, distance, at_least, away, to, np.ones(found.shape, dtype=bool), found)
    return Near(frozen(found), to)


def _ask(
    places: Places,
    distance: Distance,
    at_least: Distance | None,
    away: F64,
    to: float,
    chosen: Bool,
    found: F64,
) -> None:
    """Fill in the distances of chosen places that may be within ``to``, by the distances of their blocks."""
    slabs, rays = found.shape
    asked = chosen & _spread(away - places.radius_mm <= to, slabs, rays)
    if at_least is not None:
        # what is quick is known from outside only: no place of these blocks can be further inside than ``to``
        outside = asked & _spread((away >= 0.0) & (places.radius_mm <= to), slabs, rays)
        asked[outside] = at_least(places.nodes_mm[outside]) <= to
    found[asked] = distance(places.nodes_mm[asked])


def _any_in_block(chosen: Bool) -> Bool:
    """Return which blocks hold a chosen place."""
    return np.asarray(_blocks(chosen).any(axis=1).any(axis=-1))


def nearest_spot(places: Places, distance: Distance, found: Near) -> Spot:
    """Return where the surface, taken as flat from place to place along slabs and rays, is nearest.

    Notes
    -----
    Inside a cell it may be nearer than at any corner, by half the cell's diagonal at most; where a cutter was held
    back from a wall thousands of corners are as near as each other, and only what lies between them tells.
    """
    sought = _Sought.of_middles(places, distance, _cells_that_may_be_nearest(places, found))
    sought = sought.best(CELLS)
    for halving in range(HALVINGS + 1):
        sought = sought.searched(places, distance, 0.5 ** (halving + 1))
        if halving == 0:
            # a place on the edge of a cell is in its neighbours too, and may go on in any of them
            sought = sought.best(8)
    sought = sought.best(1)
    return Spot(
        float(sought.cells[0, 0] + sought.a[0]),
        float(sought.cells[0, 1] + sought.b[0]),
        float(sought.least_mm[0]),
    )


def _cells_that_may_be_nearest(places: Places, found: Near) -> Int:
    """Return slab and ray (c, 2) of cells that hold the nearest place, or one nearer than it between their corners."""
    slabs, rays = found.distance_mm.shape
    flat = found.distance_mm.ravel()
    lowest = np.flatnonzero(flat <= flat.min() + 0.5 * places.cell_mm)
    if len(lowest) > MOST_LOWEST:
        lowest = lowest[np.argpartition(flat[lowest], MOST_LOWEST - 1)[:MOST_LOWEST]]
    i, k = np.divmod(lowest, rays)
    cell = np.concatenate([(i - a) * rays + (k - b) % rays for a in (0, 1) for b in (0, 1)])
    chosen = np.zeros((slabs + 1) * rays, dtype=bool)
    chosen[cell + rays] = True  # cells before the first slab come first
    return np.argwhere(chosen.reshape(slabs + 1, rays)[1:slabs])


@dataclass(frozen=True, slots=True)
class _Sought:
    """The nearest place so far in each of several cells: shares of the way to the next slab and ray."""

    cells: Int
    a: F64
    b: F64
    least_mm: F64

    @classmethod
    def of_middles(cls, places: Places, distance: Distance, cells: Int) -> Self:
        """Return the nearest of each cell's middle and the middles of two edges; the others are a neighbour's."""
        a, b = (np.tile(share, (len(cells), 1)) for share in ((0.5, 0.5, 0.0), (0.5, 0.0, 0.5)))
        away = distance(within_cells(places.nodes_mm, cells[:, 0], cells[:, 1], a, b).reshape(-1, 3)).reshape(a.shape)
        row, at = np.arange(len(cells)), np.argmin(away, axis=1)
        return cls(cells, a[row, at], b[row, at], away[row, at])

    def best(self, count: int) -> Self:
        order = np.argsort(self.least_mm, kind="stable")[:count]
        return type(self)(self.cells[order], self.a[order], self.b[order], self.least_mm[order])

    def searched(self, places: Places, distance: Distance, half: float) -> Self:
        """Return the nearest of five by five places round those so far, ``half`` a side away at most."""
        step = np.linspace(-half, half, 5)
        by_a, by_b = (x.ravel() for x in np.meshgrid(step, step, indexing="ij"))
        a, b = (np.clip(x[:, None] + y, 0.0, 1.0) for x, y in ((self.a, by_a), (self.b, by_b)))
        points = within_cells(places.nodes_mm, self.cells[:, 0], self.cells[:, 1], a, b)
        away = distance(points.reshape(-1, 3)).reshape(a.shape)
        row, at = np.arange(len(a)), np.argmin(away, axis=1)
        nearer = away[row, at] < self.least_mm
        new_a, new_b = np.where(nearer, a[row, at], self.a), np.where(nearer, b[row, at], self.b)
        return type(self)(self.cells, new_a, new_b, np.minimum(away[row, at], self.least_mm))


def area_below_mm2(places: Places, found: Near, limit_mm: float) -> float:
    """Return the area (mm2) of the surface itself where distances are below a limit.

    Cells that the limit runs through are parted, the distance taken as even from place to place: over
    the middle of something round that makes the area smaller, by about that of a cell.
    """
    under = found.distance_mm < limit_mm
    rows, rays = cells_touched(under)
    if len(rows) == 0:
        return 0.0
    corner = corners(found.distance_mm, rows, rays)
    share = np.ones(len(rows))
    crossed = (corner >= limit_mm).any(axis=1)
    step = (np.arange(SUBCELLS) + 0.5) / SUBCELLS
    a, b = (x.ravel() for x in np.meshgrid(step, step, indexing="ij"))
    beyond = min(found.asked_to_mm, limit_mm + places.cell_mm)  # the least a place can be that was not asked
    values = np.where(np.isfinite(corner[crossed]), corner[crossed], beyond)
    inner = _blend(values[:, :, None], a[None], b[None])
    share[crossed] = (inner < limit_mm).mean(axis=1)
    return float(share @ _cell_areas_mm2(places, rows, rays))


def cells_touched(under: Bool) -> tuple[Int, Int]:
    """Return slab and ray of every cell that has a corner in a set of places (m, n)."""
    either = under | np.roll(under, -1, axis=1)
    rows, rays = np.nonzero(either[:-1] | either[1:])
    return rows, rays


def _cell_areas_mm2(places: Places, rows: Int, rays: Int) -> F64:
    corner = corners(places.nodes_mm, rows, rays)
    first, second = corner[:, 3] - corner[:, 0], corner[:, 1] - corner[:, 2]
    return 0.5 * np.linalg.norm(np.cross(first, second), axis=1)


def corners(values: F64, rows: Int, rays: Int) -> F64:
    """Return values (c, 4, ...) at a cell's corners: this slab and ray, next slab, next ray, both next."""
    return np.stack([values[at] for at in round_cells(rows, rays, values.shape[1])], axis=1)


def round_cells(rows: Int, rays: Int, count: int) -> tuple[tuple[Int, Int], ...]:
    """Return slabs and rays of the four corners of cells, of ``count`` rays in all, in the order of ``corners``."""
    after = (rays + 1) % count
    return (rows, rays), (rows + 1, rays), (rows, after), (rows + 1, after)


def within_cells(nodes_mm: F64, rows: Int, rays: Int, a: F64, b: F64) -> F64:
    """Return points (c, k, 3) of cells (c,) at shares ``a`` towards the next slab, ``b`` towards the next ray."""
    return _blend(corners(nodes_mm, rows, rays)[:, :, None, :], a[..., None], b[..., None])


def _blend(corner: F64, a: F64, b: F64) -> F64:
    near_ray = corner[:, 0] + a * (corner[:, 1] - corner[:, 0])
    next_ray = corner[:, 2] + a * (corner[:, 3] - corner[:, 2])
    return near_ray + b * (next_ray - near_ray)


def _spread(blocks: npt.NDArray[_Kind], slabs: int, rays: int) -> npt.NDArray[_Kind]:
    """Return a value of every block at each of its places."""
    return np.repeat(np.repeat(blocks, BLOCK, axis=0)[:slabs], BLOCK, axis=1)[:, :rays]
