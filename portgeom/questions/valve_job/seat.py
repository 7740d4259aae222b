"""What is a valve's seat like as cut: where each cut lies, where the valve seats, what is left of the insert?"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal, TypeAlias

from portgeom.job.values import PortKind, Valve
from portgeom.job.valve_values import ValveLimits

Source: TypeAlias = Literal["job", "common practice"]


@dataclass(frozen=True, slots=True)
class Limit:
    """A limit and whose it is. ``low`` or ``high`` is infinite where there is none that way."""

    low: float
    high: float
    source: Source

    def holds(self, value: float) -> bool:
        """Return whether a value lies within, ends included."""
        return self.low - 1e-9 <= value <= self.high + 1e-9


THROAT_PERCENT: dict[PortKind, Limit] = {
    "intake": Limit(85.0, 91.0, "common practice"),
    "exhaust": Limit(86.0, 90.0, "common practice"),
}
"""Throat over the valve's head, in percent: common practice, no source."""

CLEARANCE_MM: dict[PortKind, Limit] = {
    "intake": Limit(0.025, 0.065, "common practice"),
    "exhaust": Limit(0.040, 0.080, "common practice"),
}
"""Guide over stem, in diameter: common practice, no source; the maker of guide and valve has the last word."""

INSERT_WALL_MM = 1.5
RUNOUT_MM = 0.05
GUIDE_METAL_MM = 2.5
ROOM_MM = 1.5
"""Least wall of a seat insert, most runout of a seat to its guide, least metal round a guide, least room from a
valve's edge to a wall: common practice, no source."""


def limits_of(given: ValveLimits, kind: PortKind) -> dict[str, Limit]:
    """Return every limit by what it is of: the user's, else common practice's."""
    return {
        "throat percent": _between(given.throat_low_percent, given.throat_high_percent, THROAT_PERCENT[kind]),
        "clearance": _between(given.clearance_low_mm, given.clearance_high_mm, CLEARANCE_MM[kind]),
        "insert wall": _at_least(given.insert_wall_mm, INSERT_WALL_MM),
        "guide metal": _at_least(given.guide_metal_mm, GUIDE_METAL_MM),
        "room": _at_least(given.room_mm, ROOM_MM),
        "runout": Limit(0.0, given.runout_mm, "job")
        if given.runout_mm is not None
        else Limit(0.0, RUNOUT_MM, "common practice"),
    }


def _between(low: float | None, high: float | None, usual: Limit) -> Limit:
    if low is None and high is None:
        return usual
    return Limit(-math.inf if low is None else low, math.inf if high is None else high, "job")


def _at_least(given: float | None, usual: float) -> Limit:
    return Limit(usual, math.inf, "common practice") if given is None else Limit(given, math.inf, "job")


@dataclass(frozen=True, slots=True)
class Figure:
    """One figure of a valve job, and the limit it is held against; no limit where there is none.

    ``value`` is in mm or in percent, as ``unit`` says.
    """

    name: str
    value: float
    unit: Literal["mm", "percent", "degrees", "times"]
    limit: Limit | None = None

    @property
    def sound(self) -> bool:
        """Return whether it lies within its limit."""
        return self.limit is None or self.limit.holds(self.value)


@dataclass(frozen=True, slots=True)
class CutAt:
    """One cut of a seat and where it lies: outer and inner diameter, and how deep it goes."""

    angle_deg: float
    width_mm: float
    outer_mm: float
    inner_mm: float
    deep_mm: float
    seats: bool


@dataclass(frozen=True, slots=True)
class SeatSheet:
    """A seat and its guide on one sheet.

    Attributes
    ----------
    valve : Valve
    cuts : tuple of CutAt
        From the chamber inwards; empty where cuts or the contact's diameter were not given.
    figures : tuple of Figure
        What was measured or follows from it, nothing else.
    remarks : tuple of str
        What the cuts do not agree with.
    """

    valve: Valve
    cuts: tuple[CutAt, ...]
    figures: tuple[Figure, ...]
    remarks: tuple[str, ...]

    @property
    def found(self) -> bool:
        """Return whether something lies outside its limit, or does not agree."""
        return bool(self.remarks) or not all(f.sound for f in self.figures)


def seat_sheet(valve: Valve, *, throat_mm: float | None = None, boss_diameter_mm: float | None = None) -> SeatSheet:
    """Return the sheet of a valve's seat and guide.

    Parameters
    ----------
    throat_mm : float, optional
        Diameter of a circle as large as the throat measured in the port; the valve's own is told beside it.
    boss_diameter_mm : float, optional
        Of the boss round the guide, where the guide does not say.

    Notes
    -----
    A cut of angle a and width w along its slope, both from the plane of the seat, takes up w cos a of radius and
    goes w sin a deep. The contact's diameter is that of the middle of the cut with the seat's angle.
    """
    limits = limits_of(valve.limits, valve.kind)
    cuts = _cuts(valve)
    return SeatSheet(
        valve=valve,
        cuts=cuts,
        figures=(*_seat(valve, cuts, throat_mm, limits), *_guide(valve, boss_diameter_mm, limits)),
        remarks=_remarks(valve, cuts),
    )


