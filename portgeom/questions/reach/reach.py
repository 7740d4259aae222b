"""Does a cutter get to the metal that is to come off, from the entry face or from the seat?

For every place of the wall to be cut, about a hundred straight tool lines through each opening are tried in
the port as it will then be. A place that is called reached has a line; one that is not has none among those
tried. Metal is weighed by volume.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal, TypeAlias

import numpy as np

from portgeom.geometry.arrays import F64, Int, frozen
from portgeom.geometry.room import STEP_MM, Room, room_in
from portgeom.geometry.skin import Wall, wall_of
from portgeom.job.faults import JobError
from portgeom.job.values import Cutter, Job, Note
from portgeom.model.lofted import LoftedPort, LoftedStage
from portgeom.questions.cutting.cutters import body_of
from portgeom.questions.reach.corners import TightCorner, corners_to_cut, tight_corners
from portgeom.questions.reach.cut_places import CutPlaces, cut_places
from portgeom.questions.reach.lines import GUIDE, HEAD, LIP, WallPlaces, Way
from portgeom.questions.reach.openings import (
    SIDES_IN,
    STEEPEST_DEG,
    SideIn,
    opening_of,
    passable_mm,
    rod_of,
    widest_mm,
)
from portgeom.questions.reach.patches import Patch, border_mm3, patches
from portgeom.questions.reach.tool_lines import LinesFound, try_lines
from portgeom.questions.reach.touch import COVER_MM, FIT_MM, Tool, touch_of
from portgeom.questions.reach.trial import WALK_MM
from portgeom.questions.shape.removal import Removal

Cause: TypeAlias = Literal["tool too short", "lip", "guide", "cutter too wide", "wall"]
CAUSES: tuple[Cause, ...] = ("tool too short", "lip", "guide", "cutter too wide", "wall")
"""What keeps a cutter from a place, the least first."""

SHORT, WIDE = CAUSES.index("tool too short"), CAUSES.index("cutter too wide")

USUAL = 0.95
"""Share of the metal that the usual stick-out is enough for."""

HALF = 0.5
"""A place belongs to a patch that is not reached if less of its metal than this is."""

CLEARANCE_MM = 0.5
"""How far the shank stays from metal where nothing else is asked."""


@dataclass(frozen=True, slots=True)
class Stopped:
    """Metal that a cutter does not get to from one side, by what stops it."""

    cause: Cause
    volume_mm3: float


@dataclass(frozen=True, slots=True)
class SideReach:
    """What a cutter gets to from one side.

    Attributes
    ----------
    side : "entry" or "seat"
    volume_mm3, share : float
        Of the metal, within the tool's own reach.
    share_error : float
        How far the share may be off, because the places stand apart.
    longest_mm, usual_mm : float
        Stick-out that the clear lines need, the shortest of each place: the longest of them, and what is
        enough for 95 percent of that metal. Also of lines longer than the tool; NaN where no line is clear.
    stopped : tuple of Stopped
        The rest of the metal by what stops the cutter there, the most first.
    taken : (n,) float
        Share of each place's metal that is reached, for pictures.
    """

    side: SideIn
    volume_mm3: float
    share: float
    share_error: float
    longest_mm: float
    usual_mm: float
    stopped: tuple[Stopped, ...]
    taken: F64


@dataclass(frozen=True, slots=True)
class Hindrance:
    """What keeps a cutter from a patch: the least of what stops it from both sides, and from which side."""

    cause: Cause
    side: SideIn


@dataclass(frozen=True, slots=True)
class Left:
    """Metal that is not reached: all of it, and the patches of it that are worth naming."""

    volume_mm3: float
    share: float
    patches: tuple[Patch[Hindrance], ...]


@dataclass(frozen=True, slots=True)
class CutterReach:
    """What one cutter gets to.

    Attributes
    ----------
    cutter : Cutter
    entry, seat : SideReach
    either_share : float
        Of the metal that is reached from one side or the other.
    stick_out_mm : float
        The longest stick-out needed if every place is cut from the nearer side; NaN where none is reached.
    neither : Left
    corners : tuple of TightCorner
    """

    cutter: Cutter
    entry: SideReach
    seat: SideReach
    either_share: float
    stick_out_mm: float
    neither: Left
    corners: tuple[TightCorner, ...]


@dataclass(frozen=True, slots=True)
class Reach:
    """What all cutters of a job get to.

    Attributes
    ----------
    volume_mm3 : float
        All the metal that is to come off.
    places : CutPlaces
        Where was asked.
    lines : int
        The most lines tried to each place from each side.
    clearance_mm : float
        That the shank keeps.
    sway_mm, fit_mm : float
        How much nearer than that a shank may come between two samples, and how far a head that fits may
        stand into the wall.
    cutters : tuple of CutterReach
    none : Left
        What no cutter reaches from either side.
    """

    volume_mm3: float
    places: CutPlaces
    lines: int
    clearance_mm: float
    sway_mm: float
    fit_mm: float
    cutters: tuple[CutterReach, ...]
    none: Left


def reach(
    port: LoftedPort,
    stage: LoftedStage,
    removed: Removal,
    cutters: Sequence[Cutter],
    *,
    clearance_mm: float = CLEARANCE_MM,
) -> Reach:
    """Return what cutters get to of the metal between a stage and the port wanted.

    Notes
    -----
    In front of the face and behind the last station nothing is in the way. The cutter's head has to touch
    the wall, or as near as a corner lets it, without standing into any other; a place in a corner counts by
    the share of its metal that the head then takes. The head has to be able to pass every section on its way
    in; how it is led there is not looked at.
    """
    present, after = stage.surface, wall_of(removed.after)
    places = cut_places(present, after, removed.volume_mm3)
    asked_at = WallPlaces(
        places.at_mm.T.astype(np.float32),
        places.into.T.astype(np.float32),
        places.metal_mm.astype(np.float32),
    )
    tools = [_tool(c, clearance_mm) for c in cutters]
    room = _room(after, tools)
    guide = rod_of(port.port.guide)
    widest = widest_mm(room, after)
    corners = corners_to_cut(present, removed.after)
    needs = {t.need_mm for t in tools}
    openings = {(side, need): opening_of(room, after, side, need) for side in SIDES_IN for need in needs}
    ways = [Way(openings[side, tool.need_mm], tool) for tool in tools for side in SIDES_IN]
    passable = {side: passable_mm(widest, side)[places.slab] for side in SIDES_IN}
    found = try_lines(room, guide, ways, asked_at)
    sides = [_side(way, of_it, passable[way.opening.side]) for way, of_it in zip(ways, found, strict=True)]
    asked = [sides[k : k + len(SIDES_IN)] for k in range(0, len(sides), len(SIDES_IN))]
    return Reach(
        volume_mm3=removed.volume_mm3,
        places=places,
        lines=max((w.opening.places_mm.shape[1] for w in ways), default=0),
        clearance_mm=clearance_mm,
        sway_mm=0.5 * WALK_MM,
        fit_mm=FIT_MM + COVER_MM,
        cutters=tuple(
            _cutter(places, c, sides, tight_corners(corners, t.body.radius_mm))
            for c, t, sides in zip(cutters, tools, asked, strict=True)
        ),
        none=_left(places, [s for sides in asked for s in sides]),
    )


def needs_cutters(job: Job) -> None:
    """Raise JobError for a job that has no cutter to ask about."""
    if not job.cutters:
        raise JobError(
            [
                Note(
                    "job.toml",
                    None,
                    "cutter",
                    "the job has no cutter, so nothing can be said of what they reach",
                    "add a [[cutter]] with name, shape, diameter, length, shank and reach",
                )
            ]
        )


@dataclass(frozen=True, slots=True)
class _Asked:
    """One side asked: share of each place's metal (n,) taken, stick-out (n,), cause (n,) of the rest."""

    side: SideIn
    share: F64
    stick_out_mm: F64
    cause: Int


