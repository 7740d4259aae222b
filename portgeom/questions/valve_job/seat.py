"""What is a valve's seat like as cut: where each cut lies, where the valve seats, what is left of the insert?"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Literal

from portgeom.job.values import Valve
from portgeom.questions.valve_job.limits import Limit, limits_of

NOTHING: Mapping[str, float] = MappingProxyType({})


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


def seat_sheet(
    valve: Valve, *, throats_mm: Mapping[str, float] = NOTHING, boss_diameter_mm: float | None = None
) -> SeatSheet:
    """Return the sheet of a valve's seat and guide.

    Parameters
    ----------
    throats_mm : mapping of str to float, optional
        Diameter of a circle as large as the throat measured in each port, by its name; without any the job's own
        figure is told.
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
        figures=(*_seat(valve, cuts, throats_mm, limits), *_guide(valve, boss_diameter_mm, limits)),
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


def _seat(
    valve: Valve, cuts: tuple[CutAt, ...], throats_mm: Mapping[str, float], limits: dict[str, Limit]
) -> list[Figure]:
    head, seat = valve.head_diameter_mm, valve.seat
    told = throats_mm or {"": valve.throat_diameter_mm}
    figures = [
        Figure(
            f"throat to valve, port {name}" if name else "throat to valve, as given",
            100.0 * bore / head,
            "percent",
            limits["throat percent"],
        )
        for name, bore in told.items()
    ]
    bore = max(told.values())
    if seat is None:
        return figures
    contact = next((c for c in cuts if c.seats), None)
    if seat.contact_diameter_mm is not None:
        figures.append(Figure("contact, middle diameter", seat.contact_diameter_mm, "mm"))
    if contact is not None:
        figures.append(Figure("valve's edge outside contact", 0.5 * (head - contact.outer_mm), "mm"))
    if seat.insert_diameter_mm is not None:
        wall = 0.5 * (seat.insert_diameter_mm - bore)
        figures.append(Figure("insert wall left at the throat", wall, "mm", limits["insert wall"]))
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
        figures.append(Figure("boss length over the stem", guide.boss_length_mm / valve.stem_diameter_mm, "times"))
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
