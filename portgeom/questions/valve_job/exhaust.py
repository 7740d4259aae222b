"""Is an exhaust port as exhausts are commonly made: throat for its valve, area growing to the face, floor kept?"""

from __future__ import annotations

import math
from dataclasses import dataclass

from portgeom.geometry.surface import Surface
from portgeom.job.values import Valve
from portgeom.job.valve_values import ValveLimits
from portgeom.questions.shape.taper import Taper
from portgeom.questions.valve_job.limits import Limit, limits_of

FACE_PERCENT = Limit(115.0, 135.0, "common practice")
"""Area at the face over area at the throat, in percent: common practice, no source."""

FLOOR_KEPT_MM = 0.3
"""A floor that is lower by less is kept: a finish takes as much."""


@dataclass(frozen=True, slots=True)
class Exhaust:
    """An exhaust port held against common practice.

    Attributes
    ----------
    throat_percent : float or None
        Diameter of a circle as large as the throat, over the valve's head; None where no exhaust valve is given.
    throat_limit : Limit
    face_percent : float
        Area at the face over area at the throat.
    face_limit : Limit
    floor_lower_mm : float
        The most by which the floor lies lower than as cast; 0 where it does not.
    """

    throat_percent: float | None
    throat_limit: Limit
    face_percent: float
    face_limit: Limit
    floor_lower_mm: float

    @property
    def floor_kept(self) -> bool:
        """Return whether the floor is still where it was cast."""
        return self.floor_lower_mm <= FLOOR_KEPT_MM

    @property
    def found(self) -> bool:
        """Return whether anything is otherwise than common practice has it."""
        throat = self.throat_percent is None or self.throat_limit.holds(self.throat_percent)
        return not (throat and self.face_limit.holds(self.face_percent) and self.floor_kept)


def exhaust(taper: Taper, valve: Valve | None, *, cast: Surface, now: Surface, to_mm: float) -> Exhaust:
    """Return how an exhaust port stands to common practice.

    Parameters
    ----------
    cast, now : Surface
        The port as cast, and the one whose taper this is.
    to_mm : float
        How far along the path the floor is looked at: to the throat.
    """
    given = ValveLimits() if valve is None else valve.limits
    throat = None
    if valve is not None:
        throat = 100.0 * math.sqrt(4.0 * taper.seat_area_mm2 / math.pi) / valve.head_diameter_mm
    return Exhaust(
        throat_percent=throat,
        throat_limit=limits_of(given, "exhaust")["throat percent"],
        face_percent=100.0 * taper.entry_area_mm2 / taper.seat_area_mm2,
        face_limit=FACE_PERCENT,
        floor_lower_mm=floor_lower_mm(cast, now, to_mm=to_mm),
    )


def floor_lower_mm(cast: Surface, now: Surface, *, to_mm: float) -> float:
    """Return the most by which the lowest of a section lies lower now than as cast, up to a distance; 0 if nowhere."""
    last = cast.chart.slab_at(to_mm)
    lowest = [s.points_mm[: last + 1, :, 1].min(axis=1) for s in (cast, now)]
    return max(0.0, float((lowest[0] - lowest[1]).max()))
