"""Along which lines may a port be changed, and by how much at each of their points?

Four lines: roof, left, right, floor. Between its points a line runs straight with distance, as the lines of a
target do. The value at a point is how far metal is taken off there. The last point of every line stays as cast, so
that no ledge is left, and a throat stays as its seat was cut; unless an area is wanted there.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from portgeom.geometry.arrays import F64, Int, frozen
from portgeom.job.propose_values import Wishes
from portgeom.job.values import Side
from portgeom.model.edge import Edge, bridged_edges, heights_mm, upper_edges
from portgeom.model.lofted import LoftedPort
from portgeom.model.reshape import upside_down

SIDES: tuple[Side, ...] = ("roof", "left", "right", "floor")
"""In this order everywhere."""

HOLLOW_MM = 0.3
"""A boss that stands out less than this is only roughness; above it the roof line may stop short of removing it."""

LEAST_SHARE = 0.4
"""Points nearer together than this share of the wished step are one."""

TURNED_DEG = 75.0
"""Flow turned this far is on its way down into the bowl: no roof line there."""

CLEAR_MM = 0.002
"""A line that takes nothing off lies so much above the roof: a hair of metal, and no hair short of it."""

COLUMNS = 25
"""Columns across the roof at which a boss is looked for."""

ROUND_PLACES = ("bowl", "throat", "seat")
"""Places that stay round: a roof line ends before them."""


@dataclass(frozen=True, slots=True)
class Run:
    """One line that may be changed.

    Attributes
    ----------
    side : Side
    knot_mm : (k,) float
        Distances of its points.
    start_mm : (k,) float
        Height of the line at its points where nothing comes off: of the roof as cast bridged across, or of the
        floor; 0 for the sides.
    least_mm, most_mm : (k,) float
        Bounds of what comes off. Below 0 is a roof line that leaves some of a boss.
    hat : (m, k) float
        What of each point's value there is at each slab.
    inside : (m,) float
        1 where the line runs, 0 elsewhere.
    """

    side: Side
    knot_mm: F64
    start_mm: F64
    least_mm: F64
    most_mm: F64
    hat: F64
    inside: F64


def runs_of(port: LoftedPort, wishes: Wishes) -> tuple[Run, ...]:
    """Return the lines of a port, in the order of SIDES."""
    s = port.chart.distance_mm
    sections = port.cast.surface.points_mm
    edges = upper_edges(list(sections))
    bridged = bridged_edges(edges)
    crown = np.array([b.crown_mm for b in bridged])
    hollow = _hollow_mm(port, edges, bridged)
    floors = bridged_edges(upper_edges(upside_down(list(sections))))
    lowest = -np.array([f.crown_mm for f in floors])
    throat, opened = port.throat_mm, wishes.throat_area_mm2 is not None
    roof_to = _roof_to(port)
    made = []
    for side, most in zip(
        SIDES, (wishes.most_roof_mm, wishes.most_side_mm, wishes.most_side_mm, wishes.most_floor_mm), strict=True
    ):
        knots = _knots(port, roof_to if side in ("roof", "floor") else throat, wishes.knot_mm)
        at = np.array([port.chart.slab_at(k) for k in knots])
        boss = np.where(hollow[at] > HOLLOW_MM, hollow[at], 0.0) if side == "roof" else np.zeros(len(knots))
        start = (
            _over(s, crown, hollow, knots, at)
            if side == "roof"
            else lowest[at]
            if side == "floor"
            else np.zeros(len(knots))
        )
        free = (knots < knots[-1]) | (opened and knots[-1] >= throat)
        free &= knots >= (s[0] if wishes.from_mm is None else wishes.from_mm)
        free &= knots <= (s[-1] if wishes.to_mm is None else wishes.to_mm)
        hat = np.array([np.interp(s, knots, unit, left=0.0, right=0.0) for unit in np.eye(len(knots))]).T
        made.append(
            Run(
                side,
                frozen(knots),
                frozen(start),
                frozen(np.where(free, -boss, 0.0)),
                frozen(np.where(free, most, 0.0)),
                frozen(hat),
                frozen(((s >= knots[0]) & (s <= knots[-1])).astype(np.float64)),
            )
        )
    return tuple(made)


def _hollow_mm(port: LoftedPort, edges: Sequence[Edge], bridged: Sequence[Edge]) -> F64:
    """Return how far a boss hangs below the bridged roof at every slab, between the corners."""
    chart = port.chart
    across = chart.centre_mm[:, :1] + chart.half_mm[:, None] * np.linspace(-1.0, 1.0, COLUMNS)
    return np.nan_to_num(heights_mm(bridged, across) - heights_mm(edges, across)).max(axis=1)


def _over(s: F64, crown: F64, hollow: F64, knots: F64, at: Int) -> F64:
    """Return heights at the points of a roof line that lies nowhere below the roof, but where there is a boss.

    A line straight between its points would else dip below a roof that rises and falls in a curve between them.
    """
    roof = np.where(hollow > HOLLOW_MM, -np.inf, crown)
    height = crown[at]
    lack = np.maximum(roof - np.interp(s, knots, height), 0.0)
    need = np.array([lack[(s >= a) & (s <= b)].max() for a, b in pairwise(knots)])
    return height + np.maximum(np.append(need, 0.0), np.append(0.0, need)) + CLEAR_MM


def _roof_to(port: LoftedPort) -> float:
    """Return where a roof line ends: the first station of the bowl or the throat, or where the flow has turned down."""
    chart = port.chart
    normal = chart.planes.normal
    turned = np.degrees(np.arccos(np.clip(normal @ normal[0], -1.0, 1.0)))
    ends = [port.throat_mm]
    for row, slab in zip(port.cast.stage.sections.rows, port.cast.slab, strict=True):
        if row.place in ROUND_PLACES or turned[slab] > TURNED_DEG:
            ends.append(float(chart.distance_mm[slab]))
    return min(ends)


def _knots(port: LoftedPort, to_mm: float, step_mm: float) -> F64:
    """Return the stations up to a distance, wide gaps parted evenly and close ones merged."""
    stations = port.cast.distance_mm
    stations = np.unique(np.append(stations[stations < to_mm], to_mm))
    kept = [float(stations[0])]
    for s in stations[1:-1]:
        if s - kept[-1] >= LEAST_SHARE * step_mm and stations[-1] - s >= LEAST_SHARE * step_mm:
            kept.append(float(s))
    kept.append(float(stations[-1]))
    parts = [np.linspace(a, b, max(1, round((b - a) / step_mm)) + 1)[:-1] for a, b in pairwise(kept)]
    return np.concatenate([*parts, kept[-1:]])
