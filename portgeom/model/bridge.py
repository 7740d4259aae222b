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
    bridged = np.copy(roof)  # laid out as it came: draws may lie innermost
    bridged[..., :last, :] = highest_chords(
        distance_mm, roof[..., :last, :], straightedge_mm, ends_between=ends_between
    )
    # a chord's own ends are roof, not a rounding above it
    bridged -= roof
    lift = np.where(wall | (bridged <= tolerance.length_mm), 0.0, bridged)
    surely_roof = np.flatnonzero(np.abs(columns) <= SURELY_ROOF)
    first, beyond = surely_roof[0], surely_roof[-1] + 1
    for corner, nearest in (
        (np.s_[..., :first], lift[..., first, None]),
        (np.s_[..., beyond:], lift[..., beyond - 1, None]),
    ):
        most = np.where(wall[corner], 0.0, np.maximum(nearest, hollow_mm[corner]))
        lift[corner] = np.minimum(lift[corner], most)
    return lift


def bridge_columns(chart: Chart) -> F64:
    """Return the columns in half lengths of the spine: those of the rays straight up, and on to the walls."""
    flat = chart.rays.foot[chart.rays.up][::-1]
    outer = np.arange(1.0, 1.0 / (2.0 * SPINE_HALF), flat[1] - flat[0])[1:]
    return np.concatenate([-outer[::-1], flat, outer])


def highest_chords(s: F64, roof: F64, straightedge_mm: float, *, ends_between: bool = False) -> F64:
    """Return the highest of all chords (..., m, k) no longer than a straightedge between rows at s (..., m).

    With ``ends_between`` also those that are just as long as it, of which one end lies between two rows.
    """
    # rows first, then columns, and draws innermost: every step then goes through memory in one run
    roof = np.ascontiguousarray(np.moveaxis(roof, (-2, -1), (0, 1)))
    s = np.expand_dims(np.moveaxis(s, -1, 0), tuple(range(1, 2 + roof.ndim - 1 - s.ndim)))
    bridged = roof.copy()
    longest = straightedge_mm * (1.0 + 1e-12)
    for a in range(len(s) - 1):
        run = s[a + 1 :] - s[a]
        reach = int(np.count_nonzero((run <= longest).any(axis=tuple(range(1, run.ndim)))))
        if reach < (1 if ends_between else 2):
            continue
        far, run = slice(a + 1, a + 1 + reach), run[: reach + 1]
        rise = roof[a + 1 : a + 2 + reach] - roof[a]
        slope = rise[:reach] / run[:reach]
        sure = int(np.count_nonzero((run[:reach] <= longest).all(axis=tuple(range(1, run.ndim)))))
        if sure < reach:
            slope[sure:] = np.where(run[sure:reach] > longest, -np.inf, slope[sure:])
        if ends_between:
            _with_full_chord(slope, run, _full_slope(run, rise, straightedge_mm), straightedge_mm)
        steepest = _steepest_beyond(slope)
        steepest *= run[:reach]
        steepest += roof[a]
        np.maximum(bridged[far], steepest, out=bridged[far])
    if ends_between:
        for a in range(2, len(s)):
            _bridge_back(bridged[a - 1 :: -1], s[a] - s[a - 1 :: -1], roof[a], roof[a - 1 :: -1], straightedge_mm)
    return np.moveaxis(bridged, (0, 1), (-2, -1))


def _steepest_beyond(slope: F64) -> F64:
    """Return the largest slope of every row and those after it."""
    if slope.ndim == 2:
        return np.maximum.accumulate(slope[::-1], axis=0)[::-1]
    for j in range(len(slope) - 2, -1, -1):  # row upon row is quicker where there are many draws
        np.maximum(slope[j], slope[j + 1], out=slope[j])
    return slope


def _full_slope(run: F64, rise: F64, straightedge_mm: float) -> F64:
    """Return the slope of the chord that is as long as the straightedge; minus infinity where it ends past all rows.

    ``run`` and ``rise`` are how far on and how much higher each row is than the one that the chord begins at.
    """
    full = np.full(rise.shape[1:], -np.inf)
    inside = run <= straightedge_mm
    first = int(np.count_nonzero(inside.all(axis=tuple(range(1, run.ndim)))))
    for j in range(first, len(run)):
        from_run, from_rise = (run[j - 1], rise[j - 1]) if j else (np.zeros_like(run[0]), np.zeros_like(rise[0]))
        here = (from_run <= straightedge_mm) & ~inside[j]
        share = (straightedge_mm - from_run) / (run[j] - from_run)
        full = np.where(here, (from_rise + share * (rise[j] - from_rise)) / straightedge_mm, full)
    return full


def _with_full_chord(slope: F64, run: F64, full: F64, straightedge_mm: float) -> None:
    """Raise, in place, the slope to the last row within the straightedge to that of the full chord beyond it."""
    inside = run <= straightedge_mm
    after = np.zeros_like(inside)
    after[:-1] = inside[1:]
    last = inside & ~after
    for j in np.flatnonzero(last[: len(slope)].any(axis=tuple(range(1, run.ndim)))):
        slope[j] = np.where(last[j], np.maximum(slope[j], full), slope[j])


def _bridge_back(bridged: F64, run: F64, end: F64, roof: F64, straightedge_mm: float) -> None:
    """Raise, in place, the rows before one to the chord that ends at it and is as long as the straightedge."""
    inside = run <= straightedge_mm
    axes = tuple(range(1, run.ndim))
    reach, sure = (int(np.count_nonzero(some)) for some in (inside.any(axis=axes), inside.all(axis=axes)))
    near = slice(max(0, sure - 1), reach + 1)  # the rows between which it begins
    chord = run[:reach] * _full_slope(run[near], roof[near] - end, straightedge_mm)
    chord += end
    if sure < reach:
        chord[sure:] = np.where(inside[sure:reach], chord[sure:], -np.inf)
    np.maximum(bridged[:reach], chord, out=bridged[:reach])
