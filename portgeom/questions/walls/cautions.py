"""What about the metal behind the walls has to be told before cutting, besides whether it is enough?"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal, TypeAlias

import numpy as np

from portgeom.questions.walls.walls import WANDER_MM, Stretch, Wall, WallAt, Walls

CautionKind: TypeAlias = Literal[
    "hardly any metal", "interrupted cut", "thread left", "wander", "in the passage", "no inside", "turned"
]


@dataclass(frozen=True, slots=True)
class Caution:
    """Something to be told of one wall.

    Attributes
    ----------
    kind : CautionKind
        "hardly any metal": less than is sound in this material at all. "interrupted cut": the cutter runs
        over an opened hole. "thread left": the thread is broken into. "wander": a side wall near enough
        to its limit that a cutter wandering 1 mm takes it past. "in the passage": the hazard lies inside
        the port, so its place or the port's is wrong. "no inside": its mesh is not closed. "turned": its
        mesh was inside out.
    wall : Wall
    at : WallAt or None
    stretch : Stretch or None
    """

    kind: CautionKind
    wall: Wall
    at: WallAt | None = None
    stretch: Stretch | None = None


def cautions(result: Walls) -> tuple[Caution, ...]:
    """Return what has to be told of every wall behind one surface."""
    return tuple(c for k, wall in enumerate(result.walls) for c in _of_wall(result, k, wall))


def _of_wall(result: Walls, k: int, wall: Wall) -> list[Caution]:
    told = []
    if wall.behind.turned:
        told.append(Caution("turned", wall))
    if not wall.behind.signed:
        told.append(Caution("no inside", wall))
    if wall.least is None:
        return told
    if wall.inside:
        return [*told, Caution("in the passage", wall, wall.least)]
    if 0.0 < wall.least.wall_mm < wall.behind.floor_mm:
        told.append(Caution("hardly any metal", wall, wall.least))
    if wall.opened is not None:
        told.append(Caution("interrupted cut", wall, wall.least, wall.opened))
    if wall.thread is not None and wall.thread.left_mm < wall.thread.length_mm:
        told.append(Caution("thread left", wall, wall.least))
    side = _side_least(result, k)
    if side is not None and wall.behind.stop_mm <= side.wall_mm < wall.behind.stop_mm + WANDER_MM:
        told.append(Caution("wander", wall, side))
    return told


def _side_least(result: Walls, k: int) -> WallAt | None:
    """Return the least of the walls found on a side wall, none if none is near."""
    found, chart = result.found[k].distance_mm, result.surface.chart
    near = np.isfinite(found).any(axis=1)
    if not near.any():
        return None
    slabs = np.flatnonzero(near)
    points = chart.rays.tips_mm(chart.centre_mm[slabs], chart.half_mm[slabs], result.surface.rho_mm[slabs])
    away = points - chart.centre_mm[slabs, None]
    clock = np.degrees(np.arctan2(away[..., 0], away[..., 1])) % 360.0
    on_side = np.abs(away[..., 0]) >= np.abs(away[..., 1])
    wall = np.where(on_side, found[slabs], np.inf)
    j, ray = np.unravel_index(int(np.argmin(wall)), wall.shape)
    if not np.isfinite(wall[j, ray]):
        return None
    return WallAt(float(chart.distance_mm[slabs[j]]), float(clock[j, ray]), float(wall[j, ray]))
