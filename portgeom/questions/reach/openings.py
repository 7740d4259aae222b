"""Through which openings does a tool go into a port, and what stands in the port in its way?"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal, TypeAlias

import numpy as np

from portgeom.geometry.arrays import F32, F64, Bool, Int
from portgeom.geometry.room import Room
from portgeom.geometry.skin import Wall
from portgeom.geometry.surface import Surface
from portgeom.job.values import Guide
from portgeom.questions.reach.touch import FIT_MM

SideIn: TypeAlias = Literal["entry", "seat"]
SIDES_IN: tuple[SideIn, ...] = ("entry", "seat")

STEEPEST_DEG = 70.0
"""No tool is led into an opening at more than this from square."""

RINGS = ((1.0, 34), (0.8, 26), (0.6, 20), (0.4, 12), (0.2, 7), (0.0, 1))
"""Rings of places in an opening: share of the way from its middle to its lip, and how many."""

RAYS_APART = 4
"""Every so many rays are looked along for the widest place of a section."""

ROOT_MM = 10.0
"""How far above the place where it leaves the roof a guide's boss is taken to go on, should the roof rise."""


@dataclass(frozen=True, slots=True)
class Opening:
    """One end of the port, where a tool goes in.

    Attributes
    ----------
    side : "entry" or "seat"
    origin_mm, outward : (3,) float32
        Its plane, and which way is out.
    places_mm : (3, k) float32
        Spread over it: lines go through them.
    width_mm : float
        Diameter of a circle of its area. To a place nearer than this lines go through the opening moved
        out until it is so far off, else they would all lie across the port.
    """

    side: SideIn
    origin_mm: F32
    outward: F32
    places_mm: F32
    width_mm: float

    def away_mm(self, places_mm: F32) -> F32:
        """Return how far places (3, n) are from what lines to them go through (n, k)."""
        deep = self.outward @ (self.origin_mm[:, None] - places_mm)
        out = np.maximum(np.float32(self.width_mm) - deep, np.float32(0.0))
        # both from the opening, so that the squares stay small
        through, place = self.places_mm - self.origin_mm[:, None], places_mm - self.origin_mm[:, None]
        place = place - self.outward[:, None] * out
        square = (place**2).sum(axis=0)[:, None] - np.float32(2.0) * (place.T @ through) + (through**2).sum(axis=0)
        return np.sqrt(np.maximum(square, np.float32(0.0)))


@dataclass(frozen=True, slots=True)
class Rod:
    """A round rod with flat ends that stands in the port, such as a guide's boss."""

    start_mm: F64
    end_mm: F64
    diameter_mm: float

    def distance_mm(self, places_mm: F32) -> F32:
        """Return the distance (k,) of places (3, k), negative inside."""
        middle, way, half = self._axis()
        from_middle = places_mm - middle[:, None]
        along = way @ from_middle
        out = np.sqrt(np.maximum((from_middle**2).sum(axis=0) - along**2, 0.0)) - np.float32(0.5 * self.diameter_mm)
        past = np.abs(along) - half
        outside = np.hypot(np.maximum(out, 0.0), np.maximum(past, 0.0))
        return outside + np.minimum(np.maximum(out, past), 0.0)

    def may_meet(self, tip_mm: F32, axis: F32, near_mm: F32 | float) -> Bool:
        """Return which rays (l,) from tips along unit axes (3, l) could come within ``near_mm`` (l,)."""
        middle, _, half = self._axis()
        to_middle = middle[:, None] - tip_mm
        along = np.maximum((to_middle * axis).sum(axis=0), 0.0)
        off = to_middle - along * axis
        return (off**2).sum(axis=0) < (np.hypot(half, 0.5 * self.diameter_mm) + near_mm) ** 2

    def _axis(self) -> tuple[F32, F32, np.float32]:
        """Return the middle, the way along and half the length."""
        span = self.end_mm - self.start_mm
        length = float(np.linalg.norm(span))
        middle = 0.5 * (self.start_mm + self.end_mm)
        return middle.astype(np.float32), (span / length).astype(np.float32), np.float32(0.5 * length)


def rod_of(guide: Guide | None) -> Rod | None:
    """Return the boss of a valve guide as it stands in the port, or None."""
    if guide is None:
        return None
    start, second = guide.axis_mm
    way = (second - start) / np.linalg.norm(second - start)
    return Rod(start - ROOT_MM * way, start + guide.length_mm * way, guide.boss_diameter_mm)


def opening_of(room: Room, after: Wall, side: SideIn, need_mm: float) -> Opening:
    """Return an opening with places spread over it that leave a shank the room it needs from the lip."""
    surface, chart = after.surface, after.surface.chart
    end, sign = (0, -1.0) if side == "entry" else (-1, 1.0)
    outward = sign * chart.planes.normal[end]
    lip, inward = after.places_mm[end], after.inward[end]
    into = inward - (inward @ outward)[:, None] * outward
    inset = lip + need_mm * into / np.linalg.norm(into, axis=1, keepdims=True)
    planes = chart.planes
    feet = _feet_mm(surface)[end]
    spread = []
    for share, count in RINGS:
        ring = feet + share * (inset - feet) if share else np.broadcast_to(feet.mean(axis=0), inset.shape)
        spread.append(ring[_evenly(ring, count)])
    through = np.concatenate(spread).T.astype(np.float32)
    free = room.at(through) >= need_mm - FIT_MM
    return Opening(
        side=side,
        origin_mm=planes.origin_mm[end].astype(np.float32),
        outward=outward.astype(np.float32),
        places_mm=through[:, free],
        width_mm=2.0 * float(np.sqrt(surface.area_mm2[end] / np.pi)),
    )


def _evenly(ring: F64, count: int) -> Int:
    """Return which points of a closed ring stand at even steps along it."""
    step = np.linalg.norm(np.roll(ring, -1, axis=0) - ring, axis=1)
    along = np.concatenate([[0.0], np.cumsum(step)[:-1]])
    return np.minimum(np.searchsorted(along, step.sum() * np.arange(count) / count), len(ring) - 1)


def widest_mm(room: Room, after: Wall) -> F64:
    """Return the radius (m,) of about the largest ball that passes each section, up to the room known."""
    wall = np.moveaxis(after.places_mm[:, ::RAYS_APART], 2, 0).astype(np.float32)
    feet = np.moveaxis(_feet_mm(after.surface)[:, ::RAYS_APART], 2, 0).astype(np.float32)
    shares = np.linspace(0.0, 0.9, 10, dtype=np.float32)
    layers = [room.at((feet + share * (wall - feet)).reshape(3, -1)).reshape(wall.shape[1:]) for share in shares]
    return np.max(layers, axis=(0, 2)).astype(np.float64)


def _feet_mm(surface: Surface) -> F64:
    """Return where the rays start (m, n, 3), in the head frame."""
    return surface.chart.planes.world_mm(surface.chart.tips_mm(np.zeros_like(surface.rho_mm)))


def passable_mm(widest: F64, side: SideIn) -> F64:
    """Return the radius (m,) of the largest ball that gets as far as each section from one side."""
    return np.minimum.accumulate(widest) if side == "entry" else np.minimum.accumulate(widest[::-1])[::-1]
