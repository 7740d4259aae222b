"""What is asked of the roof in every draw?

The places are those of the port itself: the roof ends where it ends there, and a bulge is looked for round where
it was found. How high the roof is over them, and how far it stands out of its bridge, is each draw's own.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from portgeom.geometry.arrays import F64, Bool, Int
from portgeom.job.values import Limits
from portgeom.model.bridge import bridge_columns
from portgeom.model.edge import bridged_across, roof_span_mm
from portgeom.model.lofted import LoftedPort, LoftedStage
from portgeom.model.wanted import Wanted
from portgeom.questions.shape.bulges import Bulge
from portgeom.questions.uncertainty.upper_tips import proud_mm, upper_tips

BESIDE_MM = 6.0
"""How far beyond a bulge's own extent it is looked for in a draw."""

CONTENDS_MM = 2.0
"""A place so far below the peak in the port itself is the peak of no draw."""

FINER = 4
"""Into how many pieces the coarse chart's cells are cut, each way, to find where a bulge ends."""


@dataclass(frozen=True, slots=True)
class Region:
    """Where one bulge is looked for: slabs, columns, and the matrices that cut their cells into finer ones.

    ``width_mm`` is a fine column's.
    """

    slabs: slice
    columns: slice
    along: F64
    across: F64
    width_mm: F64


@dataclass(frozen=True, slots=True)
class RoofDraws:
    """What is asked of the roof of one stage's draws.

    Attributes
    ----------
    last : int
        The last slab of roof.
    slabs : (j,) int
        Those where the roof stands nearly as far over the line as anywhere.
    contends : (j, q) bool
        Which of their upper tips do so.
    columns : (k,) float
        Of the bridge, in half lengths of the spine.
    limits : Limits
    regions : tuple of Region
        One a bulge.
    """

    last: int
    slabs: Int
    contends: Bool
    columns: F64
    limits: Limits
    regions: tuple[Region, ...]


def roof_draws(
    port: LoftedPort, stage: LoftedStage, wanted: Wanted, bulges: tuple[Bulge, ...], limits: Limits
) -> RoofDraws:
    """Return what is asked of the draws of a stage; the port, stage and bulges are those of the coarse chart."""
    chart, last = port.chart, wanted.roof_end.slab
    own, line = (upper_tips(chart, rho[None], slabs=last + 1) for rho in (stage.surface.rho_mm, wanted.rho_mm))
    spans = np.array([roof_span_mm(bridged_across(e)) for e in stage.edges()[: last + 1]])
    roof = (own.u_mm[..., 0] >= spans[:, :1]) & (own.u_mm[..., 0] <= spans[:, 1:])
    proud = np.where(roof, proud_mm(own, line, roof)[..., 0], -np.inf)
    near = proud > proud.max() - CONTENDS_MM
    slabs = np.flatnonzero(near.any(axis=1))
    columns = bridge_columns(chart)
    across = chart.centre_mm[:, :1] + chart.half_mm[:, None] * columns
    regions = tuple(_region(chart.distance_mm[: last + 1], across, b) for b in bulges)
    return RoofDraws(last, slabs, near[slabs], columns, limits, regions)


def _region(s: F64, across: F64, bulge: Bulge) -> Region:
    rows = np.flatnonzero((s >= bulge.from_mm - BESIDE_MM) & (s <= bulge.to_mm + BESIDE_MM))
    middle = across[(rows[0] + rows[-1]) // 2]
    inside = (middle >= bulge.across_from_mm - BESIDE_MM) & (middle <= bulge.across_to_mm + BESIDE_MM)
    columns = np.flatnonzero(inside)
    slabs, chosen = slice(max(0, rows[0] - 1), rows[-1] + 2), slice(max(0, columns[0] - 1), columns[-1] + 2)
    count, width = len(s[slabs]), len(middle[chosen])
    step = np.gradient(middle[chosen])
    fine = _finer(width)
    return Region(slabs, chosen, _finer(count), fine, (fine @ step) / FINER)


def _finer(count: int) -> F64:
    """Return the weights (f, count) of places at the middles of FINER pieces of each interval."""
    pieces = FINER * max(1, count - 1)
    at = (np.arange(pieces) + 0.5) / FINER
    low = np.minimum(at.astype(np.intp), max(0, count - 2))
    weights = np.zeros((pieces, count))
    row = np.arange(pieces)
    weights[row, low] = 1.0 - (at - low)
    if count > 1:
        weights[row, low + 1] = at - low
    return weights
