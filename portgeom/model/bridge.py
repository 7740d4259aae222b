"""Where would the roof run if a straightedge were laid across its hollows?

A boss hangs into the passage, so seen from the passage it is a dip of the roof's height. A straightedge
no longer than a given length, laid from roof to roof along the port, bridges it.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from portgeom.geometry.arrays import F64
from portgeom.geometry.surface import Surface


@dataclass(frozen=True, slots=True)
class Bridge:
    """The bridged roof over columns in the middle of the width.

    Attributes
    ----------
    last_slab : int
        The last slab of roof; beyond it nothing is bridged.
    across_mm : (m, k) float
        Where each column is in its section, rising from left to right.
    bridged_mm : (m, k) float
        Height of the bridge above the path; the roof's own beyond ``last_slab``.
    lift_mm : (m, k) float
        How far the bridge runs above the roof: how far the metal stands out.
    """

    last_slab: int
    across_mm: F64
    bridged_mm: F64
    lift_mm: F64

    def lift_at_mm(self, slab: int, across_mm: F64) -> F64:
        """Return the lift over ``across_mm``; outside the columns that of the nearest, so corners are carried."""
        return np.interp(across_mm, self.across_mm[slab], self.lift_mm[slab])


def bridge_roof(surface: Surface, *, straightedge_mm: float, last_slab: int) -> Bridge:
    """Return the roof bridged along every column by chords of at most ``straightedge_mm``.

    Notes
    -----
    The highest of all chords between two places of one column, in section coordinates. A chord from slab
    a to slab b is highest over a slab between them for the steepest b, so a running maximum of slopes
    from the far end finds it; the cost is slabs times slabs under one straightedge.
    """
    chart = surface.chart
    tips = surface.points_mm[:, chart.rays.up][:, ::-1]
    across, roof = tips[..., 0], tips[..., 1]
    s = chart.distance_mm[: last_slab + 1]
    bridged = roof.copy()
    reach = np.searchsorted(s, s + straightedge_mm * (1.0 + 1e-12), side="right")
    for a in range(last_slab):
        far = slice(a + 1, reach[a])
        run = (s[far] - s[a])[:, None]
        if len(run) < 2:
            continue
        slope = (roof[far] - roof[a]) / run
        steepest = np.maximum.accumulate(slope[::-1], axis=0)[::-1]
        np.maximum(bridged[far], roof[a] + run * steepest, out=bridged[far])
    # a chord's own ends are roof, not a rounding above it
    bridged = np.where(bridged - roof > chart.tolerance.length_mm, bridged, roof)
    return Bridge(last_slab, across, bridged, bridged - roof)
