"""How far does the roof stand over the line, and how large is each bulge, in every draw?

The places are those of the port itself: the roof ends where it ends there, and a bulge is looked for round where
it was found. How high the roof is over them, and how far it stands out of its bridge, is each draw's own.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from portgeom.geometry.arrays import F64, Bool, Int
from portgeom.geometry.chart import Chart
from portgeom.job.values import Limits
from portgeom.model.bridge import FAR_BELOW_MM, bridge_columns, bridge_lift_mm, highest_chords
from portgeom.model.edge import bridged_across, roof_span_mm
from portgeom.model.lofted import LoftedPort, LoftedStage
from portgeom.model.wanted import Wanted
from portgeom.questions.shape.bulges import Bulge

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
    tips : (q,) int
        Rays whose tips are the upper boundary, from right to left.
    slabs : (j,) int
        Those where the roof stands nearly as far over the line as anywhere.
    contends : (j, q) bool
        Which tips of theirs do so.
    columns : (k,) float
        Of the bridge, in half lengths of the spine.
    limits : Limits
    regions : tuple of Region
        One a bulge.
    """

    last: int
    tips: Int
    slabs: Int
    contends: Bool
    columns: F64
    limits: Limits
    regions: tuple[Region, ...]


@dataclass(frozen=True, slots=True)
class RoofFigures:
    """The peak's height over the line (b,), and every bulge's height (b, i) and volume (b, i).

    ``under_bridge_mm3`` (b,) is all that lies between roof and bridge, however thin; nothing without a bulge.
    """

    peak_mm: F64
    stands_out_mm: F64
    bulge_mm3: F64
    under_bridge_mm3: F64


def roof_draws(
    port: LoftedPort, stage: LoftedStage, wanted: Wanted, bulges: tuple[Bulge, ...], limits: Limits
) -> RoofDraws:
    """Return what is asked of the draws of a stage; the port, stage and bulges are those of the coarse chart."""
    chart, last = port.chart, wanted.roof_end.slab
    upper = np.flatnonzero(chart.rays.direction[:, 1] > 1e-9)
    points = stage.surface.points_mm[: last + 1, upper, 0]
    spans = np.array([roof_span_mm(bridged_across(e)) for e in stage.edges()[: last + 1]])
    roof = (points >= spans[:, :1]) & (points <= spans[:, 1:])
    proud = np.where(
        roof, _proud_mm(chart, upper, np.arange(last + 1), stage.surface.rho_mm[None], wanted.rho_mm[None])[0], -np.inf
    )
    near = proud > proud.max() - CONTENDS_MM
    slabs = np.flatnonzero(near.any(axis=1))
    columns = bridge_columns(chart)
    across = chart.centre_mm[:, :1] + chart.half_mm[:, None] * columns
    regions = tuple(_region(chart.distance_mm[: last + 1], across, b) for b in bulges)
    return RoofDraws(last, upper, slabs, near[slabs], columns, limits, regions)


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


def roof_figures(r: RoofDraws, chart: Chart, rho_mm: F64, points_mm: F64, wanted_mm: F64) -> RoofFigures:
    """Return the roof's figures in draws.

    Parameters
    ----------
    chart : Chart
        Laid over the draws' paths.
    rho_mm, wanted_mm : (b, m, n) float
        Present and wanted distances.
    points_mm : (b, m, n, 2) float
        Tips of the present ones.
    """
    proud = _proud_mm(chart, r.tips, r.slabs, rho_mm, wanted_mm)
    peak = np.where(r.contends, proud, -np.inf).max(axis=(1, 2))
    if not r.regions:
        none = np.zeros((len(rho_mm), 0))
        return RoofFigures(peak, none, none, np.zeros(len(rho_mm)))
    lift = _lift_mm(r, chart, points_mm[:, : r.last + 1])
    found = [_bulge(r, chart, region, lift, points_mm) for region in r.regions]
    bulges = (np.stack(rows, axis=-1) for rows in zip(*found, strict=True))
    stands_out, volume = bulges
    return RoofFigures(peak, stands_out, volume, _under_bridge_mm3(r, chart, lift, points_mm))


def _proud_mm(chart: Chart, tips: Int, slabs: Int, rho_mm: F64, wanted_mm: F64) -> F64:
    """Return how far the wanted boundary stands above the present one, straight over each of its tips (b, j, q).

    Over the spine both are met by the same upright ray. Round its ends the wanted boundary is carried straight
    between the two tips that stand beside the place.
    """
    rays = chart.rays
    rho, wanted = rho_mm[:, slabs], wanted_mm[:, slabs]
    proud = wanted[..., tips] - rho[..., tips]
    up = np.arange(rays.total)[rays.up]
    centre, half = chart.centre_mm[slabs], chart.half_mm[slabs]
    for side, outer in ((1.0, tips[tips < up[0]][::-1]), (-1.0, tips[tips > up[-1]])):
        run = np.concatenate([up[:1] if side > 0.0 else up[-1:], outer])  # from the spine's end outwards
        u, v = _tips(chart, run, centre, half, wanted[..., run], side)
        own, height = _tips(chart, outer, centre, half, rho[..., outer], side)
        cell = np.clip((u[:, :, None, :] <= own[..., None]).sum(axis=-1) - 1, 0, len(run) - 2)
        u0, u1, v0, v1 = (np.take_along_axis(x, cell + one, axis=-1) for x in (u, v) for one in (0, 1))
        gap = u1 - u0
        share = np.clip(np.where(gap > 0.0, (own - u0) / np.where(gap > 0.0, gap, 1.0), 0.0), 0.0, 1.0)
        proud[..., np.searchsorted(tips, outer)] = v0 + share * (v1 - v0) - height
    return proud


