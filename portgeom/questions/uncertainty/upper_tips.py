"""Where do the tips that are the upper boundary lie in many draws, and how far is one boundary over another?

Arrays here have the draws innermost: sections are few and small, so every step then runs through many draws at once.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from portgeom.geometry.arrays import F64, Bool, Int
from portgeom.geometry.chart import Chart


@dataclass(frozen=True, slots=True)
class UpperTips:
    """Tips u and v (m, q, b) of rays that are the upper boundary, from right to left, at some slabs of b draws.

    ``up`` says which of them point straight up.
    """

    u_mm: F64
    v_mm: F64
    up: slice

    def at(self, slabs: Int) -> UpperTips:
        """Return the tips at some of the slabs."""
        return UpperTips(self.u_mm[slabs], self.v_mm[slabs], self.up)

    def outwards(self, side: float) -> Int:
        """Return the tips from the spine's end out to one side: 1 to the right, -1 to the left."""
        return np.arange(self.up.start, -1, -1) if side > 0.0 else np.arange(self.up.stop - 1, self.u_mm.shape[1])


def upper_rays(chart: Chart) -> slice:
    """Return the rays whose tips are the upper boundary: they follow on each other."""
    upper = np.flatnonzero(chart.rays.direction[:, 1] > 1e-9)
    return slice(int(upper[0]), int(upper[-1]) + 1)


def upper_tips(chart: Chart, rho_mm: F64, *, slabs: int) -> UpperTips:
    """Return the upper tips of draws with distances (b, m, n) at the first slabs."""
    upper, rays = upper_rays(chart), chart.rays
    rho = np.ascontiguousarray(np.moveaxis(rho_mm[:, :slabs, upper], 0, -1))
    foot = chart.half_mm[:slabs, None] * rays.foot[upper]
    ahead_u, ahead_v = (x[:, None] for x in rays.direction[upper].T)
    u = rho * ahead_u
    u += (chart.centre_mm[:slabs, :1] + foot)[..., None]
    rho *= ahead_v
    rho += chart.centre_mm[:slabs, 1, None, None]
    return UpperTips(u, rho, slice(rays.up.start - upper.start, rays.up.stop - upper.start))


def proud_mm(own: UpperTips, wanted: UpperTips, among: Bool) -> F64:
    """Return how far the wanted boundary stands above the present one, straight over each of its tips (j, q, b).

    Over the spine both are met by the same upright ray. Round its ends the wanted boundary is carried straight
    between the two tips that stand beside the place. Tips that are not ``among`` (j, q) those asked get minus infinity.
    """
    proud = np.full(own.v_mm.shape, -np.inf)
    proud[:, own.up] = wanted.v_mm[:, own.up] - own.v_mm[:, own.up]
    for side in (1.0, -1.0):
        run = own.outwards(side)
        outer = run[1:][among[:, run[1:]].any(axis=0)]
        slabs = np.flatnonzero(among[:, outer].any(axis=1))
        if not len(outer):
            continue
        place, height = (x[slabs[:, None], outer] for x in (own.u_mm, own.v_mm))
        u, v = (x[slabs[:, None], run] for x in (wanted.u_mm, wanted.v_mm))
        proud[slabs[:, None], outer] = straight_between_tips(side * u, v, side * place) - height
    proud[~among] = -np.inf
    return proud


def straight_between_tips(u_mm: F64, v_mm: F64, at_mm: F64) -> F64:
    """Return the height (m, p, b) straight between tips (m, q, b), counted outwards, over places (m, p, b or 1).

    Beyond the last tip, and before the first, it stays.
    """
    count = np.zeros(np.broadcast_shapes(at_mm.shape, (*at_mm.shape[:-1], u_mm.shape[-1])), dtype=np.int16)
    for k in range(u_mm.shape[1]):
        count += u_mm[:, k, None] <= at_mm
    cell = np.clip(count.astype(np.intp) - 1, 0, u_mm.shape[1] - 2)
    u0, u1, v0, v1 = (np.take_along_axis(x, cell + one, axis=1) for x in (u_mm, v_mm) for one in (0, 1))
    gap = u1 - u0
    share = np.clip(np.where(gap > 0.0, (at_mm - u0) / np.where(gap > 0.0, gap, 1.0), 0.0), 0.0, 1.0)
    height: F64 = v0 + share * (v1 - v0)
    return height
