"""How thick is the metal behind a wall, where it was measured at a few places only?

A reading is the thickness found behind the port as cast. What is left later is the reading less the depth
cut there. Between readings the least of those around a place counts, so it is never above the nearest one;
further than 15 mm from any reading nothing is known.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Any

import numpy as np

from portgeom.geometry.arrays import F64, frozen
from portgeom.geometry.surface import Surface
from portgeom.job.values import WallReading

KNOWN_WITHIN_MM = 15.0
"""How far along the wall a reading still says something: castings change from one rib or pocket to the next."""

NEIGHBOURS = 24
"""Nearest readings among which the ones around a place are sought."""


@dataclass(frozen=True, slots=True)
class ReadWalls:
    """Thickness at every place of the port as cast.

    Attributes
    ----------
    cast_mm, outward : (m, n, 3) float
        Places of the surface as cast and its unit normals into the metal, head frame.
    thick_mm : (m, n) float
        NaN where nothing is known.
    away_mm : (m, n) float
        How far the nearest reading is along the wall.
    """

    cast_mm: F64
    outward: F64
    thick_mm: F64
    away_mm: F64
    tree: Any = field(repr=False, compare=False)

    def depth_mm(self, nodes_mm: F64) -> F64:
        """Return how deep (m, n) places on the same rays lie below the surface as cast; 0 where they do not."""
        return np.maximum(0.0, np.einsum("ijk,ijk->ij", nodes_mm - self.cast_mm, self.outward))

    def wall_mm(self, points_mm: F64) -> F64:
        """Return the metal left behind points (k, 3) by the nearest place as cast, NaN where not known."""
        _, nearest = self.tree.query(points_mm)
        offset = points_mm - self.cast_mm.reshape(-1, 3)[nearest]
        depth = np.maximum(0.0, np.einsum("ij,ij->i", offset, self.outward.reshape(-1, 3)[nearest]))
        return self.thick_mm.ravel()[nearest] - depth


def read_walls(cast: Surface, readings: Sequence[WallReading]) -> ReadWalls:
    """Return thickness all over the port as cast from readings on it, at least one."""
    from scipy.spatial import cKDTree

    nodes = cast.world_mm
    thick, away = _between(cast, readings)
    return ReadWalls(
        frozen(nodes),
        frozen(_outward(cast, nodes)),
        frozen(thick),
        frozen(away),
        cKDTree(nodes.reshape(-1, 3)),
    )


def _outward(surface: Surface, nodes: F64) -> F64:
    """Return unit normals (m, n, 3) into the metal: across the slabs and the rays, which run anticlockwise."""
    along = np.gradient(nodes, axis=0)
    round_mm = np.roll(nodes, -1, axis=1) - np.roll(nodes, 1, axis=1)
    normal = np.cross(along, round_mm)
    rays, planes = surface.chart.rays.direction, surface.chart.planes
    out = rays[None, :, :1] * planes.right[:, None] + rays[None, :, 1:] * planes.up[:, None]
    normal *= np.where(np.einsum("ijk,ijk->ij", normal, out) < 0.0, -1.0, 1.0)[..., None]
    length = np.linalg.norm(normal, axis=-1, keepdims=True)
    return np.divide(normal, length, out=out.copy(), where=length > 0.0)


def _between(cast: Surface, readings: Sequence[WallReading]) -> tuple[F64, F64]:
    """Return thickness and distance to the nearest reading at all places, on the wall laid flat.

    The readings around a place are the nearest one in each quarter: ahead or behind, clockwise or not.
    """
    from scipy.spatial import cKDTree

    girth, whole = _girth_mm(cast)
    at = np.array([(r.distance_mm, *_girth_of(cast, girth, whole, r)) for r in readings])
    flat = np.concatenate([at[:, :2] + [0.0, turn] * at[:, 2:] for turn in (-1.0, 0.0, 1.0)])
    thick = np.tile([r.wall_mm for r in readings], 3)
    places = np.stack([np.broadcast_to(cast.chart.distance_mm[:, None], girth.shape), girth], axis=-1).reshape(-1, 2)
    count = min(NEIGHBOURS, len(flat))
    away, which = cKDTree(flat).query(places, k=count, distance_upper_bound=KNOWN_WITHIN_MM)
    away, which = away.reshape(-1, count), which.reshape(-1, count)
    known = np.isfinite(away)
    which = np.where(known, which, 0)
    ahead, round_mm = np.moveaxis(flat[which] - places[:, None], -1, 0)
    least = np.full(len(places), np.inf)
    for across in (ahead >= 0.0, ahead <= 0.0):
        for side in (round_mm >= 0.0, round_mm <= 0.0):
            quarter = known & across & side
            first = np.argmax(quarter, axis=1)  # neighbours come nearest first
            value = thick[np.take_along_axis(which, first[:, None], axis=1)[:, 0]]
            least = np.where(quarter.any(axis=1), np.minimum(least, value), least)
    return (
        np.where(np.isfinite(least), least, np.nan).reshape(girth.shape),
        away[:, 0].reshape(girth.shape),
    )


def _girth_mm(surface: Surface) -> tuple[F64, F64]:
    """Return how far round its section each place (m, n) is from the crown, and the section's girth (m,)."""
    points = surface.points_mm
    step = np.linalg.norm(np.roll(points, -1, axis=1) - points, axis=-1)
    run = np.cumsum(step, axis=1) - step
    crown = np.array([_run_at(surface, run, step.sum(axis=1), j, 0.0) for j in range(len(run))])
    return run - crown[:, None], step.sum(axis=1)


def _girth_of(surface: Surface, girth: F64, whole: F64, reading: WallReading) -> tuple[float, float]:
    """Return how far round from the crown a reading was taken, and the girth there."""
    slab = surface.chart.slab_at(reading.distance_mm)
    return _run_at(surface, girth, whole, slab, reading.clock_deg), float(whole[slab])


def _run_at(surface: Surface, run: F64, whole: F64, slab: int, clock: float) -> float:
    """Return the run along a section's outline (rays from the floor anticlockwise) at a clock position."""
    offset = surface.points_mm[slab] - surface.chart.centre_mm[slab]
    turned = np.unwrap(np.arctan2(offset[:, 1], offset[:, 0]))
    wanted = turned[0] + (np.radians(90.0 - clock) - turned[0]) % (2.0 * np.pi)
    return float(np.interp(wanted, [*turned, turned[0] + 2.0 * np.pi], [*run[slab], run[slab, 0] + whole[slab]]))
