"""Where does a traced edge have a bump that may be dust and no part of the slice?

A speck that touches the edge cannot be told from the slice. It is not mended, only pointed out.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from portgeom.capture.tracing.smooth import evenly
from portgeom.geometry.arrays import F64, Int

STEP_MM = 0.05
HALF_MM = 0.6
"""Half the length of edge that one bump takes."""

TANGENT_MM = 0.3
STRAIGHT_DEG = 30.0
"""Where the edge turns by more over a bump's length it is a corner."""

LEAST_MM = 0.1
GRAIN_TIMES = 8.0


@dataclass(frozen=True, slots=True)
class Bump:
    """One bump: where it stands furthest off, (2,), and by how much; negative is a nick."""

    place_mm: F64
    height_mm: float


def bumps(points_mm: F64) -> tuple[Bump, ...]:
    """Return the bumps and nicks of a closed edge (n, 2), anticlockwise, the largest first.

    Each point is held against the arc that leaves and arrives like the edge a little to either side.
    """
    fine = evenly(points_mm, STEP_MM)
    step = float(np.hypot(*(fine - np.roll(fine, 1, axis=0)).T).mean())
    half, lead = max(2, round(HALF_MM / step)), max(1, round(TANGENT_MM / step))
    if len(fine) < 8 * (half + lead):
        return ()
    before, after = np.roll(fine, half, axis=0), np.roll(fine, -half, axis=0)
    leaving = _angle(before - np.roll(before, lead, axis=0))
    arriving = _angle(np.roll(after, -lead, axis=0) - after)
    turn = (arriving - leaving + np.pi) % (2.0 * np.pi) - np.pi
    chord = after - before
    length = np.maximum(np.hypot(*chord.T), 1e-9)
    outward = np.column_stack([chord[:, 1], -chord[:, 0]]) / length[:, None]
    arc = 0.5 * length * np.tan(0.25 * turn)
    off = ((fine - 0.5 * (before + after)) * outward).sum(axis=1) - arc
    grain = 1.4826 * float(np.median(np.abs(off)))
    high = (np.abs(off) > max(LEAST_MM, GRAIN_TIMES * grain)) & (np.abs(turn) < np.radians(STRAIGHT_DEG))
    return _peaks(fine, off, high, half)


def _angle(way: F64) -> F64:
    return np.arctan2(way[:, 1], way[:, 0])


def _peaks(fine: F64, off: F64, high: F64, half: int) -> tuple[Bump, ...]:
    found: list[Bump] = []
    left: Int = np.flatnonzero(high)
    while len(left):
        top = int(left[np.argmax(np.abs(off[left]))])
        found.append(Bump(fine[top], float(off[top])))
        apart = np.abs(left - top)
        left = left[np.minimum(apart, len(fine) - apart) > 2 * half]
    return tuple(found)
