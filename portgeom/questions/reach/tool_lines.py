"""Along which straight lines does a cutter get from an opening of a port to places on its wall?

A line is tried by setting the cutter's head so that it touches the wall with its axis towards a place in
the opening, and then walking back along the shank. What stops each line is kept, so that it can be said
whether the port's lip, the guide or the cutter's own size is in the way.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from typing import TypeAlias

import numpy as np
import numpy.typing as npt

from portgeom.geometry.arrays import Bool, Int
from portgeom.geometry.room import F32, Room
from portgeom.questions.reach.openings import STEEPEST_DEG, Opening, Rod
from portgeom.questions.reach.touch import FIT_MM, Tool

Bits: TypeAlias = npt.NDArray[np.uint8]

WALK_MM = 1.0
"""Shortest step along a shank. Between two steps it can come nearer to metal by half of it, no more."""

RAMP_MM = 10.0
"""Behind the head the shank needs no clearance, and from here on all of it: near the head it cannot sway."""

LIP_MM = 5.0
"""How deep inside an opening its lip, or the seat, is taken to reach."""

WALL, LIP, GUIDE, HEAD = (np.uint8(1 << k) for k in range(4))
"""What a line meets."""

ENOUGH = 0.95
"""Share of the metal at a place beyond which no better line is looked for."""

RING_POINTS = 16
"""Places asked round a sharp edge of the head."""

BATCHES = (0, 8, 30, 100)
"""Lines are tried in these batches, the shortest first; a place that is reached drops out."""


@dataclass(frozen=True, slots=True)
class WallPlaces:
    """Places on the wall to be cut: where (3, n), the way into the metal (3, n), metal to come off (n,)."""

    at_mm: F32
    into: F32
    metal_mm: F32


@dataclass(frozen=True, slots=True)
class LinesFound:
    """For every place (n,) the best of its lines.

    Attributes
    ----------
    share : (n,) float32
        Of the metal there that the head takes: 0 where no line is clear, under 1 where the head does not
        go all the way into a corner.
    stick_out_mm : (n,) float32
        From the cutter's tip back to the plane of the opening, along the line; NaN where none is clear.
    tip_mm, axis : (3, n) float32
        Where the tip then is, and the way from it to the holder: the proof. NaN where none is clear.
    met : (n,) uint8
        Where no line is clear, bits of what alone stops at least one line: LIP, GUIDE, HEAD; else 0.
    """

    share: F32
    stick_out_mm: F32
    tip_mm: F32
    axis: F32
    met: Bits


@dataclass(slots=True)
class _Lines:
    """Lines (l,) being tried: tip and unit axis from tip to holder (3, l), and what each has met."""

    tip: F32
    axis: F32
    length: F32
    ball_behind: F32
    ball_radius: F32
    met: Bits


def try_lines(room: Room, guide: Rod | None, opening: Opening, places: WallPlaces, tool: Tool) -> LinesFound:
    """Return the best line from an opening to every place on the wall."""
    n = places.at_mm.shape[1]
    share = np.zeros(n, dtype=np.float32)
    # an opening too narrow for the shank has no places at all
    met = np.full(n, np.uint8(0) if opening.places_mm.size else LIP)
    stick = np.full(n, np.nan, dtype=np.float32)
    tip, axis = np.full((3, n), np.nan, dtype=np.float32), np.full((3, n), np.nan, dtype=np.float32)
    targets = opening.targets_mm(places.at_mm)
    order = np.argsort(((targets - places.at_mm[:, :, None]) ** 2).sum(axis=0), axis=1, kind="stable")
    for first, last in pairwise(BATCHES):
        left = np.flatnonzero(share < ENOUGH)
        through = order[left, first:last]
        if through.size == 0:
            break
        which = np.repeat(left, through.shape[1])
        lines = _set(opening, places, which, targets[:, which, through.ravel()], tool)
        gap = _walked(room, guide, opening, lines, places.into[:, which], met[which], tool)
        got = np.clip(1.0 - np.maximum(0.0, gap - FIT_MM) / places.metal_mm[which], 0.0, 1.0)
        lines.met[(got <= 0.0) & (lines.met == 0)] = HEAD
        got = np.where(lines.met == 0, got, 0.0).reshape(through.shape)
        best = np.argmax(np.floor(got * 20.0), axis=1)  # the first, and so the shortest, of those about as good
        row = np.arange(len(left))
        better = np.flatnonzero(got[row, best] > share[left])
        where, line = left[better], better * through.shape[1] + best[better]
        share[where], stick[where] = got[better, best[better]], lines.length[line]
        tip[:, where], axis[:, where] = lines.tip[:, line], lines.axis[:, line]
        for bit in (LIP, GUIDE, HEAD):
            met[left] |= np.where((lines.met.reshape(through.shape) == bit).any(axis=1), bit, np.uint8(0))
    return LinesFound(share, stick, tip, axis, np.where(share > 0.0, np.uint8(0), met))


def _set(opening: Opening, places: WallPlaces, which: Int, through: F32, tool: Tool) -> _Lines:
    """Return lines whose heads touch the wall at places, their axes towards places (3, l)."""
    at, into = places.at_mm[:, which], places.into[:, which]
    axis = through - (at - np.float32(tool.body.radius_mm) * into)
    axis /= np.sqrt((axis**2).sum(axis=0))
    cosine = (axis * into).sum(axis=0)
    k = tool.touch.index(cosine)
    aside = into - cosine * axis
    aside /= np.sqrt(np.maximum(1.0 - cosine**2, np.float32(1e-6)))
    tip = at - tool.touch.behind_mm[k] * axis - tool.touch.radius_mm[k] * aside
    out = opening.outward @ axis
    steep = out < np.cos(np.radians(STEEPEST_DEG))
    to_plane = (opening.outward @ (opening.origin_mm[:, None] - tip)) / np.where(steep, np.float32(1.0), out)
    length = np.maximum(to_plane, np.float32(tool.body.head_mm))
    met = np.where(steep, WALL, np.uint8(0))
    return _Lines(tip, axis, length, tool.touch.ball_behind_mm[k], tool.touch.ball_radius_mm[k], met)


def _walked(room: Room, guide: Rod | None, opening: Opening, lines: _Lines, into: F32, known: Bits, tool: Tool) -> F32:
    """Take down what every line meets; return how far (l,) each head stays off the wall it should touch.

    ``known`` (l,) is what is known already to stop a line to the same place, alone: a line that meets the
    guide once more teaches nothing, and is not walked.
    """
    _glance(room, opening, lines, tool)
    gap = np.zeros(len(known), dtype=np.float32)
    live = np.flatnonzero(lines.met & WALL == 0)
    gap[live] = _eased(room, lines, live, into[:, live])
    if guide is not None:
        _past(guide, lines, live, tool)
        again = live[lines.met[live] & known[live] & GUIDE > 0]
        lines.met[again] |= WALL
        live = np.flatnonzero(lines.met & WALL == 0)
    _shanks(room, opening, lines, live, tool)
    _heads(room, lines, live[lines.met[live] & WALL == 0], tool)
    _edges(room, lines, np.flatnonzero(lines.met == 0), tool)
    return gap


def _glance(room: Room, opening: Opening, lines: _Lines, tool: Tool) -> None:
    """Drop lines that run through metal at one of a few places, at the price of one look each."""
    blocked = np.float32(tool.need_mm - room.nearest_error_mm - FIT_MM)
    live = np.flatnonzero(lines.met == 0)
    start = np.float32(tool.body.head_mm + RAMP_MM)
    for share in (0.05, 0.5, 0.25, 0.75, 0.15, 0.4, 0.6):
        run = lines.length[live] - start
        q = lines.tip[:, live] + (start + np.float32(share) * run) * lines.axis[:, live]
        inside = (run > 0.0) & (opening.outward @ (opening.origin_mm[:, None] - q) > LIP_MM)
        dead = inside & (room.nearest(q) < blocked)
        lines.met[live[dead]] = WALL
        live = live[~dead]


def _eased(room: Room, lines: _Lines, live: Int, into: F32) -> F32:
    """Move heads that stand into a second wall until they clear it; return the gap this leaves.

    Where a head cannot be moved clear it is wider than the place.
    """
    centre = lines.tip[:, live] + lines.ball_behind[live] * lines.axis[:, live]
    radius = lines.ball_radius[live]
    moved = np.zeros_like(centre)
    lack = radius - room.at(centre)
    for _ in range(4):
        tight = np.flatnonzero(lack > 0.4 * FIT_MM)
        if not len(tight):
            break
        moved[:, tight] += lack[tight] * room.slope(centre[:, tight] + moved[:, tight])
        lack[tight] = radius[tight] - room.at(centre[:, tight] + moved[:, tight])
    lines.tip[:, live] += moved
    lines.met[live[lack > FIT_MM]] |= HEAD
    # the wall's place lies a radius into the metal from where the ball's middle was to be
    away = moved - radius * into
    return np.maximum(np.sqrt((away**2).sum(axis=0)) - radius, np.float32(0.0))


def _heads(room: Room, lines: _Lines, live: Int, tool: Tool) -> None:
    """Take down heads that stand into the wall anywhere along their axis."""
    tip, axis = lines.tip[:, live], lines.axis[:, live]
    for behind, radius in tool.touch.core_mm:
        lines.met[live[room.at(tip + behind * axis) < radius - FIT_MM]] |= HEAD


def _shanks(room: Room, opening: Opening, lines: _Lines, live: Int, tool: Tool) -> None:
    """Walk out along every shank, by as much at a time as the room there allows."""
    at, end = np.full(len(live), np.float32(tool.body.head_mm)), _end_mm(opening, lines, live, tool)
    tip, axis = lines.tip[:, live], lines.axis[:, live]
    while len(live):
        q = tip + at * axis
        free = room.at(q) - _need_mm(at, tool)
        on = at < end
        hit = np.flatnonzero(free < 0.0)
        if len(hit):
            lip = opening.outward @ (q[:, hit] - opening.origin_mm[:, None]) > -LIP_MM
            lines.met[live[hit[lip]]] |= LIP
            lines.met[live[hit[~lip]]] |= WALL
            on[hit[~lip]] = False
        at += np.maximum(free, np.float32(WALK_MM))
        on &= at < end
        live, at, end, tip, axis = live[on], at[on], end[on], tip[:, on], axis[:, on]


def _past(guide: Rod, lines: _Lines, live: Int, tool: Tool) -> None:
    """Take down lines whose head or shank meets the guide."""
    tip, axis = lines.tip[:, live], lines.axis[:, live]
    near = guide.may_meet(tip, axis, max(tool.body.radius_mm, tool.need_mm))
    live, tip, axis = live[near], tip[:, near], axis[:, near]
    for behind, radius in tool.touch.core_mm:
        lines.met[live[guide.distance_mm(tip + behind * axis) < radius]] |= GUIDE
    at, end = np.full(len(live), np.float32(tool.body.head_mm)), lines.length[live]
    while len(live):
        free = guide.distance_mm(tip + at * axis) - _need_mm(at, tool)
        lines.met[live[free < 0.0]] |= GUIDE
        at = at + np.maximum(free, np.float32(WALK_MM))
        on = (at < end) & (free >= 0.0)
        live, at, end, tip, axis = live[on], at[on], end[on], tip[:, on], axis[:, on]


def _need_mm(at: F32, tool: Tool) -> F32:
    """Return how far from metal the shank's axis must stay at places behind the tip."""
    ramp = np.clip((at - np.float32(tool.body.head_mm)) * np.float32(1.0 / RAMP_MM), 0.0, 1.0)
    return np.float32(0.5 * tool.body.shank_mm) + np.float32(tool.clearance_mm) * ramp


