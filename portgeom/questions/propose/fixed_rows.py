"""Which chords of the roof, and which stretches of the port, are looked at for bow and for growth? Found once."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from portgeom.geometry.arrays import F64, Int, frozen
from portgeom.job.values import Limits
from portgeom.model.lofted import LoftedPort, LoftedStage
from portgeom.questions.propose.runs import Run
from portgeom.questions.shape.taper import GROWTH_OVER_MM


@dataclass(frozen=True, slots=True)
class FixedRows:
    """Sums of a port's own values that do not depend on what is cut.

    Attributes
    ----------
    chords : (b, k) float
        Of the roof's heights at its points: how far each lies below a chord over it, no longer than a straightedge.
    chord_at_mm : (b,) float
        The point looked at.
    growth_slab : (g,) int
        Stations up to the throat.
    growth : (r, g) float
        Of the radii of equal area there: how much they grow over each stretch, as ``taper_of`` takes it.
    growth_at_mm : (r,) float
    window_mm : float
        Length of the stretches.
    """

    chords: F64
    chord_at_mm: F64
    growth_slab: Int
    growth: F64
    growth_at_mm: F64
    window_mm: float


def fixed_rows(port: LoftedPort, stage: LoftedStage, runs: Sequence[Run], limits: Limits) -> FixedRows:
    """Return the rows of a stage of a port."""
    s = port.chart.distance_mm
    slab = stage.slab[s[stage.slab] <= port.throat_mm + 1e-9]
    at = s[slab]
    window = min(GROWTH_OVER_MM, float(at[-1] - at[0]))
    start = s[s <= at[-1] - window * (1.0 - 1e-12)]
    grown = np.array([np.interp(start + window, at, e) - np.interp(start, at, e) for e in np.eye(len(at))]).T
    sign = -1.0 if port.port.kind == "exhaust" else 1.0
    chords, chord_at = _chords(runs[0].knot_mm, limits.straightedge_mm)
    return FixedRows(chords, chord_at, slab, frozen(sign * grown), frozen(start + 0.5 * window), window)


def _chords(at: F64, straightedge_mm: float) -> tuple[F64, F64]:
    rows, where = [], []
    for a in range(len(at)):
        for b in range(a + 2, len(at)):
            if at[b] - at[a] > straightedge_mm * (1.0 + 1e-9):
                break
            for m in range(a + 1, b):
                share = (at[m] - at[a]) / (at[b] - at[a])
                row = np.zeros(len(at))
                row[[a, m, b]] = 1.0 - share, -1.0, share
                rows.append(row)
                where.append(at[m])
    return frozen(np.array(rows).reshape(-1, len(at))), frozen(where)
