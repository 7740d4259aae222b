"""How sure is the wall to a hazard? Its standard deviation from those of the readings, to first order."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from portgeom.geometry.arrays import F64
from portgeom.job.values import Accuracy
from portgeom.model.lofted import LoftedPort, LoftedStage
from portgeom.questions.walls.behind import Behind
from portgeom.questions.walls.walls import Wall, walls

BESIDE_MM = 0.5
"""How far a place is moved to see how the wall changes."""


def wall_sds_mm(
    port: LoftedPort, stage: LoftedStage, hazards: Sequence[Behind], accuracy: Accuracy
) -> tuple[float, ...]:
    """Return the standard deviation of the least wall to each hazard, as it is; 0 where none is known.

    Notes
    -----
    A gauge's own error and the tool's bias move the wall along its normal. A distance read wrong moves it along
    the path, as far as the wall leans there. A pitch read wrong turns the path beyond its station, about half way
    to the one before, and lifts or drops all that follows by the arc. Independent errors add as squares. A hazard
    known from readings of thickness has the gauge's error alone.
    """
    found = walls(port, stage.surface, stage.stage.name, hazards)
    return tuple(_sd_mm(port, stage, w, accuracy) for w in found.walls)


def _sd_mm(port: LoftedPort, stage: LoftedStage, wall: Wall, accuracy: Accuracy) -> float:
    own = np.hypot(accuracy.gauge_mm, accuracy.tool_bias_mm)
    if wall.behind.readings is not None or wall.least is None:
        return float(own)
    chart = port.chart
    slab = chart.slab_at(wall.least.distance_mm)
    nodes = chart.planes.world_mm(stage.surface.points_mm)[slab]
    place = nodes[int(np.argmin(wall.behind.wall_mm(nodes)))]
    normal = _gradient(wall.behind, place)
    along = accuracy.distance_mm * float(normal @ chart.planes.normal[slab])
    s, at = port.cast.distance_mm, float(chart.distance_mm[slab])
    turned = _share_before(s, at) * np.radians(accuracy.pitch_deg) * float(normal @ chart.planes.up[slab])
    return float(np.sqrt(own**2 + along**2 + (turned**2).sum()))


def _gradient(hazard: Behind, place: F64) -> F64:
    steps = BESIDE_MM * np.concatenate([np.eye(3), -np.eye(3)])
    there = hazard.wall_mm(place + steps)
    return (there[:3] - there[3:]) / (2.0 * BESIDE_MM)


def _share_before(stations: F64, at: float) -> F64:
    """Return the length of path before a place that follows each station's direction."""
    s = np.linspace(stations[0], at, 200)
    hats = np.array([np.interp(s, stations, e) for e in np.eye(len(stations))])
    return hats.mean(axis=1) * (at - stations[0])
