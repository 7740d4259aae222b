"""How far does the roof stand above the wanted line, and where does something hang from it?

Proud height is measured into the passage along -v: positive is metal to take off, negative is past the line.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from portgeom.geometry.arrays import F64, frozen
from portgeom.job.values import Limits
from portgeom.model.bridge import Bridge, bridge_roof
from portgeom.model.edge import Edge, bridged_edges, heights_mm, roof_spans_mm
from portgeom.model.lofted import LoftedPort, LoftedStage
from portgeom.model.wanted import LineFrom, Wanted
from portgeom.questions.shape.bulges import Bulge, RoofPlace, find_bulges

COLUMN_MM = 0.5
"""Step of the roof map across the port."""

GUESS_MM = 0.5
"""A bridge that stands off the roof by more than this along more than its own span is a poor guess."""


@dataclass(frozen=True, slots=True)
class RoofMap:
    """The roof seen from above.

    Attributes
    ----------
    distance_mm : (j,) float
    across_mm : (k,) float
        From left to right looking in, about the path.
    proud_mm : (j, k) float
        Height over the line; NaN where there is wall and no roof.
    stands_out_mm : (j, k) float
        Height over the bridge, NaN likewise.
    """

    distance_mm: F64
    across_mm: F64
    proud_mm: F64
    stands_out_mm: F64


@dataclass(frozen=True, slots=True)
class Roof:
    """The roof of one stage against the wanted line.

    Attributes
    ----------
    line_from : "job" or "bridge"
    line_mm : (m, 2) float
        Distance and height of the line's crown above the path, along the whole path.
    peak, lowest : RoofPlace
        Where the roof stands furthest over the line, and where furthest past it (or least over it).
    bulges : tuple of Bulge
        By volume, the largest first.
    map : RoofMap
    end_mm, end_reason : float, str
        Where the roof ends along the port, and why.
    line_wanted : tuple of (from, to)
        Where the bridge stands off the roof for longer than it can span, so that a roof line should be given.
    """

    line_from: LineFrom
    line_mm: F64
    peak: RoofPlace
    lowest: RoofPlace
    bulges: tuple[Bulge, ...]
    map: RoofMap
    end_mm: float
    end_reason: str
    line_wanted: tuple[tuple[float, float], ...]


def roof(port: LoftedPort, stage: LoftedStage, wanted: Wanted, limits: Limits) -> Roof:
    """Return the proud map of a stage's roof, its peak and its bulges."""
    chart = port.chart
    end = wanted.roof_end
    edges = stage.edges()
    own = edges[: end.slab + 1]
    across = _columns(own)
    left, right = roof_spans_mm(bridged_edges(own)).T[..., None]
    height, target = heights_mm(own, across), heights_mm(wanted.edges[: end.slab + 1], across)
    inside = (across >= left) & (across <= right) & np.isfinite(height) & np.isfinite(target)
    proud = np.where(inside, target - height, np.nan)
    proud = np.where(np.abs(proud) <= chart.tolerance.length_mm, 0.0, proud)
    bridge = bridge_roof(chart, edges, straightedge_mm=limits.straightedge_mm, last_slab=end.slab)
    lift = np.array([bridge.lift_at_mm(j, across) for j in range(end.slab + 1)])
    stands_out = np.where(inside, lift, np.nan)
    distance = chart.distance_mm[: end.slab + 1]
    roof_map = RoofMap(frozen(distance), frozen(across), frozen(proud), frozen(stands_out))
    guessed = wanted.line_from == "bridge"
    return Roof(
        line_from=wanted.line_from,
        line_mm=frozen(np.column_stack([chart.distance_mm, wanted.height_mm])),
        peak=_place(roof_map, np.nanargmax(proud)),
        lowest=_place(roof_map, np.nanargmin(proud)),
        bulges=find_bulges(
            distance, across, stands_out, proud, _stretch(stage, end.slab, across, height), stage.slab, limits
        ),
        map=roof_map,
        end_mm=end.distance_mm,
        end_reason=end.reason,
        line_wanted=_long_runs(bridge, distance, limits) if guessed else (),
    )


def _columns(edges: Sequence[Edge]) -> F64:
    low = min(e.u_mm[0] for e in edges)
    high = max(e.u_mm[-1] for e in edges)
    first, last = np.ceil(low / COLUMN_MM), np.floor(high / COLUMN_MM)
    return COLUMN_MM * np.arange(first, last + 1)


def _place(roof_map: RoofMap, flat_index: np.intp) -> RoofPlace:
    i, j = np.unravel_index(flat_index, roof_map.proud_mm.shape)
    return RoofPlace(float(roof_map.distance_mm[i]), float(roof_map.across_mm[j]), float(roof_map.proud_mm[i, j]))


def _stretch(stage: LoftedStage, last: int, across: F64, height: F64) -> F64:
    """Return (j, k), how many mm of roof lie on 1 mm of path: more than 1 outside a bend."""
    sweep = stage.surface.chart.sweep
    row = np.searchsorted(sweep.slab, np.arange(last + 1))
    return sweep.advance[row, None] - sweep.turn_right[row, None] * across - sweep.turn_up[row, None] * height


def _long_runs(bridge: Bridge, distance: F64, limits: Limits) -> tuple[tuple[float, float], ...]:
    """Return where the bridge stands off the roof for longer than the straightedge."""
    off = (bridge.lift_mm[: len(distance)] > GUESS_MM).any(axis=1)
    edge = np.flatnonzero(np.diff(np.concatenate([[False], off, [False]]).astype(int)))
    runs = [(float(distance[a]), float(distance[b - 1])) for a, b in edge.reshape(-1, 2)]
    return tuple(r for r in runs if r[1] - r[0] > limits.straightedge_mm)
