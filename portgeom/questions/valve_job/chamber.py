"""How near do valves come to the chamber's wall and the bore's, and what does milling the deck do to the chamber?"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from portgeom.geometry.arrays import F64
from portgeom.geometry.outline import Outline
from portgeom.job.flow_values import Engine
from portgeom.job.values import PortKind, Valve
from portgeom.job.valve_values import Chamber
from portgeom.questions.match.edges import inside
from portgeom.questions.valve_job.limits import Limit, limits_of

CLOCK_DEG = tuple(30.0 * k for k in range(12))


@dataclass(frozen=True, slots=True)
class RoomAt:
    """How far a valve's edge is from a wall in one direction from the valve's middle.

    None for a wall that was not given. Negative where the edge lies beyond it. Clock as seen from the chamber, the
    manifold face at 12.
    """

    clock_deg: float
    chamber_mm: float | None
    bore_mm: float | None


@dataclass(frozen=True, slots=True)
class ValveRoom:
    """One valve and the room round it.

    ``least_chamber_mm`` and ``least_bore_mm`` are the least all round, None where there is no such wall.
    """

    kind: PortKind
    head_mm: float
    centre_mm: F64
    round: tuple[RoomAt, ...]
    least_chamber_mm: float | None
    least_bore_mm: float | None
    limit: Limit

    @property
    def sound(self) -> bool:
        """Return whether every wall is as far as the limit asks."""
        known = [x for x in (self.least_chamber_mm, self.least_bore_mm) if x is not None]
        return all(self.limit.holds(x) for x in known)


@dataclass(frozen=True, slots=True)
class Milled:
    """The chamber once the deck is milled: what comes off, its volume, and its compression ratio if known."""

    deck_mm: float
    volume_cc: float
    ratio: float | None


@dataclass(frozen=True, slots=True)
class ChamberSheet:
    """A chamber on one sheet.

    Attributes
    ----------
    valves : tuple of ValveRoom
    between_mm : float or None
        Between the edges of the two valves.
    deck_area_mm2 : float or None
        Of the chamber at the deck.
    now : Milled or None
        As poured.
    milled : Milled or None
        Once the job's deck milling is done.
    to_wanted_mm : float or None
        What to mill off the deck for the volume wanted; negative where it is too small already.
    assumed : tuple of str
        What the compression ratio takes for granted.
    """

    valves: tuple[ValveRoom, ...]
    between_mm: float | None
    deck_area_mm2: float | None
    now: Milled | None
    milled: Milled | None
    to_wanted_mm: float | None
    assumed: tuple[str, ...]

    @property
    def found(self) -> bool:
        """Return whether a valve comes too near to something."""
        crossed = self.between_mm is not None and self.between_mm < 0.0
        return crossed or not all(v.sound for v in self.valves)


def chamber_sheet(
    given: Chamber, valves: Sequence[Valve], *, deck_mm: float = 0.0, engine: Engine | None = None
) -> ChamberSheet:
    """Return what is known of a chamber.

    Parameters
    ----------
    deck_mm : float
        What is to be milled off the deck.
    engine : Engine, optional
        Its bore stands for the chamber's where that is not given; its stroke is needed for a compression ratio.

    Notes
    -----
    Milling takes a slice of the chamber's area at the deck: volume less area times depth, exact as far as the walls
    stand square to the deck that deep.
    """
    chamber = given
    if chamber.bore_mm is None and engine is not None:
        chamber = replace(given, bore_mm=engine.bore_mm)
    stroke = None if engine is None else engine.stroke_mm
    rooms = tuple(
        _room(v, centre, chamber)
        for v in valves
        if (centre := chamber.intake_mm if v.kind == "intake" else chamber.exhaust_mm) is not None
    )
    between = None
    if len(rooms) == 2:
        apart = float(np.linalg.norm(rooms[0].centre_mm - rooms[1].centre_mm))
        between = apart - 0.5 * (rooms[0].head_mm + rooms[1].head_mm)
    area = chamber.deck_area_mm2
    if area is None and chamber.outline is not None:
        area = chamber.outline.area_mm2
    poured = chamber.poured_cc
    after = None
    if poured is not None and area is not None and deck_mm > 0.0:
        left = poured - area * deck_mm / 1000.0
        after = Milled(deck_mm, left, _ratio(chamber, left, stroke)) if left > 0.0 else None
    to_wanted = None
    if poured is not None and area is not None and chamber.wanted_cc is not None:
        to_wanted = (poured - chamber.wanted_cc) * 1000.0 / area
    return ChamberSheet(
        valves=rooms,
        between_mm=between,
        deck_area_mm2=area,
        now=None if poured is None else Milled(0.0, poured, _ratio(chamber, poured, stroke)),
        milled=after,
        to_wanted_mm=to_wanted,
        assumed=_assumed(chamber) if poured is not None and _ratio(chamber, poured, stroke) is not None else (),
    )


def _room(valve: Valve, centre_mm: F64, chamber: Chamber) -> ValveRoom:
    radius = 0.5 * valve.head_diameter_mm
    wall = None if chamber.outline is None else _to_wall(chamber.outline, centre_mm)
    bore = None if chamber.bore_mm is None else _to_bore(0.5 * chamber.bore_mm, centre_mm)
    least_wall = None
    if chamber.outline is not None:
        least_wall = _nearest(chamber.outline, centre_mm) - radius
    least_bore = None if chamber.bore_mm is None else 0.5 * chamber.bore_mm - float(np.hypot(*centre_mm)) - radius
    return ValveRoom(
        kind=valve.kind,
        head_mm=valve.head_diameter_mm,
        centre_mm=centre_mm,
        round=tuple(
            RoomAt(
                clock,
                None if wall is None else float(wall[k]) - radius,
                None if bore is None else float(bore[k]) - radius,
            )
            for k, clock in enumerate(CLOCK_DEG)
        ),
        least_chamber_mm=least_wall,
        least_bore_mm=least_bore,
        limit=limits_of(valve.limits, valve.kind)["room"],
    )


def _rays() -> F64:
    clock = np.radians(CLOCK_DEG)
    return np.column_stack([np.sin(clock), np.cos(clock)])


def _to_wall(outline: Outline, centre_mm: F64) -> F64:
    """Return how far (12,) the wall is from a place in every direction: where a line first meets it."""
    ray = _rays()
    start, run = outline.points_mm - centre_mm, np.roll(outline.points_mm, -1, axis=0) - outline.points_mm
    cross = ray[:, None, 0] * run[None, :, 1] - ray[:, None, 1] * run[None, :, 0]
    safe = np.where(cross == 0.0, np.inf, cross)
    t = (start[:, 0] * run[:, 1] - start[:, 1] * run[:, 0])[None] / safe
    share = (start[None, :, 0] * ray[:, None, 1] - start[None, :, 1] * ray[:, None, 0]) / safe
    hit = (cross != 0.0) & (share >= -1e-12) & (share <= 1.0 + 1e-12) & (t > 0.0)
    return np.where(hit, t, np.inf).min(axis=1)


def _to_bore(radius_mm: float, centre_mm: F64) -> F64:
    """Return how far (12,) a circle about (0, 0) is from a place inside it in every direction."""
    ray = _rays()
    along = ray @ centre_mm
    return -along + np.sqrt(along**2 + radius_mm**2 - float(centre_mm @ centre_mm))


def _nearest(outline: Outline, centre_mm: F64) -> float:
    """Return the distance of a place to the nearest point of an outline, negative outside it."""
    start, run = outline.points_mm, np.roll(outline.points_mm, -1, axis=0) - outline.points_mm
    away = centre_mm - start
    share = np.clip((away * run).sum(axis=1) / np.maximum((run**2).sum(axis=1), 1e-300), 0.0, 1.0)
    gap = float(np.linalg.norm(away - share[:, None] * run, axis=1).min())
    return gap if bool(inside(centre_mm[None], outline.points_mm)[0]) else -gap


def _ratio(chamber: Chamber, volume_cc: float, stroke: float | None) -> float | None:
    """Return the compression ratio: swept and left over what is left; None where a size is missing."""
    bore, gasket = chamber.bore_mm, chamber.gasket_thickness_mm
    if bore is None or stroke is None or gasket is None:
        return None
    swept = 0.25 * math.pi * bore**2 * stroke / 1000.0
    gasket_bore = bore if chamber.gasket_bore_mm is None else chamber.gasket_bore_mm
    left = (
        volume_cc
        + 0.25 * math.pi * gasket_bore**2 * gasket / 1000.0
        + 0.25 * math.pi * bore**2 * (chamber.deck_clearance_mm or 0.0) / 1000.0
        + (chamber.piston_cc or 0.0)
    )
    return (swept + left) / left if left > 0.0 else None


def _assumed(chamber: Chamber) -> tuple[str, ...]:
    lines = []
    if chamber.gasket_bore_mm is None:
        lines.append("the head gasket's bore is taken as the cylinder's")
    if chamber.deck_clearance_mm is None:
        lines.append("the piston is taken to come level with the block's deck")
    if chamber.piston_cc is None:
        lines.append("the piston's crown is taken as flat")
    return tuple(lines)
