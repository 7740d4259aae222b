"""What does a cutter cut that is led along a run?

A cutter of revolution whose axis runs along the port is a disc in every section plane it crosses.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from portgeom.geometry.arrays import F64, Int
from portgeom.geometry.chart import Chart
from portgeom.geometry.cutter import CutterBody
from portgeom.job.values import Side
from portgeom.questions.cutting.between_rays import FineRays
from portgeom.questions.cutting.lead import Lead
from portgeom.questions.cutting.side import TURN

MARGIN_RAYS = 2
"""Rays beside those that a run's discs meet that are looked at too."""


STANDS_OUT_MM = 0.001
"""A disc that stands out of the largest of its slab by less is left out: no gauge shows it."""

TOGETHER = 8
"""Runs side by side that are cut at once."""

FANNED = 1.5
"""How much further along the path, than planes parallel to those at the surface, a cutter is looked for."""


@dataclass(frozen=True, slots=True)
class Swept:
    """Distances (m, n * PER_RAY) after a run, and how high (m,) its groove reaches over its own line.

    NaN where it cuts nothing.
    """

    fine_mm: F64
    top_mm: F64


@dataclass(frozen=True, slots=True)
class _Discs:
    """Discs in section planes (k,): in which slab, where in its plane, how large, what share of the slab they fill.

    Slab by slab.
    """

    slab: Int
    u: F64
    v: F64
    radius: F64
    cover: F64

    def chosen(self, which: Int) -> _Discs:
        return _Discs(self.slab[which], self.u[which], self.v[which], self.radius[which], self.cover[which])


@dataclass(frozen=True, slots=True)
class _Met:
    """Discs (k, p) in which p runs, set at one place after the other, meet the planes of slabs (k,), slab by slab.

    ``cover`` is 0 where the cutter does not reach the plane, ``away_mm`` (k,) how far along the path it is set.
    """

    slab: Int
    away_mm: F64
    u: F64
    v: F64
    radius: F64
    cover: F64

    def chosen(self, which: Int, run: Int) -> _Discs:
        one = self.slab[which], self.u[which, run], self.v[which, run], self.radius[which, run]
        return _Discs(*one, self.cover[which, run])


def swept(rays: FineRays, side: Side, lead: Lead, axis_mm: F64, along_mm: F64, body: CutterBody, fine_mm: F64) -> Swept:
    """Return distances after a run: the greater of those before and the far side of every disc.

    Parameters
    ----------
    lead, axis_mm : Lead, (K,) float
        Where the cutter's widest part is set, and how high its axis.
    along_mm : (m,) float
        The run's own line.
    fine_mm : (m, n * PER_RAY) float

    Notes
    -----
    The cutter's axis stands square to the section it is set in; in the planes before and after it, its disc has
    the radius of its profile there. A flat face that ends between two slabs fills the nearer one in part, so
    that the volume is that of the face's own place.
    """
    met = _met(rays.chart, lead, np.zeros((len(axis_mm), 1)), axis_mm[:, None], body)
    out = fine_mm.copy()
    top = np.full(len(out), -np.inf)
    which = np.flatnonzero(met.cover[:, 0])
    if len(which):
        discs = met.chosen(which, np.zeros(len(which), dtype=np.intp))
        (a, b), (c, d) = TURN[side]
        square = discs.radius**2 - (a * discs.u + b * discs.v - along_mm[discs.slab]) ** 2
        reach = c * discs.u + d * discs.v + np.sqrt(np.maximum(square, 0.0))
        whole = (square >= 0.0) & (discs.cover == 1.0)
        np.maximum.at(top, discs.slab[whole], reach[whole])
        _cut(rays.chart, rays.foot, rays.direction, _outermost(discs), out)
    return Swept(out, np.where(np.isfinite(top), top, np.nan))


def swept_over_mm(
    chart: Chart, side: Side, lead: Lead, aside_mm: F64, axis_mm: F64, body: CutterBody, rho_mm: F64
) -> F64:
    """Return distances (m, n) after many runs side by side, each of them as in ``swept``.

    Of every run only the disc set nearest to a slab and the one that reaches highest there are taken: the flank
    between them is its neighbours'.

    Parameters
    ----------
    lead : Lead
        The run all others are beside.
    aside_mm, axis_mm : (K, p) float
        How far along the side from it each run is, and how high the axis there; NaN where it is lifted off.
    """
    out = rho_mm.copy()
    met = _met(chart, lead, aside_mm, axis_mm, body)
    if not len(met.slab):
        return out
    along, up = TURN[side][1]
    reach = np.where(met.cover > 0.0, along * met.u + up * met.v + met.radius, -np.inf)
    first = np.flatnonzero(np.diff(met.slab, prepend=-1))
    last = np.append(first[1:], len(met.slab))
    nearest = np.array([a + np.argmin(met.away_mm[a:b]) for a, b in zip(first, last, strict=True)])
    highest = np.array([a + np.argmax(reach[a:b], axis=0) for a, b in zip(first, last, strict=True)])
    for start in range(0, reach.shape[1], TOGETHER):
        # neighbours meet the same few rays
        runs = np.arange(start, min(start + TOGETHER, reach.shape[1]))
        both = np.concatenate([np.repeat(nearest[:, None], len(runs), axis=1), highest[:, runs]], axis=1)
        run = np.broadcast_to(np.concatenate([runs, runs]), both.shape)
        kept = met.cover[both, run] > 0.0
        kept[:, len(runs) :] &= highest[:, runs] != nearest[:, None]
        if kept.any():
            _cut(chart, chart.rays.foot, chart.rays.direction, met.chosen(both[kept], run[kept]), out)
    return out