def _tool(cutter: Cutter, clearance_mm: float) -> Tool:
    body = body_of(cutter)
    return Tool(body, touch_of(body), clearance_mm)


def _room(after: Wall, tools: Sequence[Tool]) -> Room:
    """Return the room in the port once cut, as far as any tool needs it."""
    widest = max((max(t.need_mm, t.body.radius_mm) for t in tools), default=1.0)
    shank = max((t.need_mm for t in tools), default=1.0)
    beyond = shank * float(np.tan(np.radians(STEEPEST_DEG))) + WALK_MM
    return room_in(after, most_mm=widest + 2.0 * STEP_MM, beyond_mm=beyond)


def _side(way: Way, found: LinesFound, passable_mm: F64) -> _Asked:
    """Return what a tool reaches from one side within its own length, and what stops the rest."""
    tool = way.tool
    enters = tool.body.radius_mm <= passable_mm + FIT_MM
    clear = enters & (found.share > 0.0)
    in_reach = clear & (found.stick_out_mm <= tool.body.reach_mm)
    met = found.met
    cause = np.select(
        [in_reach, clear, ~enters, met & LIP > 0, met & GUIDE > 0, met & HEAD > 0],
        [WIDE, SHORT, WIDE, CAUSES.index("lip"), CAUSES.index("guide"), WIDE],
        CAUSES.index("wall"),
    )
    return _Asked(
        way.opening.side,
        np.where(in_reach, found.share, 0.0).astype(np.float64),
        np.where(clear, found.stick_out_mm, np.nan).astype(np.float64),
        cause,
    )


