"""Where does a port bend, how tightly for its width, and how much faster is air on the inside of the bend?

The flow is followed along the curve through the centres of the sections. Where air turns without loss and without
spin, its speed times its radius is the same everywhere (free vortex), so it runs fastest on the inside: in an
intake mostly the floor, the short side.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from portgeom.geometry.arrays import F64, Int
from portgeom.geometry.surface import Surface
from portgeom.questions.shape.places import clock_deg

SMOOTHED = 0.25
"""The flow's direction is that of a chord of this many hydraulic diameters either way: no less is felt by it."""

STRAIGHT = 5.0
"""A stretch whose radius is more hydraulic diameters than this counts as straight: beyond, published coefficients
of a bend fall to little over its friction."""

LEAST_TURN_DEG = 10.0
"""No bend turns less: where the charts of Miller (1990) begin."""

EDGE_POINTS = 4
"""Gauss points on every edge of a section, where the speed over it is averaged."""


@dataclass(frozen=True, slots=True)
class Turn:
    """The stretch between two neighbouring stations, in the order of the path.

    Attributes
    ----------
    first, last : int
        Slabs of the stations.
    length_mm : float
        Along the curve of the centres.
    turn_deg : float
    hydraulic_mm : float
        Mean hydraulic diameter.
    inward : (3,) float
        Towards the inside, in the head frame; of no length where it is straight.
    """

    first: int
    last: int
    length_mm: float
    turn_deg: float
    hydraulic_mm: float
    inward: F64

    @property
    def radius_ratio(self) -> float:
        """Return the radius in hydraulic diameters, infinity where it is straight."""
        turn = float(np.radians(self.turn_deg))
        return float(np.inf) if turn == 0.0 else self.length_mm / (turn * self.hydraulic_mm)


@dataclass(frozen=True, slots=True)
class Vortex:
    """Speeds over one section of a bend by free-vortex reasoning.

    Attributes
    ----------
    radius_mm, inside_mm : float
        Of the curve of the centres and of the inside wall.
    inside_outside, inside_mean : float or None
        Speed at the inside wall over that at the outside, and over the mean; None where the bend is so tight
        that its centre lies within the passage: then the flow is sure to leave the inside.
    clock_deg : float
        Where the inside is, looking in.
    """

    distance_mm: float
    radius_mm: float
    inside_mm: float
    inside_outside: float | None
    inside_mean: float | None
    clock_deg: float


@dataclass(frozen=True, slots=True)
class Bend:
    """A run of stretches that turn the same way.

    Attributes
    ----------
    turns : tuple of int
        Its stretches, by number.
    radius_ratio : float
        Radius of the curve of the centres, of its mean curvature by turning, in mean hydraulic diameters.
    area_ratio : float
        Flow area where the path leaves it over that where it enters.
    tightest : Vortex
        The section with the largest speed ratio.
    """

    turns: tuple[int, ...]
    from_mm: float
    to_mm: float
    length_mm: float
    turn_deg: float
    hydraulic_mm: float
    radius_ratio: float
    area_ratio: float
    tightest: Vortex


def turns_of(surface: Surface, station_slab: Int) -> tuple[Turn, ...]:
    """Return the stretches between stations and how far the flow turns in each."""
    chart = surface.chart
    planes, c = chart.planes, surface.centroid_mm
    curve = planes.origin_mm + c[:, :1] * planes.right + c[:, 1:] * planes.up
    arc = np.concatenate([[0.0], np.cumsum(np.linalg.norm(np.diff(curve, axis=0), axis=1))])
    hydraulic = 4.0 * surface.area_mm2 / surface.perimeter_mm
    tangent = _tangents(curve, arc, SMOOTHED * float(hydraulic.mean()))
    found = []
    for a, b in pairwise(station_slab):
        cross, dot = np.cross(tangent[a], tangent[b]), float(tangent[a] @ tangent[b])
        found.append(
            Turn(
                first=int(a),
                last=int(b),
                length_mm=float(arc[b] - arc[a]),
                turn_deg=float(np.degrees(np.arctan2(np.linalg.norm(cross), dot))),
                hydraulic_mm=float(hydraulic[a : b + 1].mean()),
                inward=tangent[b] - tangent[a],
            )
        )
    return tuple(found)


