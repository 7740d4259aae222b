"""How much metal is left behind chosen places of a surface, for showing them?"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from portgeom.geometry.arrays import F64, Int, frozen
from portgeom.geometry.near import places_of
from portgeom.geometry.surface import Surface
from portgeom.questions.walls.behind import Behind
from portgeom.questions.walls.walls import MAP_TO_MM, read_wall_mm


def walls_seen_mm(
    surface: Surface, hazards: Sequence[Behind], slabs: Int, rays: Int, *, to_mm: float = MAP_TO_MM
) -> F64:
    """Return the least wall (j, k) at some slabs (j,) and rays (k,) of a surface.

    Infinite beyond ``to_mm``, NaN where it is not known; the same as ``wall_map`` has there.
    """
    chosen = np.ix_(slabs, rays)
    nodes = surface.world_mm[chosen].reshape(-1, 3)
    least = np.full(len(nodes), np.inf)
    unknown = np.zeros(len(nodes), dtype=bool)
    for hazard in hazards:
        if hazard.readings is not None:
            wall = read_wall_mm(places_of(surface), hazard)[chosen].ravel()
            unknown |= np.isnan(wall)
            wall = np.where(np.isnan(wall), np.inf, wall)
        elif hazard.at_least_mm is not None:
            wall = np.asarray(hazard.at_least_mm(nodes), dtype=np.float64).copy()
            near = wall <= to_mm
            wall[near] = hazard.wall_mm(nodes[near])
        else:
            wall = hazard.wall_mm(nodes)
        least = np.fmin(least, wall)
    least = np.where(least <= to_mm, least, np.inf)
    return frozen(np.where(unknown & np.isinf(least), np.nan, least).reshape(len(slabs), len(rays)))