def _cutter(places: CutPlaces, cutter: Cutter, sides: Sequence[_Asked], tight: tuple[TightCorner, ...]) -> CutterReach:
    entry, seat = (_side_reach(places, s) for s in sides)
    nearer = np.fmin(sides[0].stick_out_mm, sides[1].stick_out_mm)
    neither = _left(places, sides)
    return CutterReach(
        cutter=cutter,
        entry=entry,
        seat=seat,
        either_share=1.0 - neither.share,
        stick_out_mm=float(np.nanmax(nearer, initial=-np.inf)) if np.isfinite(nearer).any() else np.nan,
        neither=neither,
        corners=tight,
    )


def _side_reach(places: CutPlaces, asked: _Asked) -> SideReach:
    metal = places.volume_mm3
    total = float(metal.sum())
    got = float(asked.share @ metal)
    longest, usual = _stick_out(asked.stick_out_mm, metal)
    left = metal * (1.0 - asked.share)
    by_cause = np.bincount(asked.cause, weights=left, minlength=len(CAUSES))
    stopped = [Stopped(c, float(v)) for c, v in zip(CAUSES, by_cause, strict=True) if v > 0.0]
    return SideReach(
        side=asked.side,
        volume_mm3=got,
        share=got / total if total > 0.0 else 1.0,
        share_error=border_mm3(places, asked.share) / total if total > 0.0 else 0.0,
        longest_mm=longest,
        usual_mm=usual,
        stopped=tuple(sorted(stopped, key=lambda s: -s.volume_mm3)),
        taken=frozen(asked.share),
    )


def _stick_out(stick_out_mm: F64, metal: F64) -> tuple[float, float]:
    """Return the longest stick-out, and what is enough for USUAL of the metal; NaN where there is none."""
    known = np.flatnonzero(np.isfinite(stick_out_mm))
    if not len(known):
        return float("nan"), float("nan")
    order = known[np.argsort(stick_out_mm[known])]
    so_far = np.cumsum(metal[order])
    usual = order[int(np.searchsorted(so_far, USUAL * so_far[-1]))]
    return float(stick_out_mm[order[-1]]), float(stick_out_mm[usual])


def _left(places: CutPlaces, asked: Sequence[_Asked]) -> Left:
    """Return what none of several sides reaches."""
    n = len(places.volume_mm3)
    if not asked or not n:
        volume = float(places.volume_mm3.sum())
        return Left(volume, 1.0 if volume > 0.0 else 0.0, ())
    best = np.max([a.share for a in asked], axis=0)
    causes = np.array([a.cause for a in asked])
    least = np.argmin(causes, axis=0)
    left = places.volume_mm3 * (1.0 - best)
    sides = np.array([SIDES_IN.index(a.side) for a in asked])
    why = causes[least, np.arange(n)] * len(SIDES_IN) + sides[least]
    meaning = tuple(Hindrance(c, s) for c in CAUSES for s in SIDES_IN)
    return Left(
        float(left.sum()),
        float(left.sum() / places.volume_mm3.sum()),
        tuple(patches(places, best < HALF, left, why, meaning)),
    )
