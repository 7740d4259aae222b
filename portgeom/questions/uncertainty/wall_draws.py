"""How much metal is left behind the walls in every draw: now, and once the port is as wanted?

Only the places of the coarse chart that are nearest to a hazard in the port itself are asked again. Hazards lie where
the job says; what a casting may have shifted them by is taken off already. A hazard that is known from thickness
readings alone is left out: its readings were taken on the port as it is, wherever that may be.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from portgeom.geometry.arrays import F64, Int
from portgeom.geometry.chart import Chart
from portgeom.questions.walls.behind import Behind
from portgeom.questions.walls.plan import TARGET

CONTENDS_MM = 4.0
"""A place with so much more metal than the least is the least of hardly any draw."""

NEAREST, MOST_PLACES = 8, 32
"""Places asked again in every draw: the nearest ones, and as many as that of the others that contend, evenly."""


@dataclass(frozen=True, slots=True)
class WallPlaces:
    """The places (p,) of one surface that are nearest to one hazard: slabs and rays."""

    hazard: Behind
    state: str
    slab: Int
    ray: Int

    @property
    def wanted(self) -> bool:
        """Return whether the surface is the port wanted, and not the stage."""
        return self.state == TARGET


def wall_places(chart: Chart, rho_mm: F64, hazards: Sequence[Behind], state: str) -> tuple[WallPlaces, ...]:
    """Return where a surface (m, n) on a chart is nearest to each hazard that has a place of its own."""
    nodes = chart.planes.world_mm(chart.tips_mm(rho_mm))
    found = []
    for hazard in hazards:
        if hazard.readings is not None:
            continue
        wall = hazard.wall_mm(nodes.reshape(-1, 3))
        nearest = np.argsort(wall, kind="stable")
        contend = np.sort(nearest[NEAREST : np.count_nonzero(wall <= wall.min() + CONTENDS_MM)])
        step = max(1, -(-len(contend) // (MOST_PLACES - NEAREST)))
        slab, ray = np.unravel_index(np.concatenate([nearest[:NEAREST], contend[::step]]), rho_mm.shape)
        found.append(WallPlaces(hazard, state, slab, ray))
    return tuple(found)


def least_walls_mm(places: WallPlaces, chart: Chart, rho_mm: F64) -> F64:
    """Return the least wall (b,) of draws with distances (b, m, n) on their own paths."""
    rays, planes, j = chart.rays, chart.planes, places.slab
    rho = rho_mm[:, j, places.ray]
    ahead = rays.direction[places.ray]
    u = chart.centre_mm[j, 0] + chart.half_mm[j] * rays.foot[places.ray] + rho * ahead[:, 0]
    v = chart.centre_mm[j, 1] + rho * ahead[:, 1]
    at = planes.origin_mm[:, j] + u[..., None] * planes.right[:, j] + v[..., None] * planes.up[:, j]
    return places.hazard.wall_mm(at.reshape(-1, 3)).reshape(rho.shape).min(axis=1)
