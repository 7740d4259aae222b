"""What are the upper boundaries of sections, and what are they with bosses bridged?

The floor is the same question asked of the section turned upside down. All sections of a port are asked at once.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from portgeom.geometry.arrays import F64, Int, of_rows
from portgeom.geometry.rays import SPINE_HALF
from portgeom.geometry.union import padded
from portgeom.model.corners import Corners
from portgeom.model.undercut import first_met

ROOF_LEAN = np.tan(np.radians(60.0))
"""Slope at which a roof has become a wall: its outward normal leans 60 degrees from v."""

UPRIGHT_SHARE = 1e-9
"""Corners this near across, as a share of the width, lie upright over each other."""


@dataclass(frozen=True, slots=True)
class Edge:
    """The upper boundary of one section between its widest points, as v over rising u (k,)."""

    u_mm: F64
    v_mm: F64

    def height_mm(self, across_mm: F64) -> F64:
        """Return v over ``across_mm``; NaN beyond the ends."""
        return np.interp(across_mm, self.u_mm, self.v_mm, left=np.nan, right=np.nan)

    @property
    def crown_mm(self) -> float:
        """Return the greatest height."""
        return float(self.v_mm.max())


@dataclass(frozen=True, slots=True)
class WallTops:
    """Where the roofs of polygons leave their side walls: the indices (m,) of a corner right and left."""

    right: Int
    left: Int


def wall_tops(sections: Corners) -> WallTops:
    """Return where the roof of each anticlockwise polygon leaves its side walls.

    Each is the upper widest place of its side; but where the wall bulges in below it, and the section is wider
    again further down, it is the place above that waist.
    """
    u, v = sections.u_mm, sections.v_mm
    low, high = u.min(axis=1), u.max(axis=1)
    near = UPRIGHT_SHARE * (high - low)
    right = np.argmax(np.where(u >= (high - near)[:, None], v, -np.inf), axis=1)
    left = np.argmax(np.where(u <= (low + near)[:, None], v, -np.inf), axis=1)
    chain = sections.between(right, left)
    turns_back = np.flatnonzero(((np.diff(chain.u_mm) >= 0.0) & chain.pieces).any(axis=1))
    if len(turns_back):
        chain, near = chain.chosen(turns_back), near[turns_back]
        middle, half = 0.5 * (high + low)[turns_back], SPINE_HALF * (high - low)[turns_back]
        crown = np.argmax(chain.v_mm, axis=1)
        place = np.arange(chain.points_mm.shape[1])
        to_right = of_rows(chain.u_mm, np.maximum(crown[:, None] - place, 0))
        to_left = of_rows(chain.u_mm, np.minimum(crown[:, None] + place, chain.count[:, None] - 1))
        right[turns_back] += crown - _above_waist(to_right, crown, half + middle, near)
        beyond = chain.count - 1 - crown
        left[turns_back] -= beyond - _above_waist(-to_left, beyond, half - middle, near)
    return WallTops(right % sections.count, left % sections.count)


def _above_waist(outward: F64, last: Int, outer: F64, near: F64) -> Int:
    """Return where rows that run outward from the crown first turn back, if beyond ``outer``; else their last."""
    furthest = np.maximum.accumulate(outward, axis=1)
    back = (outward < furthest - near[:, None]) & (furthest > outer[:, None])
    before = np.arange(outward.shape[1]) < np.argmax(back, axis=1)[:, None]
    return np.where(back.any(axis=1), np.argmax(np.where(before, outward, -np.inf), axis=1), last)


def upper_edges(polygons: Sequence[F64]) -> tuple[Edge, ...]:
    """Return the upper boundary of every anticlockwise polygon (n, 2).

    Where the section is undercut it is the first metal met going up.
    """
    sections = Corners.of(polygons)
    return edges_between(sections, wall_tops(sections))


def upper_edge(polygon_mm: F64) -> Edge:
    """Return the upper boundary of one polygon (n, 2), as ``upper_edges``."""
    return upper_edges([polygon_mm])[0]


def section_edges(polygons: Sequence[F64], measured: Mapping[int, F64]) -> tuple[Edge, ...]:
    """Return the upper boundary of the section at every slab: of the outline measured there, where one was."""
    edges = list(upper_edges(polygons))
    if measured:
        for slab, edge in zip(measured, upper_edges(list(measured.values())), strict=True):
            edges[slab] = edge
    return tuple(edges)


def edges_between(sections: Corners, tops: WallTops) -> tuple[Edge, ...]:
    """Return the upper boundary of every polygon between the tops of its walls."""
    chain = sections.between(tops.right, tops.left)
    falls = np.all((np.diff(chain.u_mm) < 0.0) | ~chain.pieces, axis=1).tolist()
    near = UPRIGHT_SHARE * np.ptp(sections.u_mm, axis=1)
    edges = []
    for corners, plain, upright in zip(chain.apart(), falls, near, strict=True):
        rising = (corners if plain else first_met(corners, upright))[::-1]
        edges.append(Edge(rising[:, 0], rising[:, 1]))
    return tuple(edges)


def bridged_edges(edges: Sequence[Edge]) -> tuple[Edge, ...]:
    """Return the least concave curve over every edge: hollows go, corners stay.

    A corner under the chord of its neighbours is on no such curve, so all of those go at once, again and
    again until none is left. The edges lie one after the other; their ends stay.
    """
    count = np.array([len(edge.u_mm) for edge in edges])
    after = np.cumsum(count)
    first = after - count
    ends = np.zeros(after[-1], dtype=bool)
    ends[first] = ends[after - 1] = True
    u, v = np.concatenate([edge.u_mm for edge in edges]), np.concatenate([edge.v_mm for edge in edges])
    at = np.arange(len(u))
    while True:
        run, rise, end = np.diff(u[at]), np.diff(v[at]), ends[at]
        slope = np.divide(rise, run, out=np.zeros(len(run)), where=~(end[1:] & end[:-1]))
        kept = end
        kept[1:-1] |= slope[1:] <= slope[:-1]
        if kept.all():
            break
        at = at[kept]
    u, v = u[at], v[at]
    low, high = np.searchsorted(at, first), np.searchsorted(at, after)
    return tuple(
        edge if b - a == n else Edge(u[a:b], v[a:b]) for edge, n, a, b in zip(edges, count, low, high, strict=True)
    )


def bridged_across(edge: Edge) -> Edge:
    """Return the least concave curve over one edge, as ``bridged_edges``."""
    return bridged_edges([edge])[0]


def roof_spans_mm(edges: Sequence[Edge]) -> F64:
    """Return where concave edges are roof, from left to right (m, 2): between where they have turned into wall."""
    u, v = padded([edge.u_mm for edge in edges]), padded([edge.v_mm for edge in edges])
    run = np.diff(u)
    slope = np.divide(np.diff(v), run, out=np.full(run.shape, np.inf), where=run > 0.0)
    roof = np.abs(slope) <= ROOF_LEAN
    first, last = np.argmax(roof, axis=1), roof.shape[1] - np.argmax(roof[:, ::-1], axis=1)
    crown = np.argmax(v, axis=1)
    none = ~roof.any(axis=1)
    ends = np.column_stack([np.where(none, crown, first), np.where(none, crown, last)])
    return of_rows(u, ends)


def roof_span_mm(edge: Edge) -> tuple[float, float]:
    """Return where one concave edge is roof, as ``roof_spans_mm``."""
    left, right = roof_spans_mm([edge])[0]
    return float(left), float(right)


def heights_mm(edges: Sequence[Edge], across_mm: F64) -> F64:
    """Return heights (m, k) of edges over places (k,), or each over its own (m, k); NaN beyond their ends."""
    own = np.broadcast_to(across_mm, (len(edges), across_mm.shape[-1]))
    return np.array([edge.height_mm(places) for edge, places in zip(edges, own, strict=True)])
