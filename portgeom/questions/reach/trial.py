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
from portgeom.questions.reach.lines import GUIDE, HEAD, LEAST_OUT, LIP, Kit, Known, Lines, WallPlaces
from portgeom.questions.reach.openings import Rod
from portgeom.questions.reach.touch import FIT_MM

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

STILL_ON = 0.8
"""Shanks that have been walked to their end are left out once fewer than this share is still on its way."""

FEW = 400
"""So few shanks are walked in steps of WALK_MM all at once."""


def tried(room: Room, guide: Rod | None, kit: Kit, places: WallPlaces, lines: Lines, known: Known) -> Lines:
    """Return the lines that teach something: those that are clear, and those that one thing alone stops."""
    lines = _eased(room, places, _glanced(room, kit, lines))
    lines = known.of_use(lines)
    if guide is not None:
        lines = known.of_use(_past(guide, kit, lines))
    lines = known.of_use(_shanks(room, kit, lines))
    lines = known.of_use(_heads(room, kit, lines))
    return known.of_use(_edges(room, kit, lines))


def _glanced(room: Room, kit: Kit, lines: Lines) -> Lines:
    """Return the lines that do not run through metal at one of a few places, at the price of one look each."""
    live = np.flatnonzero(lines.out >= LEAST_OUT)
    tip, axis = lines.tip.take(live, axis=1), lines.axis.take(live, axis=1)
    way, out = lines.way.take(live), lines.out.take(live)
    start = kit.head_mm.take(way) + np.float32(RAMP_MM)
    blocked = kit.need_mm.take(way) - np.float32(room.nearest_error_mm + FIT_MM)
    run = lines.length.take(live) - start
    for share in np.array(GLANCES, dtype=np.float32):
        at = start + share * run
        at_lip = (1 - share) * run * out <= LIP_MM
        on = np.flatnonzero(at_lip | (room.nearest(tip + at * axis) >= blocked))
        live, out, run = live.take(on), out.take(on), run.take(on)
        start, blocked = start.take(on), blocked.take(on)
        tip, axis = tip.take(on, axis=1), axis.take(on, axis=1)
    return lines.kept(live)


def _eased(room: Room, places: WallPlaces, lines: Lines) -> Lines:
    """Return lines with heads that stood into a second wall moved until they clear it.

    The gap this leaves at the wall they should touch is what tells how much of the metal they take. Where a
    head cannot be moved clear, or takes nothing, it is wider than the place.
    """
    place = lines.aim - lines.way * places.at_mm.shape[1]
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
    away = moved - radius * places.into.take(place, axis=1)
    gap = np.maximum(np.sqrt((away**2).sum(axis=0)) - radius, np.float32(0.0))
    lost = np.maximum(0.0, gap - FIT_MM) / places.metal_mm.take(place)
    share = np.clip(1.0 - lost, 0.0, 1.0).astype(np.float32)
    met = lines.met | np.where((lack > FIT_MM) | (share <= 0.0), HEAD, np.uint8(0))
    return replace(lines, tip=lines.tip + moved, share=share, met=met)


def _past(guide: Rod, kit: Kit, lines: Lines) -> Lines:
    """Return lines with GUIDE where head or shank meets it."""
    near = np.flatnonzero(guide.may_meet(lines.tip, lines.axis, np.maximum(kit.radius_mm, kit.need_mm).take(lines.way)))
    some = lines.kept(near)
    _, stopped = _walked(guide.distance_mm, kit, some, some.length)
    stopped |= _into(guide.distance_mm, kit, some, 0.0)
    met = lines.met.copy()
    met[near[stopped]] |= GUIDE
    return replace(lines, met=met)


def _shanks(room: Room, kit: Kit, lines: Lines) -> Lines:
    """Return the lines whose shanks do not meet the wall, with LIP where they meet that."""
    # a slanting shank comes nearest to the lip outside the opening's plane
    out = np.minimum(lines.out, np.float32(1.0))
    end = lines.length + kit.need_mm.take(lines.way) * np.sqrt(1.0 / out**2 - 1.0).astype(np.float32)
    at, stopped = _walked(room.at, kit, lines, end)
    lip = stopped & ((lines.length - at) * out < LIP_MM)
    met = lines.met | np.where(lip, LIP, np.uint8(0))
    return replace(lines, met=met).kept(np.flatnonzero(~stopped | lip))