def _met(chart: Chart, lead: Lead, aside: F64, axis: F64, body: CutterBody) -> _Met:
    """Return every disc in which a cutter led along runs meets a section plane."""
    planes, s, path = chart.planes, chart.distance_mm, lead.distance_mm
    reach = FANNED * max(body.widest_mm, body.head_mm - body.widest_mm) / float(lead.stretch.min())
    first, last = np.searchsorted(path, s - reach), np.searchsorted(path, s + reach, side="right")
    count = last - first
    slab = np.repeat(np.arange(len(s)), count)
    k = np.arange(count.sum()) - np.repeat(np.cumsum(count) - count, count) + first[slab]
    gap, across, up = lead.base_mm[k] - planes.origin_mm[slab], lead.across[k], lead.up[k]
    ahead, u, v = (
        np.einsum("ki,ki->k", gap, way)[:, None]
        + aside[k] * np.einsum("ki,ki->k", across, way)[:, None]
        + axis[k] * np.einsum("ki,ki->k", up, way)[:, None]
        for way in (planes.normal[slab], planes.right[slab], planes.up[slab])
    )
    behind_tip = body.widest_mm + ahead
    cell = np.gradient(s)[slab][:, None]
    cover = np.isfinite(behind_tip).astype(np.float64)
    for face, depth in ((0.0, behind_tip), (body.head_mm, body.head_mm - behind_tip)):
        if body.radius_at_mm(np.array(face)) > 0.0:
            cover *= np.clip(np.nan_to_num(depth) / cell + 0.5, 0.0, 1.0)
        else:
            cover[depth < 0.0] = 0.0
    radius = body.radius_at_mm(np.clip(np.nan_to_num(behind_tip), 0.0, body.head_mm))
    return _Met(slab, np.abs(path[k] - s[slab]), u, v, radius, cover)


def _outermost(discs: _Discs) -> _Discs:
    """Return discs without those that lie within the largest of their slab."""
    order = np.lexsort((-discs.radius * discs.cover, discs.slab))
    discs = discs.chosen(order)
    first = np.flatnonzero(np.diff(discs.slab, prepend=-1))
    largest = np.repeat(first, np.diff(first, append=len(discs.slab)))
    away = np.hypot(discs.u - discs.u[largest], discs.v - discs.v[largest])
    within = (away + discs.radius <= discs.radius[largest] + STANDS_OUT_MM) & (discs.cover[largest] == 1.0)
    within[first] = False
    return discs.chosen(np.flatnonzero(~within))


def _cut(chart: Chart, foot: F64, direction: F64, discs: _Discs, rho_mm: F64) -> None:
    """Move distances (m, n) along the rays with these feet and directions out to the far side of every disc."""
    first = np.flatnonzero(np.diff(discs.slab, prepend=-1))
    count = np.diff(first, append=len(discs.slab))
    window = _window(chart, discs, first, len(foot) // chart.rays.total)
    ahead_u, ahead_v = direction[window].T
    foot_u = chart.half_mm[:, None] * foot[window]
    foot_ahead, foot_aside = foot_u * ahead_u, foot_u * ahead_v
    far_mm = rho_mm[:, window]
    from_centre_u = (discs.u - chart.centre_mm[discs.slab, 0])[:, None]
    from_centre_v = (discs.v - chart.centre_mm[discs.slab, 1])[:, None]
    rank = np.arange(len(discs.slab)) - np.repeat(first, count)
    for r in range(int(count.max())):
        one = np.flatnonzero(rank == r)
        slab, u, v = discs.slab[one], from_centre_u[one], from_centre_v[one]
        square = discs.radius[one, None] ** 2 - (u * ahead_v - v * ahead_u - foot_aside[slab]) ** 2
        far = u * ahead_u + v * ahead_v - foot_ahead[slab] + np.sqrt(np.maximum(square, 0.0))
        before = far_mm[slab]
        deeper = np.maximum(far - before, 0.0)
        deeper *= (square >= 0.0) * discs.cover[one, None]
        far_mm[slab] = before + deeper
    rho_mm[:, window] = far_mm


def _window(chart: Chart, discs: _Discs, first: Int, per_ray: int) -> Int:
    """Return all rays (w,) from the first to the last that a disc can meet."""
    slab = discs.slab[first]
    u, v = discs.u[first], discs.v[first]
    count = np.diff(first, append=len(discs.slab))
    away = np.hypot(discs.u - np.repeat(u, count), discs.v - np.repeat(v, count)) + discs.radius
    radius = np.maximum.reduceat(away, first)[:, None]
    ahead_u, ahead_v = chart.rays.direction.T
    from_u = (u - chart.centre_mm[slab, 0])[:, None] - chart.half_mm[slab, None] * chart.rays.foot
    from_v = (v - chart.centre_mm[slab, 1])[:, None]
    meets = np.abs(from_u * ahead_v - from_v * ahead_u) <= radius
    meets &= from_u * ahead_u + from_v * ahead_v + radius > 0.0
    met = np.flatnonzero(meets.any(axis=0))
    total, every = chart.rays.total, chart.rays.total * per_ray
    if not len(met):
        return np.arange(0)
    # the longest run of rays that meet nothing lies opposite; the window is the rest
    gap = np.diff(met, append=met[0] + total)
    opposite = int(np.argmax(gap))
    start = int(met[(opposite + 1) % len(met)]) - MARGIN_RAYS
    length = total - int(gap[opposite]) + 2 * MARGIN_RAYS
    return (start * per_ray + np.arange(min(every, length * per_ray + 1))) % every
