"""Which places of a port's wall must be watched, how much metal must stay behind each, and how sure is that?"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from portgeom.geometry.arrays import F64, Int, frozen
from portgeom.geometry.surface import Surface
from portgeom.questions.propose.sureness import WallDraws
from portgeom.questions.walls.behind import Behind

SPARE_MM = 1.0
"""Places are watched so much further off than the lines could ever bring the wall."""

BETWEEN_MM = 0.006
"""A wall may be so much thinner between the places watched than at them, and a line is rounded besides."""

SECTOR = 8
"""Of so many neighbouring rays only the thinnest place has a row of its own."""


@dataclass(frozen=True, slots=True)
class Gauge:
    """The places watched for one hazard.

    Attributes
    ----------
    behind : Behind
    slab, ray : (c,) int
    sd_mm : float
        Standard deviation of the wall.
    need_mm : (c,) float
        Metal that must stay: the limit and the margin, or what there is now where that is less already.
    short_mm : float
        By how much the port as it is lacks limit and margin; 0 where it does not.
    """

    behind: Behind
    slab: Int
    ray: Int
    sd_mm: float
    need_mm: F64
    short_mm: float

    def wall_mm(self, surface: Surface, rho_mm: F64) -> F64:
        """Return the metal left at the places watched, infinite where nothing is known."""
        if not len(self.slab):
            return np.empty(0)
        chart = surface.chart
        rho = rho_mm[self.slab, self.ray]
        rays, planes = chart.rays, chart.planes
        u = (
            chart.centre_mm[self.slab, 0]
            + chart.half_mm[self.slab] * rays.foot[self.ray]
            + rho * rays.direction[self.ray, 0]
        )
        v = chart.centre_mm[self.slab, 1] + rho * rays.direction[self.ray, 1]
        world = planes.origin_mm[self.slab] + u[:, None] * planes.right[self.slab] + v[:, None] * planes.up[self.slab]
        wall = self.behind.wall_mm(world)
        return np.where(np.isnan(wall), np.inf, wall)


def gauges_of(surface: Surface, draws: Sequence[WallDraws], *, sure: float, reach_mm: float) -> tuple[Gauge, ...]:
    """Return what to watch for every hazard that may not be opened.

    Parameters
    ----------
    surface : Surface
        As it is.
    draws : sequence of WallDraws
        How sure the wall to each hazard is.
    sure : float
        How many standard deviations are kept on top of the limit.
    reach_mm : float
        The most that any place may move.
    """
    nodes = surface.world_mm.reshape(-1, 3)
    made = []
    for known in draws:
        hazard = known.behind
        if hazard.hazard.open_allowed:
            continue
        wall = hazard.wall_mm(nodes).reshape(surface.rho_mm.shape)
        wall = np.where(np.isnan(wall), np.inf, wall)
        need = hazard.stop_mm + known.margin_mm(sure) + BETWEEN_MM
        slab, ray = np.nonzero(wall < need + reach_mm + SPARE_MM)
        now = wall[slab, ray]
        short = max(0.0, need - BETWEEN_MM - float(now.min(initial=need)))
        made.append(Gauge(hazard, slab, ray, known.sd_mm, frozen(np.minimum(need, now)), short))
    return tuple(made)


def thinnest(gauge: Gauge, margin_mm: F64, within_mm: float) -> Int:
    """Return which places need rows: the thinnest of each slab and sector that a step may bring to its limit."""
    near = np.flatnonzero(margin_mm < within_mm)
    order = near[np.lexsort((margin_mm[near], gauge.ray[near] // SECTOR, gauge.slab[near]))]
    key = np.stack([gauge.slab[order], gauge.ray[order] // SECTOR], axis=1)
    first = np.ones(len(order), dtype=bool)
    first[1:] = (np.diff(key, axis=0) != 0).any(axis=1)
    return order[first]
