"""What area is a proposal to give, all along a port?"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from portgeom.geometry.arrays import F64, frozen
from portgeom.job.propose_values import Follow, Wishes
from portgeom.model.lofted import LoftedPort, LoftedStage

SPARE = 2e-4
"""Areas are asked for by so much more than stated: rounding a line to what a person writes must not cost it."""


@dataclass(frozen=True, slots=True)
class Demand:
    """The flow area wanted at every slab.

    Attributes
    ----------
    follows : Follow
        What it was made from.
    line_mm2 : (j, 2) float
        Corners of the line that it follows: distance and area.
    least_mm2, most_mm2 : (m,) float
        Bounds of the flow area; 0 and infinite where none is asked. What the port has already is never too much.
    """

    follows: Follow
    line_mm2: F64
    least_mm2: F64
    most_mm2: F64


def demand_of(port: LoftedPort, stage: LoftedStage, wishes: Wishes) -> Demand:
    """Return the area asked of one stage of a port."""
    s, flow = port.chart.distance_mm, stage.surface.flow_area_mm2
    last = port.chart.slab_at(port.throat_mm)
    follows = _follows(port, wishes)
    line = _line(port, stage, wishes, follows, float(flow[0]), float(flow[last]))
    along = np.interp(s, line[:, 0], line[:, 1])
    share = 0.01 * wishes.taper_percent
    above = share if wishes.above_percent is None else 0.01 * wishes.above_percent
    if follows == "least area":
        least, most = along, np.full(len(s), np.inf)
    else:
        least, most = (1.0 - share) * along, (1.0 + above) * along
        if wishes.least_area_mm2 is not None:
            least = np.maximum(least, wishes.least_area_mm2)
    least = (1.0 + SPARE) * least
    asked = s <= s[last]
    most = np.maximum(np.maximum(most, flow), least)
    return Demand(follows, frozen(line), frozen(np.where(asked, least, 0.0)), frozen(np.where(asked, most, np.inf)))


def _follows(port: LoftedPort, wishes: Wishes) -> Follow:
    if wishes.follow is not None:
        return wishes.follow
    if wishes.entry_area_mm2 is not None or wishes.throat_area_mm2 is not None:
        return "straight"
    if port.port.schedule is not None:
        return "schedule"
    return "straight" if wishes.least_area_mm2 is None else "least area"


def _line(
    port: LoftedPort, stage: LoftedStage, wishes: Wishes, follows: Follow, entry_mm2: float, throat_mm2: float
) -> F64:
    ends = np.array([float(port.chart.distance_mm[0]), port.throat_mm])
    if follows == "least area":
        return np.column_stack([ends, np.full(2, wishes.least_area_mm2 or 0.0)])
    schedule = port.port.schedule
    if follows == "schedule" and schedule is not None:
        named = {r.place: float(s) for r, s in zip(stage.stage.sections.rows, stage.distance_mm, strict=True)}
        rows = [*schedule.by_distance, *((named[p], a) for p, a in schedule.by_place if p in named)]
        return np.array(sorted(rows))
    first = entry_mm2 if wishes.entry_area_mm2 is None else wishes.entry_area_mm2
    last = throat_mm2 if wishes.throat_area_mm2 is None else wishes.throat_area_mm2
    return np.column_stack([ends, [first, last]])
