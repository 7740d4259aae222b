"""Which straight lines to places on a wall are tried, and what has been learnt of them?

A line sets the cutter's head so that it touches the wall with its axis towards a place in the opening.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, fields
from typing import TypeAlias

import numpy as np
import numpy.typing as npt

from portgeom.geometry.arrays import F32, Int
from portgeom.questions.reach.openings import STEEPEST_DEG, Opening
from portgeom.questions.reach.touch import Tool, touch_row

Bits: TypeAlias = npt.NDArray[np.uint8]

LIP, GUIDE, HEAD = (np.uint8(1 << k) for k in range(3))
"""What a line meets, but for the wall; the first is told first."""

UNKNOWN = np.uint8(255)
"""That nothing is known yet to stop a line alone."""

LEVELS = 20
"""Shares of a place's metal are told apart in so many levels; of the last no better line is looked for."""

LEAST_OUT = np.float32(np.cos(np.radians(STEEPEST_DEG)))
"""The least cosine between a tool's axis and the way out."""


@dataclass(frozen=True, slots=True)
class WallPlaces:
    """Places on the wall to be cut: where (3, n), the way into the metal (3, n), metal to come off (n,)."""

    at_mm: F32
    into: F32
    metal_mm: F32


@dataclass(frozen=True, slots=True)
class Way:
    """A tool, led in through an opening."""

    opening: Opening
    tool: Tool


@dataclass(frozen=True, slots=True)
class Kit:
    """All ways in, with what is asked of them by the number of the way, side by side.

    Attributes
    ----------
    ways : tuple of Way
    outward : (3, w) float32
        The way out of the opening.
    plane_mm, width_mm : (w,) float32
        How far out the opening's plane lies, and the width of ``Opening``.
    radius_mm, head_mm, bare_mm, clearance_mm, need_mm : (w,) float32
        Largest radius and length of the head, radius of the shank, what it keeps from metal, both together.
    through_mm : (3, k) float32
        The places in all openings.
    first_through, first_touch : (w,) int
        Where those of each way begin there, and its rows in ``touch``.
    touch : (4, k) float32
        Place and radius of what touches, and place and radius of the ball in it, as ``Touch`` has them.
    """

    ways: tuple[Way, ...]
    outward: F32
    plane_mm: F32
    width_mm: F32
    radius_mm: F32
    head_mm: F32
    bare_mm: F32
    clearance_mm: F32
    need_mm: F32
    through_mm: F32
    first_through: Int
    first_touch: Int
    touch: F32


def kit_of(ways: Sequence[Way]) -> Kit:
    """Return ways in as a kit."""
    openings, tools = [w.opening for w in ways], [w.tool for w in ways]
    touch = [np.stack([t.behind_mm, t.radius_mm, t.ball_behind_mm, t.ball_radius_mm]) for t in (t.touch for t in tools)]
    return Kit(
        ways=tuple(ways),
        outward=np.stack([o.outward for o in openings], axis=1),
        plane_mm=_single(float(o.outward @ o.origin_mm) for o in openings),
        width_mm=_single(o.width_mm for o in openings),
        radius_mm=_single(t.body.radius_mm for t in tools),
        head_mm=_single(t.body.head_mm for t in tools),
        bare_mm=_single(0.5 * t.body.shank_mm for t in tools),
        clearance_mm=_single(t.clearance_mm for t in tools),
        need_mm=_single(t.need_mm for t in tools),
        through_mm=np.concatenate([o.places_mm for o in openings], axis=1),
        first_through=_begins([o.places_mm.shape[1] for o in openings]),
        first_touch=_begins([t.shape[1] for t in touch]),
        touch=np.concatenate(touch, axis=1),
    )


def _single(values: Iterable[float]) -> F32:
    return np.array(list(values), dtype=np.float32)


def _begins(counts: Sequence[int]) -> Int:
    return np.concatenate([[0], np.cumsum(counts)[:-1]]).astype(np.intp)


