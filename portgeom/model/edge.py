"""What is the upper boundary of a section, and what is it with bosses bridged or corners cut anew?

The floor is the same question asked of the section turned upside down.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from portgeom.geometry.arrays import F64, Int
from portgeom.geometry.rays import SPINE_HALF

ROOF_LEAN = np.tan(np.radians(60.0))
"""Slope at which a roof has become a wall: its outward normal leans 60 degrees from v."""

ARC_POINTS = 24
"""Points on a corner cut anew: on a 10 mm radius the chords stay within 0.006 mm."""


@dataclass(frozen=True, slots=True)
class Edge:
    """The upper boundary of one section between its widest points, as v over rising u (k,)."""

    u_mm: F64
    v_mm: F64

    def height_mm(self, across_mm: F64) -> F64:
        """Return v over ``across_mm``; NaN beyond the ends."""
        return np.interp(across_mm, self.u_mm, self.v_mm, left=np.nan, right=np.nan)

    @property
    def crown_mm(self) -> float:
        """Return the greatest height."""
        return float(self.v_mm.max())


def widest(points_mm: F64) -> tuple[int, int]:
    """Return where the roof of a polygon leaves its side walls: the indices of a place right and left.

    Each is the upper widest place of its side; but where the wall bulges in below it, and the section is wider
    again further down, it is the place above that waist.
    """
    u, v = points_mm[:, 0], points_mm[:, 1]
    near = 1e-9 * float(np.ptp(u))
    far_right, far_left = np.flatnonzero(u >= u.max() - near), np.flatnonzero(u <= u.min() + near)
    right, left = int(far_right[np.argmax(v[far_right])]), int(far_left[np.argmax(v[far_left])])
    chain = between(points_mm, right, left)
    if (np.diff(chain[:, 0]) < 0.0).all():
        return right, left
    crown = int(np.argmax(chain[:, 1]))
    outer = 0.5 * (u.max() + u.min()) + SPINE_HALF * float(np.ptp(u))
    right += crown - _above_waist(chain[crown::-1, 0], outer, near)
    mirrored_outer = SPINE_HALF * float(np.ptp(u)) - 0.5 * (u.max() + u.min())
    left -= len(chain) - 1 - crown - _above_waist(-chain[crown:, 0], mirrored_outer, near)
    return right % len(points_mm), left % len(points_mm)


def _above_waist(outward: F64, outer: float, near: float) -> int:
    """Return where places that run outward from the crown first turn back, if beyond ``outer``; else the last."""
    furthest = np.maximum.accumulate(outward)
    back = np.flatnonzero((outward < furthest - near) & (furthest > outer))
    return int(np.argmax(outward[: back[0]])) if len(back) else len(outward) - 1


def between(points_mm: F64, start: int, end: int) -> F64:
    """Return the corners from ``start`` anticlockwise to ``end``, both included."""
    if start <= end:
        return points_mm[start : end + 1]
    return np.concatenate([points_mm[start:], points_mm[: end + 1]])


def upper_edge(points_mm: F64) -> Edge:
    """Return the upper boundary of an anticlockwise polygon (n, 2).

    Where the section is undercut it is the first metal met going up.
    """
    right, left = widest(points_mm)
    chain = between(points_mm, right, left)
    step = np.diff(chain[:, 0])
    if (step < 0.0).all():
        return Edge(chain[::-1, 0], chain[::-1, 1])
    near = 1e-9 * float(np.ptp(points_mm[:, 0]))
    back = np.flatnonzero(step > near)
    # left of the crown and right of it the chain may double back, each over a stretch of its own
    crown = int(np.argmax(chain[:, 1]))
    runs = [_doubled(chain, side) for side in (back[back < crown], back[back >= crown]) if len(side)]
    if len(runs) == 2 and runs[0][1] >= runs[1][0]:
        runs = [(runs[0][0], runs[1][1])]
    u, v, done = [], [], 0
    for first, last in runs:
        met = _first_met(chain[first : last + 1], near)
        u += [chain[done:first, 0], met.u_mm[::-1]]
        v += [chain[done:first, 1], met.v_mm[::-1]]
        done = last + 1
    u.append(chain[done:, 0])
    v.append(chain[done:, 1])
    across = np.concatenate(u)
    behind = near * np.arange(len(across))  # an upright piece leans by as much, so that u rises everywhere
    return Edge((np.minimum.accumulate(across + behind) - behind)[::-1], np.concatenate(v)[::-1])


def _doubled(chain: F64, back: Int) -> tuple[int, int]:
    """Return the stretch of a chain, ends included, outside which it runs over no u twice."""
    u = chain[:, 0]
    over = u[back[0] : back[-1] + 2]
    first = int(np.flatnonzero(u <= over.max())[0])
    last = int(np.flatnonzero(u >= over.min())[-1])
    return max(0, first - 1), min(len(u) - 1, last + 1)


def _first_met(chain: F64, near: float) -> Edge:
    """Return the lowest v of a chain (k, 2) over every u: the metal that is met first going up.

    The chain's pieces do not cross, so which one is lowest changes only over its corners. Where it jumps the
    edge rises or falls within ``near``.
    """
    u = np.unique(chain[:, 0])
    u = u[np.diff(u, prepend=-np.inf) > near]
    middle = 0.5 * (u[:-1] + u[1:])
    start, end = chain[:-1], chain[1:]
    run = end[:, 0] - start[:, 0]
    upright = np.abs(run) <= near
    slope = np.divide(end[:, 1] - start[:, 1], run, out=np.zeros_like(run), where=~upright)
    left, right = np.minimum(start[:, 0], end[:, 0]), np.maximum(start[:, 0], end[:, 0])
    over = (left <= middle[:, None]) & (middle[:, None] <= right) & ~upright
    height = np.where(over, start[:, 1] + slope * (middle[:, None] - start[:, 0]), np.inf)
    lowest = np.argmin(height, axis=1)
    ends = np.stack([u[:-1], u[1:]], axis=1)
    v = (start[lowest, 1] - slope[lowest] * start[lowest, 0])[:, None] + slope[lowest][:, None] * ends
    reach = np.sort(np.stack([start[lowest, 1], end[lowest, 1]], axis=1), axis=1)
    v = np.clip(v, reach[:, :1], reach[:, 1:])
    jumps = np.abs(v[1:, 0] - v[:-1, 1]) > near
    length = np.diff(u)
    aside = np.where(jumps, np.minimum(near, 0.25 * np.minimum(length[:-1], length[1:])), 0.0)
    ends[:-1, 1] -= aside
    ends[1:, 0] += aside
    kept = np.ones(ends.shape, dtype=bool)
    kept[1:, 0] = jumps  # of two ends that meet, one stays
    return Edge(ends[kept], v[kept])


def bridged_across(edge: Edge) -> Edge:
    """Return the least concave curve over an edge: hollows go, corners stay.

    A corner under the chord of its neighbours is on no such curve, so all of those go at once, again and
    again until none is left.
    """
    u, v = edge.u_mm, edge.v_mm
    while len(u) > 2:
        slope = np.diff(v) / np.diff(u)
        kept = np.concatenate([[True], np.diff(slope) <= 0.0, [True]])
        if kept.all():
            break
        u, v = u[kept], v[kept]
    return edge if len(u) == len(edge.u_mm) else Edge(u, v)


def roof_span_mm(edge: Edge) -> tuple[float, float]:
    """Return where a concave edge is roof: from left to right, between where it has turned into wall."""
    slope = np.diff(edge.v_mm) / np.diff(edge.u_mm)
    roof = np.flatnonzero(np.abs(slope) <= ROOF_LEAN)
    if not len(roof):
        crown = float(edge.u_mm[np.argmax(edge.v_mm)])
        return crown, crown
    return float(edge.u_mm[roof[0]]), float(edge.u_mm[roof[-1] + 1])


@dataclass(frozen=True, slots=True)
class Walls:
    """Straight lines along the side walls, each a point and an upward unit vector (2,)."""

    left_foot: F64
    left_up: F64
    right_foot: F64
    right_up: F64


def side_walls(points_mm: F64, level_mm: float) -> Walls:
    """Return the lines of a polygon's side walls where it crosses the height ``level_mm``.

    Each runs along the chord between the wall's places a quarter of the way up to the crown and as far
    below, so a wobble of a trace does not turn it.
    """
    reach = 0.25 * (float(points_mm[:, 1].max()) - level_mm)
    low, middle, high = (_wall_places(points_mm, level_mm + step) for step in (-reach, 0.0, reach))
    left, right = high[0] - low[0], high[1] - low[1]
    return Walls(middle[0], left / np.hypot(*left), middle[1], right / np.hypot(*right))


def _wall_places(points: F64, level: float) -> F64:
    """Return the outermost places (2, 2) at which a polygon crosses a height, left and right."""
    above = points[:, 1] > level
    start, end = points, np.roll(points, -1, axis=0)
    crosses = above != np.roll(above, -1)
    a, b = start[crosses], end[crosses]
    u = a[:, 0] + (b[:, 0] - a[:, 0]) * (level - a[:, 1]) / (b[:, 1] - a[:, 1])
    return np.array([[u.min(), level], [u.max(), level]])


def recut_corners(edge: Edge, walls: Walls, radius_mm: float) -> F64:
    """Return a concave roof with its corners cut anew, as points (k, 2) from right wall to left wall.

    The roof's middle third is kept and carried on straight to the side walls; the corner between is an
    arc of ``radius_mm`` that touches both. The first and last points lie on the walls.
    """
    low, high = edge.u_mm[0], edge.u_mm[-1]
    third = (high - low) / 3.0
    slope = np.diff(edge.v_mm) / np.diff(edge.u_mm)
    ends = []
    for u, foot, up, side in (
        (high - third, walls.right_foot, walls.right_up, 1.0),
        (low + third, walls.left_foot, walls.left_up, -1.0),
    ):
        at = np.array([u, float(edge.height_mm(np.array([u]))[0])])
        piece = min(int(np.searchsorted(edge.u_mm, u, side="right")) - 1, len(slope) - 1)
        run = side * np.array([1.0, slope[piece]]) / np.hypot(1.0, slope[piece])
        ends.append(_fillet(at, run, foot, up, radius_mm, side))
    right_arc, left_arc = ends
    inner = (edge.u_mm > left_arc[-1, 0]) & (edge.u_mm < right_arc[-1, 0])
    inner &= (edge.u_mm > low + third) & (edge.u_mm < high - third)
    roof = np.column_stack([edge.u_mm[inner], edge.v_mm[inner]])[::-1]
    return np.concatenate([right_arc, roof, left_arc[::-1]])


def _fillet(at: F64, run: F64, foot: F64, up: F64, radius: float, side: float) -> F64:
    """Return the arc from the wall to the roof, wall end first, touching both lines."""
    gap = foot - at
    cross = run[0] * up[1] - run[1] * up[0]
    corner = at + run * ((gap[0] * up[1] - gap[1] * up[0]) / cross)
    bisector = -(run + up)
    half = 0.5 * np.arccos(np.clip(float(run @ up), -1.0, 1.0))  # of the angle between roof and wall
    centre = corner + bisector / np.hypot(*bisector) * (radius / np.sin(half))
    wall_touch = corner - up * (radius / np.tan(half))
    roof_touch = corner - run * (radius / np.tan(half))
    start, end = wall_touch - centre, roof_touch - centre
    sweep = np.arctan2(start[0] * end[1] - start[1] * end[0], float(start @ end))
    angle = np.arctan2(start[1], start[0]) + np.linspace(0.0, sweep, ARC_POINTS)
    return centre + radius * np.column_stack([np.cos(angle), np.sin(angle)])
