"""How far does one edge stand beyond another, at twelve places round the clock?"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from portgeom.geometry.arrays import F64, frozen

HOURS = 12


@dataclass(frozen=True, slots=True)
class ClockPlaces:
    """Places on an outline at every hour from 12 on, as seen looking in.

    Attributes
    ----------
    clock_deg : (12,) float
        0 at the roof, 90 at the right wall.
    place_mm, out_mm : (12, 2) float
        On the outline, and the way out of the passage there, of length 1.
    """

    clock_deg: F64
    place_mm: F64
    out: F64


@dataclass(frozen=True, slots=True)
class Beyond:
    """How far another edge lies beyond places, positive outwards: the other opening is the larger there.

    Attributes
    ----------
    distance_mm : (k,) float
    nearest_mm : (k, 2) float
        On the other edge.
    """

    distance_mm: F64
    nearest_mm: F64


def clock_places(points_mm: F64, centre_mm: F64) -> ClockPlaces:
    """Return the places of an anticlockwise outline (n, 2) where lines from a centre inside it meet it furthest out."""
    clock = np.arange(HOURS) * (360.0 / HOURS)
    ray = np.column_stack([np.sin(np.radians(clock)), np.cos(np.radians(clock))])
    start, run = points_mm - centre_mm, np.roll(points_mm, -1, axis=0) - points_mm
    # centre + t ray = start + share run
    cross = ray[:, None, 0] * run[None, :, 1] - ray[:, None, 1] * run[None, :, 0]
    safe = np.where(cross == 0.0, np.inf, cross)
    t = (start[:, 0] * run[:, 1] - start[:, 1] * run[:, 0])[None] / safe
    share = (start[None, :, 0] * ray[:, None, 1] - start[None, :, 1] * ray[:, None, 0]) / safe
    hit = (cross != 0.0) & (share >= -1e-12) & (share <= 1.0 + 1e-12) & (t > 0.0)
    furthest = np.argmax(np.where(hit, t, -np.inf), axis=1)
    reach = t[np.arange(HOURS), furthest]
    way = run[furthest]
    out = np.column_stack([way[:, 1], -way[:, 0]]) / np.linalg.norm(way, axis=1)[:, None]
    return ClockPlaces(frozen(clock), frozen(centre_mm + reach[:, None] * ray), frozen(out))


def beyond(places_mm: F64, other_mm: F64) -> Beyond:
    """Return how far an outline (n, 2) lies beyond places (k, 2): to its nearest point, whatever its corners.

    Examples
    --------
    >>> square = np.array([[0.0, 0.0], [4.0, 0.0], [4.0, 4.0], [0.0, 4.0]])
    >>> beyond(np.array([[3.5, 2.0], [4.5, 2.0]]), square).distance_mm.tolist()
    [0.5, -0.5]
    """
    start, run = other_mm, np.roll(other_mm, -1, axis=0) - other_mm
    away = places_mm[:, None] - start[None]
    length2 = np.maximum((run**2).sum(axis=1), 1e-300)
    share = np.clip((away * run[None]).sum(axis=-1) / length2, 0.0, 1.0)
    nearest = start[None] + share[..., None] * run[None]
    gap = np.linalg.norm(places_mm[:, None] - nearest, axis=-1)
    edge = np.argmin(gap, axis=1)
    row = np.arange(len(places_mm))
    sign = np.where(inside(places_mm, other_mm), 1.0, -1.0)
    return Beyond(frozen(sign * gap[row, edge]), frozen(nearest[row, edge]))


def inside(places_mm: F64, outline_mm: F64) -> np.ndarray[tuple[int], np.dtype[np.bool_]]:
    """Return which places (k, 2) lie inside an outline (n, 2), by crossings to the right."""
    start, end = outline_mm, np.roll(outline_mm, -1, axis=0)
    v = places_mm[:, None, 1]
    spans = (start[None, :, 1] <= v) != (end[None, :, 1] <= v)
    rise = np.where(start[:, 1] == end[:, 1], 1.0, end[:, 1] - start[:, 1])
    u = start[None, :, 0] + (v - start[None, :, 1]) / rise * (end[:, 0] - start[:, 0])
    return np.count_nonzero(spans & (u > places_mm[:, None, 0]), axis=1) % 2 == 1