def _tangents(curve: F64, arc: F64, reach: float) -> F64:
    """Return directions (m, 3) along a curve, each that of a chord; shorter towards the ends, where it is exact."""
    half = np.minimum(reach, np.minimum(arc - arc[0], arc[-1] - arc))
    ends = np.column_stack([np.interp(arc + half, arc, x) - np.interp(arc - half, arc, x) for x in curve.T])
    edge = np.gradient(curve, arc, axis=0, edge_order=2)
    ends[[0, -1]] = edge[[0, -1]]
    return ends / np.linalg.norm(ends, axis=1, keepdims=True)


def bends_of(surface: Surface, turns: Sequence[Turn]) -> tuple[Bend, ...]:
    """Return the bends of a port, from the face inwards."""
    runs: list[list[int]] = []
    for k, turn in enumerate(turns):
        if turn.radius_ratio > STRAIGHT:
            continue
        if runs and runs[-1][-1] == k - 1 and _same_way(turns[k - 1], turn):
            runs[-1].append(k)
        else:
            runs.append([k])
    bends = [_bend(surface, turns, run) for run in runs]
    return tuple(b for b in bends if b.turn_deg >= LEAST_TURN_DEG)


def _same_way(one: Turn, other: Turn) -> bool:
    lengths = np.linalg.norm(one.inward) * np.linalg.norm(other.inward)
    return bool(one.inward @ other.inward > 0.5 * lengths)


def _bend(surface: Surface, turns: Sequence[Turn], run: Sequence[int]) -> Bend:
    parts = [turns[k] for k in run]
    length, turn = sum(p.length_mm for p in parts), sum(p.turn_deg for p in parts)
    turned = float(np.radians(turn))
    hydraulic = sum(p.length_mm * p.hydraulic_mm for p in parts) / length
    # the mean curvature by turning, so that a gentle lead into a tight bend does not pass for part of it
    curvature = sum(float(np.radians(p.turn_deg)) ** 2 / p.length_mm for p in parts) / turned
    flow, s = surface.flow_area_mm2, surface.chart.distance_mm
    vortices = [vortex(surface, p) for p in parts]
    return Bend(
        turns=tuple(run),
        from_mm=float(s[parts[0].first]),
        to_mm=float(s[parts[-1].last]),
        length_mm=length,
        turn_deg=turn,
        hydraulic_mm=hydraulic,
        radius_ratio=1.0 / (curvature * hydraulic),
        area_ratio=float(flow[parts[-1].last] / flow[parts[0].first]),
        tightest=max(vortices, key=lambda v: np.inf if v.inside_outside is None else v.inside_outside),
    )


def vortex(surface: Surface, turn: Turn) -> Vortex:
    """Return the speeds in the middle of a stretch that turns, taking its section as square to the flow."""
    chart = surface.chart
    slab = (turn.first + turn.last) // 2
    planes, middle = chart.planes, surface.centroid_mm[slab]
    inward = np.array([planes.right[slab] @ turn.inward, planes.up[slab] @ turn.inward])
    inward /= np.linalg.norm(inward)
    radius = float(turn.length_mm / np.radians(turn.turn_deg))
    points = surface.points_mm[slab] - middle
    towards = points @ inward
    inside, outside = radius - float(towards.max()), radius - float(towards.min())
    ratio = mean = None
    if inside > 0.0:
        ratio = outside / inside
        across = points @ np.array([-inward[1], inward[0]])
        mean = 1.0 / (inside * _mean_inverse(radius - towards, across))
    clock = clock_deg(inward, np.zeros(2))
    return Vortex(float(chart.distance_mm[slab]), radius, inside, ratio, mean, clock)


def _mean_inverse(radius: F64, across: F64) -> float:
    """Return the mean of 1 / r over a polygon with corners (r, y), by Green's theorem: dA / r is d(ln r) dy."""
    node, weight = np.polynomial.legendre.leggauss(EDGE_POINTS)
    dr, dy = np.roll(radius, -1) - radius, np.roll(across, -1) - across
    area = 0.5 * float(np.sum(radius * np.roll(across, -1) - np.roll(radius, -1) * across))
    share = 0.5 * (node[:, None] + 1.0)
    logs = 0.5 * (weight[:, None] * np.log(radius + share * dr)).sum(axis=0)
    return float(np.sum(logs * dy)) / area
