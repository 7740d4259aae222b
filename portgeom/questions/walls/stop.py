"""How deep may one cut from a place before too little metal is left to what is behind?"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from portgeom.geometry.arrays import F64
from portgeom.questions.walls.behind import Behind

DEEPEST_MM = 25.0
"""No cut in a port goes deeper; a hazard further than this sets no stop."""

CLOSE_MM = 0.002
"""How near to the limit the stop lies: on the safe side of it."""

NEAR_MM = 1.0
"""So near to the limit a hazard that is slow to ask is asked itself; further off a quicker answer will do."""

STEPS = 200
"""Most steps towards a stop. One that grazes a hazard may end short of it, never past it."""


def stop_depth_mm(
    points_mm: F64,
    directions: F64,
    hazards: Sequence[Behind],
    *,
    min_wall_mm: float | None = None,
    deepest_mm: float | F64 = DEEPEST_MM,
) -> F64:
    """Return how deep (n,) one may go from points in directions before a wall is at its limit.

    Parameters
    ----------
    points_mm : (n, 3) float
        On the surface, head frame.
    directions : (n, 3) float
        Into the metal, of any length above zero.
    hazards : sequence of Behind
        Those that may be opened set no stop.
    min_wall_mm : float or None
        One limit for all, in place of each hazard's own, the job's, or what the material must have.

    deepest_mm : float or (n,) float
        How deep it matters.

    Returns
    -------
    (n,) float
        0 where the wall is thin already; infinite where no hazard stops the cut within ``deepest_mm``, or
        nothing is known of the wall there.

    Notes
    -----
    A step as long as the metal left beyond the limit cannot pass it, whatever the hazard's shape (sphere
    tracing: J. C. Hart, The Visual Computer 12 (1996) 527).
    """
    ahead = directions / np.linalg.norm(directions, axis=-1, keepdims=True)
    stop = np.full(len(points_mm), np.inf)
    deepest = np.broadcast_to(deepest_mm, stop.shape)
    for hazard in hazards:
        if not hazard.hazard.open_allowed:
            limit = hazard.stop_mm if min_wall_mm is None else min_wall_mm
            stop = np.minimum(stop, _one_stop_mm(points_mm, ahead, hazard, limit, deepest))
    return stop


def _one_stop_mm(points: F64, ahead: F64, hazard: Behind, limit: float, deepest: F64) -> F64:
    depth = np.zeros(len(points))
    going = np.arange(len(points))
    # at first a place may lie within the hazard, which what is quick cannot tell; later none does
    within = max(limit + NEAR_MM, hazard.deepest_mm)
    for _ in range(STEPS):
        spare = _at_most_mm(hazard, points[going] + depth[going, None] * ahead[going], within) - limit
        depth[going] += np.where(np.isnan(spare), np.inf, np.maximum(spare, 0.0))
        going = going[(spare > CLOSE_MM) & (depth[going] <= deepest[going])]
        if len(going) == 0:
            break
        within = limit + NEAR_MM
    return np.where(depth <= deepest, depth, np.inf)


def _at_most_mm(hazard: Behind, points: F64, within_mm: float) -> F64:
    """Return the wall where it may be ``within_mm``, and what is quick and never above it elsewhere."""
    if hazard.at_least_mm is None:
        return hazard.wall_mm(points)
    found = hazard.at_least_mm(points)
    near = found <= within_mm
    found[near] = hazard.wall_mm(points[near])
    return found
