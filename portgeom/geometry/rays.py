"""Along which rays is a section measured, and how far is its outline along each?

A section's spine is a short horizontal segment inside it. Rays leave the spine straight up and straight
down, and fan out round its two ends. They are numbered anticlockwise as seen looking in, from the one
that points straight down at the right end of the spine.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Self

import numpy as np

from portgeom.geometry.arrays import F64, Bool, Int, frozen, of_rows

SPINE_HALF = 0.3
"""Half length of the spine as a share of the section's width: rays straight up cover its middle 60 percent."""


@dataclass(frozen=True, slots=True)
class Rays:
    """The same rays for every section of a port.

    Attributes
    ----------
    foot : (n,) float
        Where on the spine each starts: -1 its left end, 1 its right end.
    direction : (n, 2) float
        Unit vectors in (u, v).
    turn : (n,) float
        A running number round the spine, rising from 0 towards 4: right fan, roof, left fan, floor.
    flat : int
        How many point straight up, and as many straight down; their feet mirror each other.
    fan : int
        How many fan out round each end between those.
    """

    foot: F64
    direction: F64
    turn: F64
    flat: int
    fan: int

    @classmethod
    def count(cls, rays: int, *, tall: float = 1.0) -> Self:
        """Return about ``rays`` rays, spread so that they meet a rectangle at even steps.

        ``tall`` is the rectangle's height as a share of its width.
        """
        flat = 2 * max(1, round(0.5 * rays * SPINE_HALF / (1.0 + tall))) + 1  # odd, so one stands in the middle
        fan = max(3, rays // 2 - flat)
        # a rectangle of unit width seen from the right end of the spine: down, out and up again
        side = 0.5 - SPINE_HALF
        run = np.linspace(0.0, tall + 2.0 * side, fan + 2)[1:-1]
        v = np.clip(run - side, 0.0, tall) - 0.5 * tall
        u = np.minimum(np.minimum(run, side), tall + 2.0 * side - run)
        angle = np.arctan2(v, u)
        along = np.linspace(1.0, -1.0, flat)
        foot = np.concatenate([np.ones(fan), along, -np.ones(fan), along[::-1]])
        heading = np.concatenate([angle, np.full(flat, 0.5 * np.pi), np.pi + angle, np.full(flat, 1.5 * np.pi)])
        direction = np.column_stack([np.cos(heading), np.sin(heading)])
        flats = slice(fan, fan + flat), slice(2 * fan + flat, None)
        for part, up in zip(flats, (1.0, -1.0), strict=True):
            direction[part] = (0.0, up)
        fans = 0.5 + angle / np.pi
        turn = np.concatenate([fans, 1.5 - 0.5 * along, 2.0 + fans, 3.5 - 0.5 * along])
        return cls(frozen(foot), frozen(direction), frozen(turn), flat, fan)

    @property
    def total(self) -> int:
        """Return the number of rays."""
        return len(self.foot)

    @property
    def up(self) -> slice:
        """Return which rays point straight up, from right to left."""
        return slice(self.fan, self.fan + self.flat)

    @property
    def down(self) -> slice:
        """Return which rays point straight down, from left to right."""
        return slice(2 * self.fan + self.flat, self.total)

    def tips_mm(self, centre_mm: F64, half_mm: F64, rho_mm: F64) -> F64:
        """Return the points (..., n, 2) at distances ``rho_mm`` (..., n) along the rays.

        ``centre_mm`` (..., 2) and ``half_mm`` (...) place the spine.
        """
        ahead = np.ascontiguousarray(self.direction.T)
        # u and v apart in memory: what follows goes through all of one and then all of the other
        tips = rho_mm[..., None, :] * ahead
        tips[..., 0, :] += centre_mm[..., 0, None] + half_mm[..., None] * self.foot
        tips[..., 1, :] += centre_mm[..., 1, None]
        return np.moveaxis(tips, -2, -1)


@dataclass(frozen=True, slots=True)
class Reading:
    """Outlines read along rays.

    Attributes
    ----------
    rho_mm : (k, n) float
        Distance to the first wall met.
    hidden_mm2 : (k,) float
        Area behind that wall which is inside the outline again: undercut.
    inside : (k,) bool
        Whether the whole spine lies inside the outline; where not, the distances mean nothing.
    """

    rho_mm: F64
    hidden_mm2: F64
    inside: Bool


def read_outlines(rays: Rays, points_mm: F64, centre_mm: F64, half_mm: F64) -> Reading:
    """Return how far outlines lie along the rays from their spines.

    Parameters
    ----------
    points_mm : (k, m, 2) float
        Closed anticlockwise polygons.
    centre_mm : (k, 2) float
    half_mm : (k,) float

    Notes
    -----
    An outline that each ray crosses once has corners whose running number only rises, so the edge a ray
    crosses is found by bisection; only the others are crossed with every ray.
    """
    points, turn = _in_order(points_mm, centre_mm, half_mm)
    once = (np.diff(turn, axis=1) >= 0.0).all(axis=1)
    rho = np.empty((len(points), rays.total))
    hidden = np.zeros(len(points))
    inside = np.ones(len(points), dtype=bool)
    if once.any():
        rho[once], inside[once] = _crossed_once(rays, points[once], turn[once], centre_mm[once], half_mm[once])
    for k in np.flatnonzero(~once):
        rho[k], hidden[k], inside[k] = _crossed_often(rays, points[k], centre_mm[k], half_mm[k])
    return Reading(rho, hidden, inside)


def read_folded(rays: Rays, points_mm: F64, centre_mm: F64, half_mm: F64) -> Reading:
    """Return distances as ``read_outlines`` does, of outlines that may fold back over themselves a little.

    Where one does, as a roof lowered past the tops of its walls, the part behind the fold is left out: the
    distance is to where the outline runs on. For undercut outlines, whose first wall counts, use the other.
    """
    points, turn = _in_order(points_mm, centre_mm, half_mm)
    rho, inside = _crossed_once(rays, points, np.maximum.accumulate(turn, axis=1), centre_mm, half_mm)
    return Reading(rho, np.zeros(len(points)), inside)


def crossed_once(points_mm: F64, centre_mm: F64, half_mm: F64) -> Bool:
    """Return which outlines (k, m, 2) every ray crosses just once."""
    _, turn = _in_order(points_mm, centre_mm, half_mm)
    return np.asarray((np.diff(turn, axis=1) >= 0.0).all(axis=1))


def _in_order(points: F64, centre: F64, half: F64) -> tuple[F64, F64]:
    """Return corners from the one with the least running number on, and those numbers."""
    turn = _turn_of(points, centre, half)
    first = np.argmin(turn, axis=1)
    order = (first[:, None] + np.arange(turn.shape[1])) % turn.shape[1]
    return of_rows(points, order), of_rows(turn, order)


def _turn_of(points: F64, centre: F64, half: F64) -> F64:
    """Return the running number of the ray through each point."""
    u = (points[..., 0] - centre[:, None, 0]) / half[:, None]
    v = points[..., 1] - centre[:, None, 1]
    beyond = (np.abs(u) - 1.0) * half[:, None]
    fan = 0.5 + np.arctan2(v, np.maximum(beyond, 0.0)) / np.pi
    flat = np.clip(u, -1.0, 1.0)
    above = np.where(np.abs(u) <= 1.0, 1.5 - 0.5 * flat, np.where(u > 0.0, fan, 3.0 - fan))
    below = np.where(np.abs(u) <= 1.0, 3.5 + 0.5 * flat, np.where(u > 0.0, fan, 3.0 - fan))
    return np.where(v >= 0.0, above, below)


def _crossed_once(rays: Rays, points: F64, turn: F64, centre: F64, half: F64) -> tuple[F64, Bool]:
    k, m, _ = points.shape
    shift = 5.0 * np.arange(k)[:, None]  # beyond the 4 of a whole turn, so outlines never mix
    edge = np.searchsorted((turn + shift).ravel(), (rays.turn + shift).ravel(), side="right")
    edge = edge.reshape(k, -1) - 1 - m * np.arange(k)[:, None]
    start = of_rows(points, edge % m)
    end = of_rows(points, (edge + 1) % m)
    rho = _along(rays, start, end, centre, half)
    # a corner numbered only upwards goes once round the spine, unless an edge jumps across it
    inside: Bool = np.all(np.isfinite(rho) & (rho > 0.0), axis=1)
    return rho, inside


def _along(rays: Rays, start: F64, end: F64, centre: F64, half: F64) -> F64:
    edge = end - start
    foot_u = centre[:, None, 0] + half[:, None] * rays.foot
    from_u, from_v = start[..., 0] - foot_u, start[..., 1] - centre[:, None, 1]
    facing = rays.direction[:, 0] * edge[..., 1] - rays.direction[:, 1] * edge[..., 0]
    away = from_u * edge[..., 1] - from_v * edge[..., 0]
    return np.divide(away, facing, out=np.full_like(away, np.nan), where=facing != 0.0)


def _crossed_often(rays: Rays, points: F64, centre: F64, half: float) -> tuple[F64, float, bool]:
    """Return first crossings, hidden area, and whether the spine lies inside, of one outline."""
    nxt = np.roll(points, -1, axis=0)
    foot = np.column_stack([centre[0] + half * rays.foot, np.full(rays.total, centre[1])])
    ahead = rays.direction
    to_start, to_end = points[None] - foot[:, None], nxt[None] - foot[:, None]
    side_start = ahead[:, None, 0] * to_start[..., 1] - ahead[:, None, 1] * to_start[..., 0]
    side_end = ahead[:, None, 0] * to_end[..., 1] - ahead[:, None, 1] * to_end[..., 0]
    crosses = (side_start <= 0.0) != (side_end <= 0.0)
    share = np.divide(side_start, side_start - side_end, out=np.zeros_like(side_start), where=crosses)
    hit = to_start + share[..., None] * (to_end - to_start)
    far = np.where(crosses, np.einsum("rmi,ri->rm", hit, ahead), np.inf)
    far = np.sort(np.where(far > 0.0, far, np.inf), axis=1)
    count = np.isfinite(far).sum(axis=1)
    inside = bool((count % 2 == 1).all())
    if not inside:
        return np.ones(rays.total), 0.0, False
    return far[:, 0], _hidden_mm2(rays, far, count, half), True


def _hidden_mm2(rays: Rays, far: F64, count: Int, half: float) -> float:
    most = int(count.max())
    if most < 3:
        return 0.0
    enter, leave = far[:, 1:most:2], far[:, 2:most:2]
    seen = np.isfinite(leave)
    near, away = np.where(seen, enter, 0.0), np.where(seen, leave, 0.0)
    spread = np.gradient(rays.turn)
    straight = rays.direction[:, 0] == 0.0
    per_ray = np.where(
        straight,
        (away - near).sum(axis=1) * 2.0 * half * spread,
        0.5 * (away**2 - near**2).sum(axis=1) * np.pi * spread,
    )
    return float(per_ray.sum())
