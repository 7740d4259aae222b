"""How is a side of a port looked at as if it were the roof?

A pass works on roof, floor, left or right. Turned in its plane so that the side is up, each is a roof: a
height ``up`` over a place ``along`` the side.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from portgeom.geometry.arrays import F64, Int, frozen, of_rows
from portgeom.geometry.chart import Chart
from portgeom.geometry.union import padded
from portgeom.job.values import Side
from portgeom.model.edge import Edge, bridged_edges, heights_mm, roof_spans_mm, upper_edges

STEP_MM = 0.5
"""Step of a side's grid along the side."""

NEARLY_LEVEL_RAD = np.radians(10.0)
"""A corner has ended where the side leans no more than this."""

UPRIGHT_SHARE = 1e-9
"""Corners this near across, as a share of the width, lie upright over each other."""

AT_WALL_SHARE = 0.4
"""What lies further from the middle than this share of the width is at a wall."""

WOBBLE_MM = 0.05
"""A side that turns back by no more is a wall as traced, and no undercut."""

TURN: dict[Side, F64] = {
    "roof": frozen([[1.0, 0.0], [0.0, 1.0]]),
    "floor": frozen([[-1.0, 0.0], [0.0, -1.0]]),
    "left": frozen([[0.0, 1.0], [-1.0, 0.0]]),
    "right": frozen([[0.0, -1.0], [1.0, 0.0]]),
}
"""Rows: what is along and what is up, in (u, v)."""


@dataclass(frozen=True, slots=True)
class Heights:
    """The height of one side over distance and place along it.

    Attributes
    ----------
    side : Side
    along_mm : (k,) float
        Places along the side, evenly spaced.
    height_mm : (m, k) float
        Height of the metal, NaN where there is none.
    walls_mm : (m, 2) float
        The sections' extent along the side.
    """

    side: Side
    along_mm: F64
    height_mm: F64
    walls_mm: F64

    def at(self, along_mm: F64) -> F64:
        """Return the height (m,) at one place along the side for every slab; NaN where there is none."""
        return over(self.along_mm, self.height_mm, along_mm[:, None])[:, 0]


@dataclass(frozen=True, slots=True)
class SideGrid(Heights):
    """Heights of one side, and the side of every section itself."""

    edges: tuple[Edge, ...]

    @property
    def span_mm(self) -> F64:
        """Return where along the side each section is this side and not the next: its two ends (m, 2)."""
        return roof_spans_mm(bridged_edges(self.edges))

    @property
    def corner_mm(self) -> F64:
        """Return the radius (m, 2) of the corner at each end, as it would be if the corner were an arc."""
        return _corner_radii_mm(self.edges)


def over(along_mm: F64, values: F64, place_mm: F64) -> F64:
    """Return values (m, k) on an even grid at places (m, p) along it; beyond its ends those at the ends."""
    step = along_mm[1] - along_mm[0]
    at = np.clip((place_mm - along_mm[0]) / step, 0.0, len(along_mm) - 1.0)
    low = np.minimum(at.astype(np.intp), len(along_mm) - 2)
    share = at - low
    left, right = of_rows(values, low), of_rows(values, low + 1)
    # a place on the grid does not ask its neighbour, which may be no metal
    return np.where(share == 0.0, left, np.where(share == 1.0, right, (1.0 - share) * left + share * right))


def between_walls_mm(sides: Sequence[Heights], inset_mm: float) -> F64:
    """Return from where to where (m, 2) along a side a place stays so far clear of the walls of every grid.

    Where there is no such place both are in the middle.
    """
    walls = np.array([side.walls_mm for side in sides])
    first, last = walls[..., 0].max(axis=0) + inset_mm, walls[..., 1].min(axis=0) - inset_mm
    middle = 0.5 * (first + last)
    return np.column_stack([np.minimum(first, middle), np.maximum(last, middle)])


def turned(points_mm: F64, side: Side) -> F64:
    """Return section points (..., 2) with a side up."""
    return points_mm @ TURN[side].T


def grid_lines_mm(sections_mm: Sequence[F64], side: Side) -> F64:
    """Return places along a side that cover every section, on whole steps."""
    along = turned(np.concatenate(sections_mm), side)[:, 0]
    low, high = along.min(), along.max()
    return STEP_MM * np.arange(np.ceil(low / STEP_MM), np.floor(high / STEP_MM) + 1.0)


def side_grid(sections_mm: Sequence[F64], side: Side, along_mm: F64) -> SideGrid:
    """Return the height of one side of every section (n, 2) over places along it."""
    edges = upper_edges([turned(p, side) for p in sections_mm])
    walls = np.array([(e.u_mm[0], e.u_mm[-1]) for e in edges])
    return SideGrid(side, along_mm, heights_mm(edges, along_mm), walls, edges)


