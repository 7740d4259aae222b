"""What does a cutter meet on a straight line to a place on a wall?

The head is moved clear of a second wall, and the shank is walked back from it to the opening. A line drops
out as soon as it can neither be clear nor teach what is in the way.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import numpy as np

from portgeom.geometry.arrays import F32, Bool
from portgeom.geometry.room import Room
from portgeom.questions.reach.lines import GUIDE, HEAD, LEAST_OUT, LIP, Known, Lines, WallPlaces
from portgeom.questions.reach.openings import Opening, Rod
from portgeom.questions.reach.touch import FIT_MM, Tool

WALK_MM = 1.0
"""How much further than it is clear a shank is walked at a time: on the way it can come nearer by half of it."""

RAMP_MM = 10.0
"""Behind the head the shank needs no clearance, and from here on all of it: near the head it cannot sway."""

LIP_MM = 5.0
"""How deep inside an opening its lip, or the seat, is taken to reach."""

GLANCES = (0.05, 0.5, 0.25, 0.75, 0.15, 0.4, 0.6)
"""Where along the shank it is looked first: share of the way from where it needs all its clearance."""

RING_POINTS = 16
"""Places asked round a sharp edge of the head."""

FEW = 400
"""So few shanks are walked in steps of WALK_MM all at once."""


def tried(
    room: Room, guide: Rod | None, opening: Opening, places: WallPlaces, lines: Lines, known: Known, tool: Tool
) -> Lines:
    """Return the lines that teach something: those that are clear, and those that one thing alone stops."""
    lines = _eased(room, places, _glanced(room, lines, tool))
    lines = known.of_use(lines)
    if guide is not None:
        lines = known.of_use(_past(guide, lines, tool))
    lines = known.of_use(_shanks(room, opening, lines, tool))
    lines = known.of_use(_heads(room, lines, tool))
    return known.of_use(_edges(room, lines, tool))


def _glanced(room: Room, lines: Lines, tool: Tool) -> Lines:
    """Return the lines that do not run through metal at one of a few places, at the price of one look each."""
    blocked = np.float32(tool.need_mm - room.nearest_error_mm - FIT_MM)
    start = np.float32(tool.body.head_mm + RAMP_MM)
    live = np.flatnonzero(lines.out >= LEAST_OUT)
    tip, axis = lines.tip.take(live, axis=1), lines.axis.take(live, axis=1)
    out, run = lines.out.take(live), lines.length.take(live) - start
    for share in GLANCES:
        at = start + np.float32(share) * run
        clear = np.float32(1.0 - share) * run * out <= LIP_MM
        clear |= room.nearest(tip + at * axis) >= blocked
        on = np.flatnonzero(clear)
        live, out, run = live.take(on), out.take(on), run.take(on)
        tip, axis = tip.take(on, axis=1), axis.take(on, axis=1)
    return lines.kept(live)


def _eased(room: Room, places: WallPlaces, lines: Lines) -> Lines:
    """Return lines with heads that stood into a second wall moved until they clear it.

    The gap this leaves at the wall they should touch is what tells how much of the metal they take. Where a
    head cannot be moved clear, or takes nothing, it is wider than the place.
    """
    centre = lines.tip + lines.ball_behind * lines.axis
    radius = lines.ball_radius
    moved = np.zeros_like(centre)
    lack = radius - room.at(centre)
    for _ in range(4):
        tight = np.flatnonzero(lack > 0.4 * FIT_MM)
        if not len(tight):
            break
        now = centre.take(tight, axis=1) + moved.take(tight, axis=1)
        step = lack.take(tight) * room.slope(now)
        moved[:, tight] += step
        lack[tight] = radius.take(tight) - room.at(now + step)
    # the wall's place lies a radius into the metal from where the ball's middle was to be
    away = moved - radius * places.into.take(lines.place, axis=1)
    gap = np.maximum(np.sqrt((away**2).sum(axis=0)) - radius, np.float32(0.0))
    lost = np.maximum(0.0, gap - FIT_MM) / places.metal_mm.take(lines.place)
    share = np.clip(1.0 - lost, 0.0, 1.0).astype(np.float32)
    met = lines.met | np.where((lack > FIT_MM) | (share <= 0.0), HEAD, np.uint8(0))
    return replace(lines, tip=lines.tip + moved, share=share, met=met)


def _past(guide: Rod, lines: Lines, tool: Tool) -> Lines:
    """Return lines with GUIDE where head or shank meets it."""
    near = np.flatnonzero(guide.may_meet(lines.tip, lines.axis, max(tool.body.radius_mm, tool.need_mm)))
    tip, axis = lines.tip.take(near, axis=1), lines.axis.take(near, axis=1)
    _, stopped = _walked(guide.distance_mm, tip, axis, lines.length.take(near), tool)
    for behind, radius in tool.touch.core_mm:
        stopped |= guide.distance_mm(tip + behind * axis) < radius
    met = lines.met.copy()
    met[near[stopped]] |= GUIDE
    return replace(lines, met=met)


def _shanks(room: Room, opening: Opening, lines: Lines, tool: Tool) -> Lines:
    """Return the lines whose shanks do not meet the wall, with LIP where they meet that."""
    # a slanting shank comes nearest to the lip outside the opening's plane
    out = np.minimum(lines.out, np.float32(1.0))
    end = lines.length + np.float32(tool.need_mm) * np.sqrt(1.0 / out**2 - 1.0).astype(np.float32)
    at, stopped = _walked(room.at, lines.tip, lines.axis, end, tool)
    lip = stopped & (opening.outward @ (lines.tip + at * lines.axis - opening.origin_mm[:, None]) > -LIP_MM)
    met = lines.met | np.where(lip, LIP, np.uint8(0))
    return replace(lines, met=met).kept(np.flatnonzero(~stopped | lip))


def _walked(away_mm: Callable[[F32], F32], tip: F32, axis: F32, end: F32, tool: Tool) -> tuple[F32, Bool]:
    """Return how far out every shank (l,) can be walked, and whether it is stopped there.

    Each is walked by as much at a time as it is away from what may stop it.
    """
    far, stopped = end.copy(), np.zeros(len(end), dtype=bool)
    who, at = np.arange(len(end)), np.full(len(end), np.float32(tool.body.head_mm))
    while len(who) > FEW:
        free = away_mm(tip + at * axis) - _need_mm(at, tool)
        hit = np.flatnonzero(free < 0.0)
        stopped[who[hit]], far[who[hit]] = True, at[hit]
        at += free + np.float32(WALK_MM)
        on = np.flatnonzero((free >= 0.0) & (at < end))
        who, at, end = who.take(on), at.take(on), end.take(on)
        tip, axis = tip.take(on, axis=1), axis.take(on, axis=1)
    if len(who):
        steps = np.arange(max(1.0, np.ceil((end - at).max() / WALK_MM)), dtype=np.float32) * np.float32(WALK_MM)
        ats = np.minimum(at[:, None] + steps, np.maximum(at, end)[:, None])
        places = tip[:, :, None] + ats * axis[:, :, None]
        free = away_mm(places.reshape(3, -1)).reshape(ats.shape) - _need_mm(ats, tool)
        first = np.argmax(free < 0.0, axis=1)
        row = np.arange(len(who))
        stopped[who] = free[row, first] < 0.0
        far[who] = ats[row, first]
    return far, stopped


def _need_mm(at: F32, tool: Tool) -> F32:
    """Return how far from metal the shank's axis must stay at places behind the tip."""
    ramp = np.clip((at - np.float32(tool.body.head_mm)) * np.float32(1.0 / RAMP_MM), np.float32(0.0), np.float32(1.0))
    return np.float32(0.5 * tool.body.shank_mm) + np.float32(tool.clearance_mm) * ramp