@dataclass(frozen=True, slots=True)
class Lines:
    """Lines (l,) being tried.

    Attributes
    ----------
    aim : (l,) int
        What each is to reach: the number of its way in times all places, and the number of the place.
    way : (l,) int
        The number of its way in.
    tip, axis : (3, l) float32
        Tip, and unit axis from tip to holder.
    out : (l,) float32
        Cosine between axis and the way out of the opening.
    length : (l,) float32
        From the tip to the plane of the opening.
    ball_behind, ball_radius : (l,) float32
        The ball inside the head that touches the wall.
    share : (l,) float32
        Of the place's metal that the head takes.
    met : (l,) uint8
        What each has met: bits of LIP, GUIDE and HEAD.
    """

    aim: Int
    way: Int
    tip: F32
    axis: F32
    out: F32
    length: F32
    ball_behind: F32
    ball_radius: F32
    share: F32
    met: Bits

    @property
    def level(self) -> Bits:
        """Return the level of each share: 0 for none, LEVELS for all or nearly."""
        return np.ceil(self.share * np.float32(LEVELS)).astype(np.uint8)

    def kept(self, which: Int) -> Lines:
        """Return some of the lines."""
        if len(which) == len(self.aim):
            return self
        return Lines(*(getattr(self, f.name).take(which, axis=-1) for f in fields(self)))


@dataclass(frozen=True, slots=True)
class Known:
    """What is known of every aim (n,): the best line's level so far, and the first that alone stops a line."""

    level: Bits
    met: Bits

    def of_use(self, lines: Lines) -> Lines:
        """Return the lines that could still be better than what is known, or teach what is in the way."""
        best, first = self.level.take(lines.aim), self.met.take(lines.aim)
        alone = (lines.met & (lines.met - 1) == 0) & (lines.met < first) & (best == 0)
        return lines.kept(np.flatnonzero(np.where(lines.met == 0, lines.level > best, alone)))

    def learnt(self, lines: Lines) -> Known:
        """Return what is known once lines have been tried to their end."""
        level, met, clear = self.level.copy(), self.met.copy(), lines.met == 0
        np.maximum.at(level, lines.aim[clear], lines.level[clear])
        np.minimum.at(met, lines.aim[~clear], lines.met[~clear])
        return Known(level, met)


def lines_to(kit: Kit, places: WallPlaces, aim: Int, through: Int) -> Lines:
    """Return lines whose heads touch the wall at aims (l,), their axes towards places (l,) in the opening."""
    way = aim // places.at_mm.shape[1]
    place = aim - way * places.at_mm.shape[1]
    at, into, outward = places.at_mm.take(place, axis=1), places.into.take(place, axis=1), kit.outward.take(way, axis=1)
    deep = kit.plane_mm.take(way) - (outward * at).sum(axis=0)
    moved = np.maximum(kit.width_mm.take(way) - deep, np.float32(0.0)) * outward
    to = kit.through_mm.take(kit.first_through.take(way) + through, axis=1) + moved
    axis = to - at + kit.radius_mm.take(way) * into
    axis /= np.sqrt((axis**2).sum(axis=0))
    cosine = (axis * into).sum(axis=0)
    row = touch_row(cosine) + kit.first_touch.take(way)
    behind, radius, ball_behind, ball_radius = kit.touch.take(row, axis=1)
    aside = (into - cosine * axis) / np.sqrt(np.maximum(np.float32(1.0) - cosine**2, np.float32(1e-6)))
    tip = at - behind * axis - radius * aside
    out = (outward * axis).sum(axis=0)
    to_plane = (kit.plane_mm.take(way) - (outward * tip).sum(axis=0)) / np.maximum(out, LEAST_OUT)
    return Lines(
        aim=aim,
        way=way,
        tip=tip,
        axis=axis,
        out=out,
        length=np.maximum(to_plane, kit.head_mm.take(way)),
        ball_behind=ball_behind,
        ball_radius=ball_radius,
        share=np.zeros(len(aim), dtype=np.float32),
        met=np.zeros(len(aim), dtype=np.uint8),
    )
