"""Where a roof doubles back over itself, which metal is met first going up?"""

from __future__ import annotations

import numpy as np

from portgeom.geometry.arrays import F64, Int


def first_met(chain: F64, near: float) -> F64:
    """Return a roof's corners (k, 2), from right wall to left, as the first metal met going up: u falls everywhere.

    Corners within ``near`` lie upright over each other.
    """
    back = np.flatnonzero(np.diff(chain[:, 0]) > near)
    # left of the crown and right of it the chain may double back, each over a stretch of its own
    crown = int(np.argmax(chain[:, 1]))
    runs = [_doubled(chain, side) for side in (back[back < crown], back[back >= crown]) if len(side)]
    if len(runs) == 2 and runs[0][1] >= runs[1][0]:
        runs = [(runs[0][0], runs[1][1])]
    pieces, done = [], 0
    for first, last in runs:
        pieces += [chain[done:first], _lowest(chain[first : last + 1], near)[::-1]]
        done = last + 1
    corners = np.concatenate([*pieces, chain[done:]])
    behind = near * np.arange(len(corners))  # an upright piece leans by as much
    corners[:, 0] = np.minimum.accumulate(corners[:, 0] + behind) - behind
    return corners


def _doubled(chain: F64, back: Int) -> tuple[int, int]:
    """Return the stretch of a chain, ends included, outside which it runs over no u twice."""
    u = chain[:, 0]
    over = u[back[0] : back[-1] + 2]
    first = int(np.flatnonzero(u <= over.max())[0])
    last = int(np.flatnonzero(u >= over.min())[-1])
    return max(0, first - 1), min(len(u) - 1, last + 1)


def _lowest(chain: F64, near: float) -> F64:
    """Return the lowest v of a chain (k, 2) over every u, as corners (j, 2) over rising u.

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
    return np.column_stack([ends[kept], v[kept]])