def _heads(room: Room, lines: Lines, tool: Tool) -> Lines:
    """Return lines with HEAD where the head stands into the wall anywhere along its axis."""
    bad = np.zeros(len(lines.place), dtype=bool)
    for behind, radius in tool.touch.core_mm:
        bad |= room.at(lines.tip + behind * lines.axis) < radius - FIT_MM
    return replace(lines, met=lines.met | np.where(bad, HEAD, np.uint8(0)))


def _edges(room: Room, lines: Lines, tool: Tool) -> Lines:
    """Return lines with HEAD where the head's sharp edges stand into the wall."""
    clear = np.flatnonzero(lines.met == 0)
    if not len(tool.touch.rings_mm) or not len(clear):
        return lines
    tip, axis = lines.tip.take(clear, axis=1), lines.axis.take(clear, axis=1)
    least = np.argmin(np.abs(axis), axis=0)
    one = np.cross(axis, np.eye(3, dtype=np.float32)[:, least], axis=0)
    one /= np.sqrt((one**2).sum(axis=0))
    two = np.cross(axis, one, axis=0)
    bad = np.zeros(len(clear), dtype=bool)
    turn = np.linspace(0.0, 2.0 * np.pi, RING_POINTS, endpoint=False).astype(np.float32)
    round_it = one[:, :, None] * np.cos(turn) + two[:, :, None] * np.sin(turn)
    for behind, radius in tool.touch.rings_mm:
        ring = (tip + behind * axis)[:, :, None] + radius * round_it
        bad |= room.at(ring.reshape(3, -1)).reshape(-1, RING_POINTS).min(axis=1) < -FIT_MM
    met = lines.met.copy()
    met[clear[bad]] |= HEAD
    return replace(lines, met=met)
