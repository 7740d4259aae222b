"""How much wall does a passage have?"""

from __future__ import annotations

import numpy as np

from portgeom.geometry.surface import Surface


def wall_area_mm2(surface: Surface, *, to_mm: float) -> float:
    """Return the area of a passage's wall from its face to a distance along its path, without its ends.

    Notes
    -----
    Each patch between two planes and two rays is halved along one diagonal and along the other, and the mean of the
    two is taken: the split of a twisted patch then makes no odds.
    """
    chart = surface.chart
    last = chart.slab_at(to_mm)
    points = surface.world_mm[: last + 1]
    a, b = points[:-1], points[1:]
    c, d = np.roll(b, -1, axis=1), np.roll(a, -1, axis=1)

    def half(p: np.ndarray, q: np.ndarray, r: np.ndarray) -> float:
        return float(0.5 * np.linalg.norm(np.cross(q - p, r - p), axis=-1).sum())

    return 0.5 * (half(a, b, c) + half(a, c, d) + half(b, c, d) + half(a, b, d))
