"""How are the corners between roofs and side walls cut anew?"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from portgeom.geometry.arrays import F64, of_rows
from portgeom.geometry.union import padded
from portgeom.model.corners import Corners
from portgeom.model.edge import Edge

ARC_POINTS = 24
"""Points on a corner cut anew: on a 10 mm radius the chords stay within 0.006 mm."""


@dataclass(frozen=True, slots=True)
class Walls:
    """Straight lines along the side walls of sections, left and right: a point and an upward unit vector (m, 2)."""

    left_foot: F64
    left_up: F64
    right_foot: F64
    right_up: F64


def side_walls(sections: Corners, level_mm: F64) -> Walls:
    """Return the lines of the side walls of polygons where each crosses its height ``level_mm`` (m,).

    Each runs along the chord between the wall's places a quarter of the way up to the crown and as far
    below, so a wobble of a trace does not turn it.
    """
    reach = 0.25 * (sections.v_mm.max(axis=1) - level_mm)
    low, middle, high = (_wall_places(sections, level_mm + step) for step in (-reach, np.zeros(len(reach)), reach))
    left, right = np.moveaxis(high - low, 1, 0)
    return Walls(middle[:, 0], _unit(left), middle[:, 1], _unit(right))


def _wall_places(sections: Corners, level: F64) -> F64:
    """Return the outermost places (m, 2, 2) at which each polygon crosses its height, left and right."""
    level = level[:, None]
    above = sections.v_mm > level
    start, end = sections.points_mm, np.roll(sections.points_mm, -1, axis=1)
    crosses = above != np.roll(above, -1, axis=1)
    rise = end[..., 1] - start[..., 1]
    along = (end[..., 0] - start[..., 0]) * (level - start[..., 1])
    u = start[..., 0] + np.divide(along, rise, out=np.zeros(rise.shape), where=crosses)
    left, right = np.where(crosses, u, np.inf).min(axis=1), np.where(crosses, u, -np.inf).max(axis=1)
    return np.stack([np.column_stack([left, level]), np.column_stack([right, level])], axis=1)


def recut_corners(edges: Sequence[Edge], walls: Walls, radius_mm: F64) -> list[F64]:
    """Return concave roofs with their corners cut anew, as points (k, 2) from right wall to left wall.

    The roof's middle third is kept and carried on straight to the side walls; the corner between is an
    arc of ``radius_mm`` (m,) that touches both. The first and last points lie on the walls.
    """
    low, high = np.array([(edge.u_mm[0], edge.u_mm[-1]) for edge in edges]).T
    third = (high - low) / 3.0
    right = _fillets(_straight_on(edges, high - third, 1.0), walls.right_foot, walls.right_up, radius_mm)
    left = _fillets(_straight_on(edges, low + third, -1.0), walls.left_foot, walls.left_up, radius_mm)
    first = np.maximum(left[:, -1, 0], low + third)
    last = np.minimum(right[:, -1, 0], high - third)
    roofs = []
    for j, edge in enumerate(edges):
        kept = (edge.u_mm > first[j]) & (edge.u_mm < last[j])
        middle = np.column_stack([edge.u_mm[kept], edge.v_mm[kept]])[::-1]
        roofs.append(np.concatenate([right[j], middle, left[j, ::-1]]))
    return roofs


@dataclass(frozen=True, slots=True)
class _Lines:
    """Straight lines, each a point and a unit vector (m, 2)."""

    at: F64
    run: F64


def _straight_on(edges: Sequence[Edge], u: F64, side: float) -> _Lines:
    """Return the line from each edge's place over ``u`` (m,) outwards, to the right (1) or the left (-1)."""
    across, height = padded([edge.u_mm for edge in edges]), padded([edge.v_mm for edge in edges])
    last = np.array([len(edge.u_mm) for edge in edges]) - 2
    start = np.minimum((across <= u[:, None]).sum(axis=1) - 1, last)
    u0, u1, v0, v1 = (of_rows(x, (start + k)[:, None])[:, 0] for x in (across, height) for k in (0, 1))
    slope = (v1 - v0) / (u1 - u0)
    at = np.column_stack([u, slope * (u - u0) + v0])
    return _Lines(at, side * _unit(np.column_stack([np.ones(len(u)), slope])))


def _fillets(roof: _Lines, foot: F64, up: F64, radius: F64) -> F64:
    """Return the arcs (m, ARC_POINTS, 2) from wall to roof, wall end first, touching both lines."""
    at, run = roof.at, roof.run
    corner = at + run * (_cross(foot - at, up) / _cross(run, up))[:, None]
    half = 0.5 * np.arccos(np.clip(np.vecdot(run, up), -1.0, 1.0))  # of the angle between roof and wall
    centre = corner + _unit(-(run + up)) * (radius / np.sin(half))[:, None]
    touch = (radius / np.tan(half))[:, None]
    start, end = corner - up * touch - centre, corner - run * touch - centre
    sweep = np.arctan2(_cross(start, end), np.vecdot(start, end))
    angle = np.arctan2(start[:, 1], start[:, 0])[:, None] + np.linspace(0.0, sweep, ARC_POINTS, axis=-1)
    return centre[:, None] + radius[:, None, None] * np.stack([np.cos(angle), np.sin(angle)], axis=-1)


def _cross(a: F64, b: F64) -> F64:
    return a[:, 0] * b[:, 1] - a[:, 1] * b[:, 0]


def _unit(vectors: F64) -> F64:
    unit: F64 = vectors / np.hypot(vectors[:, 0], vectors[:, 1])[:, None]
    return unit
