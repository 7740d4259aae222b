"""Within what should the figures of a valve job lie: what the user says, else common practice?"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal, TypeAlias

from portgeom.job.values import PortKind
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