def _cuts(valve: Valve) -> tuple[CutAt, ...]:
    seat = valve.seat
    if seat is None or not seat.cuts or seat.contact_diameter_mm is None:
        return ()
    first = next(k for k, c in enumerate(seat.cuts) if c.angle_deg == valve.seat_angle_deg)
    radial = [c.width_mm * math.cos(math.radians(c.angle_deg)) for c in seat.cuts]
    # the outer edge of the first cut, from the middle of the contact outwards
    outer = 0.5 * seat.contact_diameter_mm + 0.5 * radial[first] + sum(radial[:first])
    found = []
    for k, (cut, wide) in enumerate(zip(seat.cuts, radial, strict=True)):
        deep = cut.width_mm * math.sin(math.radians(cut.angle_deg))
        found.append(CutAt(cut.angle_deg, cut.width_mm, 2.0 * outer, 2.0 * (outer - wide), deep, k == first))
        outer -= wide
    return tuple(found)


def _seat(valve: Valve, cuts: tuple[CutAt, ...], throat_mm: float | None, limits: dict[str, Limit]) -> list[Figure]:
    head, seat = valve.head_diameter_mm, valve.seat
    figures = []
    bore = valve.throat_diameter_mm if throat_mm is None else throat_mm
    percent = 100.0 * bore / head
    name = (
        "throat of the valve's head, as the job says"
        if throat_mm is None
        else "throat of the valve's head, as measured"
    )
    figures.append(Figure(name, percent, "percent", limits["throat percent"]))
    if seat is None:
        return figures
    contact = next((c for c in cuts if c.seats), None)
    if seat.contact_diameter_mm is not None:
        figures.append(Figure("middle of the contact, diameter", seat.contact_diameter_mm, "mm"))
    if contact is not None:
        figures.append(Figure("valve's edge outside the contact", 0.5 * (head - contact.outer_mm), "mm"))
    if seat.insert_diameter_mm is not None:
        wall = 0.5 * (seat.insert_diameter_mm - bore)
        figures.append(Figure("wall of the insert left at the throat", wall, "mm", limits["insert wall"]))
    if seat.runout_mm is not None:
        figures.append(Figure("runout of the seat", seat.runout_mm, "mm", limits["runout"]))
    if seat.depth_mm is not None:
        figures.append(Figure("valve's head below the chamber", seat.depth_mm, "mm"))
    return figures


def _guide(valve: Valve, boss_mm: float | None, limits: dict[str, Limit]) -> list[Figure]:
    guide = valve.guide
    if guide is None:
        return []
    figures = []
    if guide.inner_diameter_mm is not None:
        clearance = guide.inner_diameter_mm - valve.stem_diameter_mm
        figures.append(Figure("stem's clearance in the guide", clearance, "mm", limits["clearance"]))
    boss = boss_mm if guide.boss_diameter_mm is None else guide.boss_diameter_mm
    if guide.outer_diameter_mm is not None:
        if guide.inner_diameter_mm is not None:
            wall = 0.5 * (guide.outer_diameter_mm - guide.inner_diameter_mm)
            figures.append(Figure("wall of the guide", wall, "mm"))
        if boss is not None:
            metal = 0.5 * (boss - guide.outer_diameter_mm)
            figures.append(Figure("metal left round the guide", metal, "mm", limits["guide metal"]))
    if guide.boss_length_mm is not None:
        figures.append(Figure("length of the boss", guide.boss_length_mm, "mm"))
        figures.append(
            Figure("length of the boss over the stem", guide.boss_length_mm / valve.stem_diameter_mm, "times")
        )
    return figures


def _remarks(valve: Valve, cuts: tuple[CutAt, ...]) -> tuple[str, ...]:
    remarks = []
    contact = next((c for c in cuts if c.seats), None)
    if contact is not None and contact.outer_mm > valve.head_diameter_mm:
        remarks.append("the contact runs past the valve's edge")
    if cuts and valve.seat is not None:
        insert = valve.seat.insert_diameter_mm
        if insert is not None and cuts[0].outer_mm > insert:
            remarks.append("the first cut runs past the insert into the head")
        if cuts[-1].inner_mm < valve.throat_diameter_mm - 0.1:
            remarks.append("the last cut ends inside the throat: the throat will cut it away, or the cuts are too wide")
    # the valve's own is a radial width
    if contact is not None and abs(0.5 * (contact.outer_mm - contact.inner_mm) - valve.seat_width_mm) > 0.1:
        remarks.append("the seating cut is not as wide as the valve's seat_width says")
    return tuple(remarks)
