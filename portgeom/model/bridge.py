"""Where would the roof run if a straightedge were laid across its hollows?

A boss hangs into the passage, so seen from the passage it is a dip of the roof's height. A straightedge
no longer than a given length, laid from roof to roof along the port, bridges it.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from portgeom.geometry.arrays import F64
from portgeom.geometry.chart import Chart
from portgeom.geometry.findings import Tolerance
from portgeom.geometry.rays import SPINE_HALF
from portgeom.model.edge import Edge, bridged_edges, heights_mm

SURELY_ROOF = 0.5
"""Columns this far from the middle, in half lengths of the spine, are roof and not corner."""

FAR_BELOW_MM = -1e9
"""Height given to a column where there is wall and no roof, so that no chord starts from it."""


@dataclass(frozen=True, slots=True)
class Bridge:
    """The bridged roof over columns of the width.

    Attributes
    ----------
    last_slab : int
        The last slab of roof; beyond it nothing is bridged.
    across_mm : (m, k) float
        Where each column is in its section, rising from left to right.
    lift_mm : (m, k) float
        How far the bridge runs above the roof: how far the metal stands out.
    """

    last_slab: int
    across_mm: F64
    lift_mm: F64

    def lift_at_mm(self, slab: int, across_mm: F64) -> F64:
        """Return the lift over ``across_mm``; outside the columns that of the nearest."""
        return np.interp(across_mm, self.across_mm[slab], self.lift_mm[slab])


def bridge_roof(chart: Chart, edges: Sequence[Edge], *, straightedge_mm: float, last_slab: int) -> Bridge:
    """Return the roof bridged along every column by chords of at most ``straightedge_mm``.

    Parameters
    ----------
    edges : m of Edge
        Upper boundary of the section at every slab.

    Notes
    -----
    The highest of all chords between two places of one column, in section coordinates. A chord from slab
    a to slab b is highest over a slab between them for the steepest b, so a running maximum of slopes
    from the far end finds it; the cost is slabs times slabs under one straightedge.

    Towards the walls a column may be corner in one section and roof in the next, and a corner radius that
    grows along the port would read as a hollow. So further than 15 percent of the width from the middle a column
    is lifted no more than the column there, or than the section's own hollow across: corners are carried.
    """
    columns = bridge_columns(chart)
    across = chart.centre_mm[:, :1] + chart.half_mm[:, None] * columns
    roof = heights_mm(edges, across)
    hollow = heights_mm(bridged_edges(edges), across) - roof
    lift = bridge_lift_mm(chart.distance_mm[: last_slab + 1], columns, roof, hollow, straightedge_mm, chart.tolerance)
    return Bridge(last_slab, across, lift)


def bridge_lift_mm(
    distance_mm: F64,
    columns: F64,
    roof_mm: F64,
    hollow_mm: F64,
    straightedge_mm: float,
    tolerance: Tolerance,
    *,
    ends_between: bool = False,
) -> F64:
    """Return how far (..., m, k) a roof is bridged along its columns, in many draws at once.

    Parameters
    ----------
    distance_mm : (..., j) float
        Of the slabs that are roof, the first j of m.
    columns : (k,) float
        In half lengths of the spine.
    roof_mm : (..., m, k) float
        Height of the metal, NaN where there is wall.
    hollow_mm : (..., m, k) float
        How far each section's own least concave curve runs above it.
    ends_between : bool
        Whether a chord may end between two slabs. Where slabs stand wide apart and a little wider in one draw than
        in another, the longest chord between slabs would else lose a whole step at once.
    """
    wall = np.isnan(roof_mm)
    roof = np.where(wall, FAR_BELOW_MM, roof_mm)
    last = distance_mm.shape[-1]
    bridged = roof.copy()
    bridged[..., :last, :] = highest_chords(
        distance_mm, roof[..., :last, :], straightedge_mm, ends_between=ends_between
    )
    # a chord's own ends are roof, not a rounding above it
    lift = np.where(wall | (bridged - roof <= tolerance.length_mm), 0.0, bridged - roof)
    surely_roof = np.flatnonzero(np.abs(columns) <= SURELY_ROOF)
    nearest = np.clip(np.arange(lift.shape[-1]), surely_roof[0], surely_roof[-1])
    most = np.where(wall, 0.0, np.maximum(lift[..., nearest], hollow_mm))
    return np.minimum(lift, most)


def bridge_columns(chart: Chart) -> F64:
    """Return the columns in half lengths of the spine: those of the rays straight up, and on to the walls."""
    flat = chart.rays.foot[chart.rays.up][::-1]
    outer = np.arange(1.0, 1.0 / (2.0 * SPINE_HALF), flat[1] - flat[0])[1:]
    return np.concatenate([-outer[::-1], flat, outer])


def highest_chords(s: F64, roof: F64, straightedge_mm: float, *, ends_between: bool = False) -> F64:
    """Return the highest of all chords (..., m, k) no longer than a straightedge between rows at s (..., m).

    With ``ends_between`` also those that are just as long as it, of which one end lies between two rows.
    """
    bridged = roof.copy()
    longest = straightedge_mm * (1.0 + 1e-12)
    for a in range(s.shape[-1]):
        run = s[..., a + 1 :] - s[..., a, None]
        reach = int(np.count_nonzero((run <= longest).any(axis=tuple(range(run.ndim - 1)))))
        if reach < 2:
            continue
        far, run = slice(a + 1, a + 1 + reach), run[..., :reach, None]
        slope = (roof[..., far, :] - roof[..., a, None, :]) / run
        if (run > longest).any():
            slope = np.where(run > longest, -np.inf, slope)
        steepest = np.maximum.accumulate(slope[..., ::-1, :], axis=-2)[..., ::-1, :]
        np.maximum(bridged[..., far, :], roof[..., a, None, :] + run * steepest, out=bridged[..., far, :])
    if ends_between:
        np.maximum(bridged, _full_chords(s, roof, straightedge_mm), out=bridged)
        turned = _full_chords(-s[..., ::-1], roof[..., ::-1, :], straightedge_mm)
        np.maximum(bridged, turned[..., ::-1, :], out=bridged)
    return bridged


def _full_chords(s: F64, roof: F64, straightedge_mm: float) -> F64:
    """Return the highest of the chords (..., m, k) that begin at a row and are as long as the straightedge."""
    bridged = roof.copy()
    rows = s.shape[-1]
    for a in range(rows - 2):
        start = s[..., a, None]
        inside = s[..., a + 1 :] <= start + straightedge_mm
        low = a + inside.sum(axis=-1, keepdims=True)
        ends = low < rows - 1  # else the straightedge runs past the last row
        high = np.minimum(low + 1, rows - 1)
        s_low, s_high = (np.take_along_axis(s, k, axis=-1) for k in (low, high))
        share = np.where(ends, (start + straightedge_mm - s_low) / np.where(ends, s_high - s_low, 1.0), 0.0)
        v_low, v_high = (np.take_along_axis(roof, k[..., None], axis=-2) for k in (low, high))
        slope = (v_low + share[..., None] * (v_high - v_low) - roof[..., a, None, :]) / straightedge_mm
        far = slice(a + 1, a + 1 + int(inside.sum(axis=-1).max()))
        count = far.stop - far.start
        chord = roof[..., a, None, :] + (s[..., far] - start)[..., None] * slope
        over = (inside[..., :count] & ends)[..., None]
        np.maximum(bridged[..., far, :], np.where(over, chord, -np.inf), out=bridged[..., far, :])
    return bridged
