"""How far does the roof stand over the line, and how large is each bulge, in some draws?

Arrays have the draws innermost, as in ``upper_tips``.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from portgeom.geometry.arrays import F64
from portgeom.geometry.chart import Chart
from portgeom.model.bridge import FAR_BELOW_MM, bridge_lift_mm, highest_chords
from portgeom.questions.uncertainty.roof_draws import FINER, Region, RoofDraws
from portgeom.questions.uncertainty.upper_tips import UpperTips, proud_mm, straight_between_tips, upper_tips


@dataclass(frozen=True, slots=True)
class RoofFigures:
    """The peak's height over the line (b,), and every bulge's height (b, i) and volume (b, i).

    ``under_bridge_mm3`` (b,) is all that lies between roof and bridge, however thin; nothing without a bulge, or where
    it was not asked for.
    """

    peak_mm: F64
    stands_out_mm: F64
    bulge_mm3: F64
    under_bridge_mm3: F64


def roof_figures(r: RoofDraws, chart: Chart, rho_mm: F64, wanted_mm: F64, *, under_bridge: bool) -> RoofFigures:
    """Return the roof's figures in draws.

    Parameters
    ----------
    chart : Chart
        Laid over the draws' paths.
    rho_mm, wanted_mm : (b, m, n) float
        Present and wanted distances.
    under_bridge : bool
        Whether to tell what lies between roof and bridge.
    """
    own = upper_tips(chart, rho_mm, slabs=r.last + 1)
    line = upper_tips(chart, wanted_mm, slabs=int(r.slabs[-1]) + 1).at(r.slabs)
    peak = proud_mm(own.at(r.slabs), line, r.contends).max(axis=(0, 1))
    nothing = np.zeros(len(rho_mm))
    if not r.regions:
        return RoofFigures(peak, np.zeros((len(rho_mm), 0)), np.zeros((len(rho_mm), 0)), nothing)
    lift = _lift_mm(r, chart, own)
    stretch = _stretch(r, chart, own)
    found = [_bulge(r, chart, region, lift, stretch) for region in r.regions]
    stands_out, volume = (np.stack(rows, axis=-1) for rows in zip(*found, strict=True))
    under = _under_bridge_mm3(r, chart, lift, stretch) if under_bridge else nothing
    return RoofFigures(peak, stands_out, volume, under)


def _lift_mm(r: RoofDraws, chart: Chart, own: UpperTips) -> F64:
    """Return how far the bridge runs above the roof (j, k, b)."""
    across = (chart.centre_mm[:, :1] + chart.half_mm[:, None] * r.columns)[: r.last + 1]
    height = _heights_mm(across, own)
    # only where bulges are looked for is it asked how a section is hollow of itself
    rows = np.unique(np.concatenate([np.arange(r.last + 1)[region.slabs] for region in r.regions]))
    sideways = np.where(np.isnan(height[rows]), FAR_BELOW_MM, height[rows])
    # its columns are the rows that chords run over
    by_column = np.swapaxes(sideways, 1, 2)[..., None]
    over = highest_chords(across[rows][:, None], by_column, np.inf)[..., 0]
    hollow = np.zeros_like(height)
    hollow[rows] = np.swapaxes(over, 1, 2) - sideways
    lift = bridge_lift_mm(
        chart.distance_mm[:, : r.last + 1],
        r.columns,
        np.moveaxis(height, -1, 0),
        np.moveaxis(hollow, -1, 0),
        r.limits.straightedge_mm,
        chart.tolerance,
        ends_between=True,
    )
    return np.moveaxis(lift, 0, -1)


def _heights_mm(across: F64, own: UpperTips) -> F64:
    """Return the height (j, k, b) of the upper boundary over columns (j, k); NaN beyond the walls."""
    flat = own.v_mm[:, own.up][:, ::-1]
    outer = (across.shape[1] - flat.shape[1]) // 2
    sides = []
    for side, columns in ((-1.0, slice(0, outer)), (1.0, slice(across.shape[1] - outer, None))):
        run = own.outwards(side)
        u = np.maximum.accumulate(side * own.u_mm[:, run], axis=1)
        wanted = side * across[:, columns, None]
        height = straight_between_tips(u, own.v_mm[:, run], wanted)
        height[wanted > u[:, -1:]] = np.nan
        sides.append(height)
    return np.concatenate([sides[0], flat, sides[1]], axis=1)


def _stretch(r: RoofDraws, chart: Chart, own: UpperTips) -> F64:
    """Return how much longer (j, b) the crown's way is than the path's."""
    sweep = chart.sweep
    row = np.searchsorted(sweep.slab, np.arange(r.last + 1))
    crown = own.up.start + chart.rays.flat // 2
    advance, right, up = (x[:, row].T for x in (sweep.advance, sweep.turn_right, sweep.turn_up))
    return advance - right * own.u_mm[:, crown] - up * own.v_mm[:, crown]


def _under_bridge_mm3(r: RoofDraws, chart: Chart, lift: F64, stretch: F64) -> F64:
    """Return the volume (b,) between the roof and its bridge."""
    slabs = np.arange(r.last + 1)
    across = chart.centre_mm[slabs, :1] + chart.half_mm[slabs, None] * r.columns
    area = np.sum(lift * np.gradient(across, axis=1)[..., None], axis=1)
    step = np.gradient(chart.distance_mm[:, slabs], axis=1).T * stretch
    return np.asarray(np.sum(area * step, axis=0))


def _bulge(r: RoofDraws, chart: Chart, region: Region, lift: F64, stretch: F64) -> tuple[F64, F64]:
    """Return height and volume (b,) of what stands out in a region by more than the limit."""
    patch = np.ascontiguousarray(np.moveaxis(lift[region.slabs, region.columns], -1, 0))
    fine = region.along @ patch @ region.across.T
    step = np.repeat(np.diff(chart.distance_mm[:, : r.last + 1][:, region.slabs], axis=1), FINER, axis=1) / FINER
    length = step * (region.along @ stretch[region.slabs]).T
    fine[fine <= r.limits.bulge_mm] = 0.0
    return patch.max(axis=(1, 2)), np.vecdot(length, fine @ region.width_mm)
