"""How deep has each place of a surface been cut below another?"""

from __future__ import annotations

import numpy as np

from portgeom.geometry.arrays import F64, frozen
from portgeom.geometry.mesh_distance import mesh_distance
from portgeom.geometry.surface import Surface


def depths_mm(present: Surface, after: Surface) -> F64:
    """Return, for every slab and ray (m, n) of a surface, the distance to the nearest metal of an earlier one.

    0 where nothing comes off. Both surfaces are on one chart.
    """
    chart = present.chart
    cut = after.rho_mm > present.rho_mm + chart.tolerance.length_mm
    depth = np.zeros(present.rho_mm.shape)
    if cut.any():
        # metal that stays is a hair away from itself; only the neighbourhood of the cut can be nearest to it
        rows = np.flatnonzero(cut.any(axis=1))
        reach = float((after.rho_mm - present.rho_mm)[cut].max())
        s = chart.distance_mm
        first = int(np.searchsorted(s, s[rows[0]] - 2.0 * reach - 1.0))
        last = int(np.searchsorted(s, s[rows[-1]] + 2.0 * reach + 1.0, side="right"))
        skin = present.world_mm[first:last]
        places = after.world_mm[cut]
        depth[cut] = np.abs(
            mesh_distance(skin.reshape(-1, 3), _triangles(*skin.shape[:2]), closed=False).distance_mm(places)
        )
    return frozen(depth)


def _triangles(slabs: int, rays: int) -> np.ndarray[tuple[int, ...], np.dtype[np.intp]]:
    """Return the triangles (k, 3) of a grid of slabs by rays, closed round."""
    index = np.arange(slabs * rays, dtype=np.intp).reshape(slabs, rays)
    beside = np.roll(index, -1, axis=1)
    a, b, c, d = index[:-1], index[1:], beside[1:], beside[:-1]
    return np.concatenate([np.stack(t, axis=-1).reshape(-1, 3) for t in ((a, b, c), (a, c, d))])
