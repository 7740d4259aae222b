"""By how much does a proposal, answered for at the usual resolution, fall short of what the search thought it kept?

The search works on a coarser chart and with lines that are not rounded. What that costs a wall or an area is asked
for on top, and the search goes on from where it was.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from portgeom.geometry.arrays import F64, frozen
from portgeom.geometry.surface import Surface
from portgeom.model.lofted import LoftedPort, LoftedStage
from portgeom.questions.propose.demand import demand_of
from portgeom.questions.propose.port_model import PortModel
from portgeom.questions.walls.walls import Walls

WALL_MM = 0.018
AREA_SHARE = 6e-4
"""What is short by less than these is left."""

MORE = 1.1
"""So much more than what was short is asked for."""


def touched_up(
    model: PortModel, port: LoftedPort, stage: LoftedStage, after: Surface, found: Walls
) -> PortModel | None:
    """Return a port's model asking for what was short besides; None where nothing was.

    Parameters
    ----------
    after : Surface
        The port once cut, at the usual resolution, and ``found`` the walls behind it.
    """
    least = {w.hazard: w.least.wall_mm for w in found.walls if w.least is not None}
    short = False
    gauges = []
    for gauge in model.gauges:
        wall = least.get(gauge.behind.hazard.name, np.inf)
        lack = float(gauge.need_mm.max(initial=0.0)) - wall
        if gauge.short_mm > 0.0 or lack <= WALL_MM:
            gauges.append(gauge)
            continue
        short = True
        thin = gauge.need_mm + MORE * lack
        now = gauge.wall_mm(model.stage.surface, model.stage.surface.rho_mm)
        gauges.append(replace(gauge, need_mm=frozen(np.minimum(thin, np.maximum(now, gauge.need_mm)))))
    s, demand = model.port.chart.distance_mm, model.demand
    asked = demand_of(port, stage, model.wishes).least_mm2
    lacking = np.where(asked > 0.0, 1.0 - after.flow_area_mm2 / np.maximum(asked, 1.0), 0.0)
    lack_share = np.maximum(0.0, np.interp(s, port.chart.distance_mm, lacking))
    if lack_share.max() > AREA_SHARE:
        short = True
        demand = replace(demand, least_mm2=frozen(demand.least_mm2 * (1.0 + MORE * _spread(lack_share))))
    return replace(model, gauges=tuple(gauges), demand=demand) if short else None


def _spread(values: F64) -> F64:
    """Return the largest of each value and its neighbours."""
    return np.maximum(values, np.maximum(np.roll(values, 1), np.roll(values, -1)))
