"""Which straight lines to places on a wall are tried, and what has been learnt of them?

A line sets the cutter's head so that it touches the wall with its axis towards a place in the opening.
"""

from __future__ import annotations

from dataclasses import dataclass, fields
from typing import TypeAlias

import numpy as np
import numpy.typing as npt

from portgeom.geometry.arrays import F32, Int
from portgeom.questions.reach.openings import STEEPEST_DEG, Opening
from portgeom.questions.reach.touch import Tool

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
class Lines:
    """Lines (l,) being tried, each to the place of that number.

    Attributes
    ----------
    place : (l,) int
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

    place: Int
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
        return Lines(*(getattr(self, f.name).take(which, axis=-1) for f in fields(self)))


@dataclass(frozen=True, slots=True)
class Known:
    """What is known of every place (n,): the best line's level so far, and the first that alone stops a line."""

    level: Bits
    met: Bits

    def of_use(self, lines: Lines) -> Lines:
        """Return the lines that could still be better than what is known, or teach what is in the way."""
        best, first = self.level[lines.place], self.met[lines.place]
        alone = (lines.met & (lines.met - 1) == 0) & (lines.met < first) & (best == 0)
        return lines.kept(np.flatnonzero(np.where(lines.met == 0, lines.level > best, alone)))

    def learnt(self, lines: Lines) -> Known:
        """Return what is known once lines have been tried to their end."""
        level, met, clear = self.level.copy(), self.met.copy(), lines.met == 0
        np.maximum.at(level, lines.place[clear], lines.level[clear])
        np.minimum.at(met, lines.place[~clear], lines.met[~clear])
        return Known(level, met)


def lines_to(opening: Opening, places: WallPlaces, which: Int, through: Int, tool: Tool) -> Lines:
    """Return lines whose heads touch the wall at places, their axes towards places in the opening."""
    at, into = places.at_mm.take(which, axis=1), places.into.take(which, axis=1)
    axis = opening.target_mm(at, through) - (at - np.float32(tool.body.radius_mm) * into)
    axis /= np.sqrt((axis**2).sum(axis=0))
    cosine = (axis * into).sum(axis=0)
    k = tool.touch.index(cosine)
    aside = (into - cosine * axis) / np.sqrt(np.maximum(1.0 - cosine**2, np.float32(1e-6)))
    tip = at - tool.touch.behind_mm.take(k) * axis - tool.touch.radius_mm.take(k) * aside
    out = opening.outward @ axis
    to_plane = (opening.outward @ (opening.origin_mm[:, None] - tip)) / np.maximum(out, LEAST_OUT)
    return Lines(
        place=which,
        tip=tip,
        axis=axis,
        out=out,
        length=np.maximum(to_plane, np.float32(tool.body.head_mm)),
        ball_behind=tool.touch.ball_behind_mm.take(k),
        ball_radius=tool.touch.ball_radius_mm.take(k),
        share=np.zeros(len(which), dtype=np.float32),
        met=np.zeros(len(which), dtype=np.uint8),
    )