def _tips(chart: Chart, rays: Int, centre: F64, half: F64, rho: F64, side: float) -> tuple[F64, F64]:
    """Return u, counted outwards to one side, and v of tips of some rays."""
    foot, ahead = chart.rays.foot[rays], chart.rays.direction[rays]
    u = centre[:, :1] + half[:, None] * foot + rho * ahead[:, 0]
    return side * u, centre[:, 1:] + rho * ahead[:, 1]


def _lift_mm(r: RoofDraws, chart: Chart, points: F64) -> F64:
    """Return how far the bridge runs above the roof (b, j, k)."""
    across = (chart.centre_mm[:, :1] + chart.half_mm[:, None] * r.columns)[: r.last + 1]
    height = _heights_mm(chart, r, across, points)
    wall = np.isnan(height)
    # only where bulges are looked for is it asked how a section is hollow of itself
    rows = np.unique(np.concatenate([np.arange(r.last + 1)[region.slabs] for region in r.regions]))
    sideways = np.where(wall, FAR_BELOW_MM, height)[:, rows, :, None]
    hollow = np.zeros_like(height)
    hollow[:, rows] = (highest_chords(across[rows], sideways, np.inf) - sideways)[..., 0]
    return bridge_lift_mm(
        chart.distance_mm[:, : r.last + 1],
        r.columns,
        height,
        hollow,
        r.limits.straightedge_mm,
        chart.tolerance,
        ends_between=True,
    )


def _heights_mm(chart: Chart, r: RoofDraws, across: F64, points: F64) -> F64:
    """Return the height (b, j, k) of the upper boundary over the columns; NaN beyond the walls."""
    rays = chart.rays
    up = np.arange(rays.total)[rays.up]
    flat = points[..., up[::-1], 1]
    outer = (len(r.columns) - len(up)) // 2
    sides = []
    for side, run in ((-1.0, r.tips[r.tips >= up[-1]]), (1.0, r.tips[r.tips <= up[0]][::-1])):
        u = np.maximum.accumulate(side * points[..., run, 0], axis=-1)
        v = points[..., run, 1]
        wanted = side * across[:, :outer] if side < 0.0 else across[:, len(r.columns) - outer :]
        beyond = wanted > u[..., -1:]
        cell = np.clip((u[..., None, :] <= wanted[..., :, None]).sum(axis=-1) - 1, 0, len(run) - 2)
        u0, u1, v0, v1 = (np.take_along_axis(x, cell + one, axis=-1) for x in (u, v) for one in (0, 1))
        gap = u1 - u0
        share = np.where(gap > 0.0, (wanted - u0) / np.where(gap > 0.0, gap, 1.0), 0.0)
        sides.append(np.where(beyond, np.nan, v0 + share * (v1 - v0)))
    return np.concatenate([sides[0], flat, sides[1]], axis=-1)


def _under_bridge_mm3(r: RoofDraws, chart: Chart, lift: F64, points: F64) -> F64:
    """Return the volume (b,) between the roof and its bridge."""
    slabs = np.arange(r.last + 1)
    across = chart.centre_mm[slabs, :1] + chart.half_mm[slabs, None] * r.columns
    area = np.sum(np.nan_to_num(lift, nan=0.0) * np.gradient(across, axis=1), axis=-1)
    step = np.gradient(chart.distance_mm[:, slabs], axis=1) * _stretch(chart, slabs, points)
    return np.asarray(np.sum(area * step, axis=1))


def _stretch(chart: Chart, slabs: Int, points: F64) -> F64:
    """Return how much longer (b, j) the crown's way is than the path's, at some slabs."""
    sweep = chart.sweep
    row = np.searchsorted(sweep.slab, slabs)
    crown = points[:, slabs, chart.rays.fan + chart.rays.flat // 2]
    return sweep.advance[:, row] - sweep.turn_right[:, row] * crown[..., 0] - sweep.turn_up[:, row] * crown[..., 1]


def _bulge(r: RoofDraws, chart: Chart, region: Region, lift: F64, points: F64) -> tuple[F64, F64]:
    """Return height and volume (b,) of what stands out in a region by more than the limit."""
    patch = lift[:, region.slabs, region.columns]
    fine = region.along @ patch @ region.across.T
    slabs = np.arange(lift.shape[1])[region.slabs]
    stretch = _stretch(chart, slabs, points)
    step = np.repeat(np.diff(chart.distance_mm[:, slabs], axis=1), FINER, axis=1) / FINER
    length = step * (stretch @ region.along.T)
    out = np.where(fine > r.limits.bulge_mm, fine, 0.0)
    return patch.max(axis=(1, 2)), np.einsum("bf,bf->b", length, out @ region.width_mm)