def heights_of(points_mm: F64, side: Side, along_mm: F64) -> Heights:
    """Return the height of one side of sections of one size (m, n, 2) over places along it.

    As ``side_grid``, but all sections are looked up at once whose side runs one way, but for a wobble or an overhang
    at its walls.
    """
    points = turned(points_mm, side)
    slabs, count, _ = points.shape
    u, v = points[..., 0], points[..., 1]
    low, high = u.min(axis=1), u.max(axis=1)
    near = UPRIGHT_SHARE * (high - low)[:, None]
    right = np.argmax(np.where(u >= high[:, None] - near, v, -np.inf), axis=1)[:, None]
    left = np.argmax(np.where(u <= low[:, None] + near, v, -np.inf), axis=1)[:, None]
    place = np.minimum(np.arange(count), (left - right) % count)
    chain = of_rows(points, (right + place) % count)
    back, v = -chain[..., 0], chain[..., 1]
    # from either wall up to the crown only what lies further in than all before it: the first metal met going up
    crown = np.argmax(v, axis=1)[:, None]
    from_right = np.maximum.accumulate(back, axis=1)
    from_left = np.minimum.accumulate(back[:, ::-1], axis=1)[:, ::-1]
    kept = np.maximum.accumulate(np.where(np.arange(count) <= crown, from_right, from_left), axis=1)
    beside_wall = np.abs(back + 0.5 * (low + high)[:, None]) > AT_WALL_SHARE * (high - low)[:, None]
    plain = ((np.abs(kept - back) <= WOBBLE_MM) | beside_wall).all(axis=1)
    back = kept
    shift = 2.0 * float(np.abs(points[..., 0]).max() + np.abs(along_mm).max()) * np.arange(slabs)[:, None]
    wanted = -along_mm
    after = np.searchsorted((back + shift).ravel(), (wanted + shift).ravel()).reshape(slabs, -1)
    after = np.clip(after - count * np.arange(slabs)[:, None], 1, count - 1)
    start, end = (of_rows(back, after - k) for k in (1, 0))
    from_v, to_v = (of_rows(v, after - k) for k in (1, 0))
    run = end - start
    share = np.clip(np.divide(wanted - start, run, out=np.ones_like(run), where=run > 0.0), 0.0, 1.0)
    height = from_v + share * (to_v - from_v)
    height[(along_mm < low[:, None]) | (along_mm > high[:, None])] = np.nan
    walls = np.column_stack([low, high])
    others = np.flatnonzero(~plain)
    if not len(others):
        return Heights(side, along_mm, height, walls)
    for j, edge in zip(others, upper_edges(list(points[others])), strict=True):
        height[j], walls[j] = edge.height_mm(along_mm), (edge.u_mm[0], edge.u_mm[-1])
    return Heights(side, along_mm, height, walls)


def _corner_radii_mm(edges: Sequence[Edge]) -> F64:
    """Return the radii (m, 2) of the arcs that would lean as much as the corners do, left and right.

    An arc that starts upright at the wall has turned to 10 degrees from level r (1 - sin 10) further in.
    """
    whole = bridged_edges(edges)
    u, v = padded([e.u_mm for e in whole]), padded([e.v_mm for e in whole])
    pieces = np.arange(1, u.shape[1]) < np.array([[len(e.u_mm)] for e in whole])
    lean = np.where(pieces, np.abs(np.arctan2(np.diff(v), np.diff(u))), np.nan)
    middle = 0.5 * (u[:, 1:] + u[:, :-1])
    level = lean <= NEARLY_LEVEL_RAD
    first, last = np.argmax(level, axis=1), level.shape[1] - 1 - np.argmax(level[:, ::-1], axis=1)
    left, right = (_turns_level_mm(middle, lean, at, way) for at, way in ((first, -1), (last, 1)))
    radii = np.column_stack([left - u[:, 0], u[:, -1] - right]) / (1.0 - np.sin(NEARLY_LEVEL_RAD))
    return np.where(level.any(axis=1)[:, None], radii, 0.5 * (u[:, -1:] - u[:, :1]))


def _turns_level_mm(middle: F64, lean: F64, first: Int, way: int) -> F64:
    """Return where leans pass 10 degrees between the first piece that leans less and the one beside it."""
    row, beside = np.arange(len(lean)), np.clip(first + way, 0, lean.shape[1] - 1)
    there, here = lean[row, beside], lean[row, first]
    passes = (here <= NEARLY_LEVEL_RAD) & (there > NEARLY_LEVEL_RAD)  # nothing is beside the last piece of all
    share = np.divide(there - NEARLY_LEVEL_RAD, there - here, out=np.ones(len(row)), where=passes)
    from_mm = np.where(passes, middle[row, beside], middle[row, first])
    return from_mm + share * (middle[row, first] - from_mm)


@dataclass(frozen=True, slots=True)
class SideAxes:
    """Unit vectors (m, 3) of every slab's plane with a side up."""

    along: F64
    up: F64


def side_axes(chart: Chart, side: Side) -> SideAxes:
    """Return which way along and up point in the head frame at every slab."""
    return axes_of(chart.planes.right, chart.planes.up, side)


def axes_of(right: F64, up: F64, side: Side) -> SideAxes:
    """Return along and up of planes whose u and v point ``right`` and ``up`` (k, 3)."""
    (a, b), (c, d) = TURN[side]
    return SideAxes(a * right + b * up, c * right + d * up)
