"""How far is the wall of an outline from a point inside, direction by direction?

In bins of five degrees, each the mean over its wall, so that the noise of single points averages out.
"""

from __future__ import annotations

import numpy as np

from portgeom.geometry.arrays import F64
from portgeom.geometry.moments import polygon_moments

BINS = 72
SAMPLES = 1440


def wall_mm(points_mm: F64) -> F64:
    """Return the mean distance of an outline (n, 2) from the origin in each of BINS directions."""
    run = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(points_mm, axis=0, append=points_mm[:1]).T))])
    at = np.linspace(0.0, run[-1], SAMPLES, endpoint=False)
    closed = np.concatenate([points_mm, points_mm[:1]])
    u, v = np.interp(at, run, closed[:, 0]), np.interp(at, run, closed[:, 1])
    angle, off = np.arctan2(v, u), np.hypot(u, v)
    which = np.floor((angle + np.pi) / (2.0 * np.pi) * BINS).astype(np.intp) % BINS
    count = np.bincount(which, minlength=BINS)
    total = np.bincount(which, weights=off, minlength=BINS)
    whole = count > 0
    mean = np.divide(total, count, out=np.zeros(BINS), where=whole)
    return mean if whole.all() else np.interp(_middles(), _middles()[whole], mean[whole], period=2.0 * np.pi)


def wall_between_mm(wall: F64, points_mm: F64) -> F64:
    """Return a wall's distance in the direction of each point (n, 2), straight between the bins' middles."""
    return np.interp(np.arctan2(points_mm[:, 1], points_mm[:, 0]), _middles(), wall, period=2.0 * np.pi)


def filled_shift_mm(distance_mm: F64, walls: F64, reach_mm: float, *, slack_mm: float = 0.0) -> F64:
    """Return how far the middles (m, 2) of sections move when what hangs into the passage is bridged over.

    ``walls`` (m, BINS) are distances of the wall at rising ``distance_mm`` (m,) along the passage. In each direction
    the highest chord no longer than ``reach_mm`` takes the place of the wall, as a straightedge laid along it would.
    Dents up to ``slack_mm`` are left and those of twice that bridged whole: where the line itself runs beside the
    middle, one wall comes nearer and would pass for a dent, and bridging it would keep the line there.
    """
    filled = walls.copy()
    for k in range(1, len(walls) - 1):
        before = np.flatnonzero(distance_mm[k] - distance_mm[:k] < reach_mm)
        for i in before:
            after = k + 1 + np.flatnonzero(distance_mm[k + 1 :] - distance_mm[i] <= reach_mm)
            if not len(after):
                continue
            share = ((distance_mm[k] - distance_mm[i]) / (distance_mm[after] - distance_mm[i]))[:, None]
            chord = walls[i] + share * (walls[after] - walls[i])
            np.maximum(filled[k], chord.max(axis=0), out=filled[k])
    if slack_mm > 0.0:
        dent = filled - walls
        filled = walls + dent * np.clip(dent / slack_mm - 1.0, 0.0, 1.0)
    return _middle_of(filled) - _middle_of(walls)


def _middle_of(walls: F64) -> F64:
    angle = _middles()
    moments = polygon_moments(walls[..., None] * np.column_stack([np.cos(angle), np.sin(angle)]))
    return moments.first_mm3 / moments.area_mm2[..., None]


def _middles() -> F64:
    return np.asarray(-np.pi + (np.arange(BINS) + 0.5) * (2.0 * np.pi / BINS), dtype=np.float64)