def _end_mm(opening: Opening, lines: _Lines, live: Int, tool: Tool) -> F32:
    """Return how far to walk: a slanting shank comes nearest to the lip outside the opening's plane."""
    out = np.minimum(opening.outward @ lines.axis[:, live], np.float32(1.0))
    return lines.length[live] + np.float32(tool.need_mm) * np.sqrt(1.0 - out**2) / out


def _edges(room: Room, lines: _Lines, live: Int, tool: Tool) -> None:
    """Take down heads whose sharp edges stand into the wall."""
    if not len(tool.touch.rings_mm) or not len(live):
        return
    axis = lines.axis[:, live]
    least = np.argmin(np.abs(axis), axis=0)
    one = np.cross(axis, np.eye(3, dtype=np.float32)[:, least], axis=0)
    one /= np.sqrt((one**2).sum(axis=0))
    two = np.cross(axis, one, axis=0)
    bad: Bool = np.zeros(len(live), dtype=bool)
    for behind, radius in tool.touch.rings_mm:
        middle = lines.tip[:, live] + behind * axis
        for turn in np.linspace(0.0, 2.0 * np.pi, RING_POINTS, endpoint=False):
            q = middle + radius * (np.float32(np.cos(turn)) * one + np.float32(np.sin(turn)) * two)
            bad |= room.at(q) < -FIT_MM
    lines.met[live[bad]] |= HEAD