def _walked(away_mm: Callable[[F32], F32], kit: Kit, lines: Lines, end: F32) -> tuple[F32, Bool]:
    """Return how far out from its tip every shank (l,) can be walked, and whether it is stopped there.

    Each is walked by as much at a time as it is away from what may stop it and WALK_MM more, and looked at
    last at its end.
    """
    head = kit.head_mm.take(lines.way)
    tip, axis = lines.tip + head * lines.axis, lines.axis
    bare, clearance, left = kit.bare_mm.take(lines.way), kit.clearance_mm.take(lines.way), end - head
    at, far, stopped = np.zeros_like(left), left.copy(), np.zeros(len(left), dtype=bool)
    who, on = np.arange(len(left)), np.ones(len(left), dtype=bool)
    while len(who) > FEW:
        free = away_mm(tip + at * axis) - bare - clearance * _ramp(at)
        hit = np.flatnonzero(on & (free < 0.0))
        stopped[who[hit]], far[who[hit]] = True, at[hit]
        on &= (free >= 0.0) & (at < left)
        at = np.minimum(at + free + np.float32(WALK_MM), left)
        go = np.flatnonzero(on)
        if len(go) < STILL_ON * len(who):
            who, on, at, left = who.take(go), on.take(go), at.take(go), left.take(go)
            tip, axis = tip.take(go, axis=1), axis.take(go, axis=1)
            bare, clearance = bare.take(go), clearance.take(go)
    if on.any():
        steps = np.arange(np.ceil((left - at)[on].max() / WALK_MM) + 1.0, dtype=np.float32) * np.float32(WALK_MM)
        ats = np.minimum(at[:, None] + steps, left[:, None])
        q = tip[:, :, None] + ats * axis[:, :, None]
        free = away_mm(q.reshape(3, -1)).reshape(ats.shape) - bare[:, None] - clearance[:, None] * _ramp(ats)
        first = np.argmax(free < 0.0, axis=1)
        row = np.arange(len(who))
        hit = np.flatnonzero(on & (free[row, first] < 0.0))
        stopped[who[hit]], far[who[hit]] = True, ats[hit, first[hit]]
    return head + far, stopped


def _ramp(behind_head: F32) -> F32:
    """Return which share of its clearance the shank needs so far behind the head."""
    return np.clip(behind_head * np.float32(1.0 / RAMP_MM), np.float32(0.0), np.float32(1.0))


def _into(away_mm: Callable[[F32], F32], kit: Kit, lines: Lines, fit_mm: float) -> Bool:
    """Return which heads (l,) stand into something by more than what fits, anywhere along their axis."""
    bad = np.zeros(len(lines.aim), dtype=bool)
    for number, tool in enumerate(w.tool for w in kit.ways):
        which = np.flatnonzero(lines.way == number)
        behind, radius = tool.touch.core_mm.T
        balls = lines.tip.take(which, axis=1)[:, :, None] + lines.axis.take(which, axis=1)[:, :, None] * behind
        away = away_mm(balls.reshape(3, -1)).reshape(-1, len(behind))
        bad[which] = (away < radius - np.float32(fit_mm)).any(axis=1)
    return bad


def _heads(room: Room, kit: Kit, lines: Lines) -> Lines:
    """Return lines with HEAD where the head stands into the wall anywhere along its axis."""
    return replace(lines, met=lines.met | np.where(_into(room.at, kit, lines, FIT_MM), HEAD, np.uint8(0)))


def _edges(room: Room, kit: Kit, lines: Lines) -> Lines:
    """Return lines with HEAD where the head's sharp edges stand into the wall."""
    met = lines.met.copy()
    turn = np.linspace(0.0, 2.0 * np.pi, RING_POINTS, endpoint=False).astype(np.float32)
    for number, tool in enumerate(w.tool for w in kit.ways):
        clear = np.flatnonzero((lines.way == number) & (lines.met == 0))
        if not len(tool.touch.rings_mm) or not len(clear):
            continue
        tip, axis = lines.tip.take(clear, axis=1), lines.axis.take(clear, axis=1)
        least = np.argmin(np.abs(axis), axis=0)
        one = np.cross(axis, np.eye(3, dtype=np.float32)[:, least], axis=0)
        one /= np.sqrt((one**2).sum(axis=0))
        two = np.cross(axis, one, axis=0)
        round_it = one[:, :, None] * np.cos(turn) + two[:, :, None] * np.sin(turn)
        for behind, radius in tool.touch.rings_mm:
            ring = (tip + behind * axis)[:, :, None] + radius * round_it
            least_room = room.at(ring.reshape(3, -1)).reshape(-1, RING_POINTS).min(axis=1)
            met[clear[least_room < -FIT_MM]] |= HEAD
    return replace(lines, met=met)
