"""What do all surfaces of one port share: path, slabs, spine and rays?

A chart is laid once for a port. Every measured stage, target and pass is then one array of distances,
``rho[slab, ray]``, so that union is a maximum, intersection a minimum, and a difference a subtraction.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from portgeom.geometry.arrays import F64, Int, frozen
from portgeom.geometry.findings import Tolerance
from portgeom.geometry.interpolate import shape_preserving
from portgeom.geometry.moments import Moments
from portgeom.geometry.outline import Outline
from portgeom.geometry.path import Path, Planes
from portgeom.geometry.rays import SPINE_HALF, Rays

TOGETHER = 40
"""Draws whose sections are measured together."""


@dataclass(frozen=True, slots=True)
class Resolution:
    """How finely a port is cut up: longest slab in mm, and rays round a section."""

    slab_mm: float = 0.5
    rays: int = 256


@dataclass(frozen=True, slots=True)
class Sweep:
    """How to integrate along the path, where the turning may jump at a station.

    One row for each slab of each interval, so a station between two intervals has two rows. A region of
    area A and first moments (Mu, Mv) sweeps the volume ``sum(weight (A advance - Mu turn_right -
    Mv turn_up))``: Simpson's rule on A p'.d - c.d', each interval by itself.

    Attributes
    ----------
    slab : (k,) int
        Which slab each row is.
    first_row : (i,) int
        Where each interval begins.
    weight : (..., k) float
        Simpson weights in mm.
    advance, turn_right, turn_up : (..., k) float
        p'.d, u.d' and v.d'.
    """

    slab: Int
    first_row: Int
    weight: F64
    advance: F64
    turn_right: F64
    turn_up: F64

    def stretch(self, points_mm: F64) -> F64:
        """Return how many mm each point (..., k, n, 2) moves along the plane's normal for 1 mm of path.

        One row for each row of the sweep. Zero or less is where planes cross.
        """
        return (
            self.advance[..., None]
            - self.turn_right[..., None] * points_mm[..., 0]
            - self.turn_up[..., None] * points_mm[..., 1]
        )


@dataclass(frozen=True, slots=True)
class Chart:
    """The shared frame of every surface of one port.

    Laid anew over many paths at once (``laid_over``) it has a leading axis on everything that follows the path.

    Attributes
    ----------
    path : Path
    rays : Rays
    distance_mm : (..., m) float
        Slabs, every knot among them.
    knots_mm : (..., i+1) float
        Where intervals meet: all stations of all stages and targets.
    knot_slab : (i+1,) int
        The slab at each knot.
    centre_mm, half_mm : (m, 2), (m,) float
        The spine.
    planes : Planes
        One at each slab.
    sweep : Sweep
    tolerance : Tolerance
    """

    path: Path
    rays: Rays
    distance_mm: F64
    knots_mm: F64
    knot_slab: Int
    centre_mm: F64
    half_mm: F64
    planes: Planes
    sweep: Sweep
    tolerance: Tolerance

    def tips_mm(self, rho_mm: F64) -> F64:
        """Return section points (..., m, n, 2) of distances (..., m, n)."""
        return self.rays.tips_mm(self.centre_mm, self.half_mm, rho_mm)

    def moments(self, rho_mm: F64) -> Moments:
        """Return the moments (..., m) of the polygons through the tips of distances (..., m, n).

        Green's theorem on the straight edges, about the spine's middle: twice the triangle from there to an edge is
        even in either of its two distances, so no tip is ever laid out. Many draws are taken a few at a time, which
        stay in the processor's cache.
        """
        rays, count = self.rays, rho_mm.shape[-1]
        foot = self.half_mm[:, None] * rays.foot
        ahead_u, ahead_v = rays.direction.T
        next_u, next_v, next_foot = (np.roll(x, -1, axis=-1) for x in (ahead_u, ahead_v, foot))
        both, onward, back = ahead_u * next_v - next_u * ahead_v, foot * next_v, next_foot * ahead_v
        draws = np.ascontiguousarray(rho_mm).reshape(-1, *rho_mm.shape[-2:])
        twice, first = np.empty(draws.shape[:2]), np.empty((*draws.shape[:2], 2))
        ones, along_u, along_v = np.ones(count), ahead_u.copy(), ahead_v.copy()
        for at in range(0, len(draws), TOGETHER):
            rho = draws[at : at + TOGETHER]
            cross = rho * both
            cross += onward
            last = cross[..., -1] * rho[..., 0]
            # all in one run, the last ray of a section with the first of the next, which is put right after
            flat = cross.reshape(-1)
            flat[:-1] *= rho.reshape(-1)[1:]
            cross[..., -1] = last
            cross -= back * rho
            # each tip belongs to the edge after it and to the one before
            edges = np.empty_like(cross)
            np.add(flat[1:], flat[:-1], out=edges.reshape(-1)[1:])
            np.add(cross[..., 0], cross[..., -1], out=edges[..., 0])
            of_feet = self.half_mm * (edges @ rays.foot)
            twice[at : at + TOGETHER] = 0.5 * (edges @ ones)
            edges *= rho
            first[at : at + TOGETHER, :, 0] = of_feet + edges @ along_u
            first[at : at + TOGETHER, :, 1] = edges @ along_v
        area = 0.5 * twice.reshape(rho_mm.shape[:-1])
        return Moments(area, first.reshape(*area.shape, 2) / 6.0 + area[..., None] * self.centre_mm)

    def swept_mm3(self, moments: Moments) -> F64:
        """Return the volume (..., i) that regions with these moments, one a slab, sweep between knots."""
        s = self.sweep
        area, first = moments.area_mm2[..., s.slab], moments.first_mm3[..., s.slab, :]
        rate = area * s.advance - first[..., 0] * s.turn_right - first[..., 1] * s.turn_up
        return np.add.reduceat(s.weight * rate, s.first_row, axis=-1)

    def laid_over(self, path: Path) -> Chart:
        """Return the chart on other paths (a leading axis) through the same stations.

        Every slab and knot keeps its share of the way between its two stations, and the spine its place in it.
        """
        distance, knots = (_carried(self.path, path, s) for s in (self.distance_mm, self.knots_mm))
        interval = self.path.interval_of(0.5 * (self.knots_mm[:-1] + self.knots_mm[1:]))
        sweep, planes = _sweep(path, distance, knots, self.knot_slab, interval)
        # a slab belongs to the stretch after it, as a station to the interval after it
        last_row = np.flatnonzero(np.diff(sweep.slab, append=len(self.distance_mm)))
        return Chart(
            path=path,
            rays=self.rays,
            distance_mm=distance,
            knots_mm=knots,
            knot_slab=self.knot_slab,
            centre_mm=self.centre_mm,
            half_mm=self.half_mm,
            planes=planes.at(last_row),
            sweep=sweep,
            tolerance=self.tolerance,
        )

    def slab_at(self, distance_mm: float) -> int:
        """Return the slab nearest to a distance."""
        return int(np.argmin(np.abs(self.distance_mm - distance_mm)))

    def spine_at(self, distance_mm: F64) -> tuple[F64, F64]:
        """Return centre (k, 2) and half length (k,) of the spine at knots of the chart."""
        slab = self.knot_slab[np.searchsorted(self.knots_mm, distance_mm - self.tolerance.length_mm)]
        return self.centre_mm[slab], self.half_mm[slab]


def lay_chart(
    path: Path,
    outlines: Sequence[Outline],
    *,
    more_knots_mm: Sequence[float] = (),
    resolution: Resolution = Resolution(),
) -> Chart:
    """Return the chart of a port from the outlines measured first, one at each station of the path.

    ``more_knots_mm`` are distances at which later surfaces have stations, or cuts begin and end.
    """
    size = path.length_mm + max(max(o.width_mm, o.height_mm) for o in outlines)
    tolerance = Tolerance.for_size(size)
    knots = _merged(path.distance_mm, more_knots_mm, tolerance.length_mm)
    step = np.diff(knots)
    halves = np.maximum(1, np.ceil(0.5 * step / resolution.slab_mm - 1e-9)).astype(np.intp)
    count = 2 * halves  # Simpson's rule wants an even number
    pieces = [a + (b - a) * np.arange(n) / n for a, b, n in zip(knots[:-1], knots[1:], count, strict=True)]
    distance = np.concatenate([*pieces, knots[-1:]])
    knot_slab = np.concatenate([[0], np.cumsum(count)])
    low = np.array([o.low_mm for o in outlines])
    high = np.array([o.high_mm for o in outlines])
    spine = np.column_stack([0.5 * (low + high), SPINE_HALF * (high[:, 0] - low[:, 0])])
    spine = shape_preserving(path.distance_mm, spine, distance)
    return Chart(
        path=path,
        rays=Rays.count(resolution.rays, tall=float(np.mean((high - low)[:, 1] / (high - low)[:, 0]))),
        distance_mm=frozen(distance),
        knots_mm=frozen(knots),
        knot_slab=knot_slab,
        centre_mm=frozen(spine[:, :2]),
        half_mm=frozen(spine[:, 2]),
        planes=path.planes(distance),
        sweep=_sweep(path, distance, knots, knot_slab, path.interval_of(0.5 * (knots[:-1] + knots[1:])))[0],
        tolerance=tolerance,
    )


def _merged(stations: F64, more: Sequence[float], near: float) -> F64:
    """Return the stations with the further places that fall within them and beside none of them."""
    inside = [s for s in more if stations[0] < s < stations[-1]]
    knots = list(stations)
    for s in sorted(inside):
        if min(abs(s - k) for k in knots) > near:
            knots.append(s)
    return np.sort(np.array(knots))


def _carried(path: Path, other: Path, distance_mm: F64) -> F64:
    """Return distances on other paths at the same shares of the way between stations."""
    i = path.interval_of(distance_mm)
    share = (distance_mm - path.distance_mm[i]) / np.diff(path.distance_mm)[i]
    return (1.0 - share) * other.distance_mm[..., i] + share * other.distance_mm[..., i + 1]


def _sweep(path: Path, distance: F64, knots: F64, knot_slab: Int, interval: Int) -> tuple[Sweep, Planes]:
    """Return the sweep, and the plane at each of its rows.

    ``interval`` is which of the path's the stretch after each knot but the last lies in.
    """
    first, last = knot_slab[:-1], knot_slab[1:]
    rows = last - first + 1
    slab = np.concatenate([np.arange(a, b + 1) for a, b in zip(first, last, strict=True)])
    first_row = np.concatenate([[0], np.cumsum(rows)[:-1]])
    knot_interval = np.repeat(np.arange(len(rows)), rows)
    step = np.diff(knots) / (rows - 1)  # of each stretch between knots
    place = np.arange(len(slab)) - first_row[knot_interval]
    end = (place == 0) | (place == rows[knot_interval] - 1)
    simpson = np.where(end, 1.0, np.where(place % 2 == 1, 4.0, 2.0)) / 3.0
    planes = path.planes(distance[..., slab], interval[knot_interval])
    sweep = Sweep(
        slab=slab,
        first_row=first_row,
        weight=frozen(simpson * step[..., knot_interval]),
        advance=frozen(np.einsum("...j,...j->...", planes.velocity, planes.normal)),
        turn_right=frozen(np.einsum("...j,...j->...", planes.right, planes.turning_per_mm)),
        turn_up=frozen(np.einsum("...j,...j->...", planes.up, planes.turning_per_mm)),
    )
    return sweep, planes
