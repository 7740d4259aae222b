"""Does a run of areas taper smoothly: no necks, no bellies against the plan, no growth too steep?"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal, TypeAlias

import numpy as np

from portgeom.geometry.arrays import F64, Int
from portgeom.job.values import Limits, PlaceName, Schedule

Against: TypeAlias = Literal["straight", "schedule", "places"]

LISTED_PERCENT = 0.1
"""Necks and bellies are listed from this size."""

GROWTH_OVER_MM = 10.0
"""Growth is a mean over this length, so a step in a reading is not a wall flaring out; between stations that
lie further apart it is the mean from one to the next."""

LEVEL = 1e-9
"""Areas this close, as a share, are level: one plateau."""


@dataclass(frozen=True, slots=True)
class Dip:
    """A neck (area falls, then rises) or a belly (rises, then falls).

    Attributes
    ----------
    percent : float
        Its prominence over the nearer shoulder, as a share of that shoulder.
    at_stations_percent : float
        The same, counting measured stations only; what is more was made by the loft between them.
    planned : bool
        Whether the line the area is held against turns here too, and as far within ``neck_percent``.
    """

    distance_mm: float
    area_mm2: float
    percent: float
    at_stations_percent: float
    planned: bool

    @property
    def between_stations(self) -> bool:
        """Return whether no measured station shows it."""
        return self.at_stations_percent < LISTED_PERCENT


@dataclass(frozen=True, slots=True)
class Deviation:
    """The place where the area stands furthest above or below the line, in percent of the line."""

    distance_mm: float
    percent: float


@dataclass(frozen=True, slots=True)
class Growth:
    """The steepest growth in the direction of flow, as the full angle of a cone; negative if none grows."""

    distance_mm: float
    cone_angle_deg: float


@dataclass(frozen=True, slots=True)
class Taper:
    """Flow area from the face to the throat, held against a line.

    ``line_mm2`` (j, 2) are the line's corners: distance and area. An exhaust flows from the throat to the face;
    ``narrows_percent`` is how much less area its face has than its throat where no schedule wants it so, 0 for one
    that grows, and for an intake.
    """

    against: Against
    line_mm2: F64
    entry_area_mm2: float
    seat_area_mm2: float
    worst_above: Deviation
    worst_below: Deviation
    necks: tuple[Dip, ...]
    bellies: tuple[Dip, ...]
    steepest: Growth
    smooth: bool
    exhaust: bool = False
    narrows_percent: float = 0.0


def taper_of(
    distance_mm: F64,
    flow_area_mm2: F64,
    *,
    station_slab: Int,
    places: tuple[PlaceName, ...],
    throat_mm: float,
    schedule: Schedule | None,
    limits: Limits,
    exhaust: bool = False,
) -> Taper:
    """Return how smoothly an area runs from the first slab to the throat.

    The area is held against the user's schedule, else against straight pieces through the areas at the
    stations whose place is named, else against one straight line. A neck or belly where the line
    itself turns that way, and as far, is planned and does not make the taper rough.

    An exhaust flows the other way: its growth is counted from the throat to the face, and a face smaller than the
    throat by over ``neck_percent`` makes its taper rough, though the area nowhere falls and rises again: the port
    narrows all the way out. Necks and bellies are the same seen from either end.
    """
    last = int(np.argmin(np.abs(distance_mm - throat_mm)))
    s, area = distance_mm[: last + 1], flow_area_mm2[: last + 1]
    stations = station_slab[station_slab <= last]
    against, line = _line(s, area, stations, places, schedule)
    share = 100.0 * (area / np.interp(s, line[:, 0], line[:, 1]) - 1.0)
    above, below = int(np.argmax(share)), int(np.argmin(share))
    slack = 0.01 * limits.neck_percent
    necks = _dips(s, area, stations, line, sign=1.0, slack=slack)
    bellies = _dips(s, area, stations, line, sign=-1.0, slack=slack)
    steepest = _growth(s, area, stations, exhaust=exhaust)
    rough = [n for n in necks if not n.planned and n.at_stations_percent > limits.neck_percent]
    narrows = _narrows_percent(s, area, line, scheduled=against == "schedule") if exhaust else 0.0
    even = steepest.cone_angle_deg <= limits.cone_angle_deg and narrows <= limits.neck_percent
    return Taper(
        against=against,
        line_mm2=line,
        entry_area_mm2=float(area[0]),
        seat_area_mm2=float(area[-1]),
        worst_above=Deviation(float(s[above]), float(share[above])),
        worst_below=Deviation(float(s[below]), float(share[below])),
        necks=necks,
        bellies=bellies,
        steepest=steepest,
        smooth=not rough and even,
        exhaust=exhaust,
        narrows_percent=narrows,
    )


def _narrows_percent(s: F64, area: F64, line: F64, *, scheduled: bool) -> float:
    """Return how much smaller the face is than the throat, in percent of it, beyond what a schedule of both wants."""
    spans = scheduled and line[0, 0] <= s[0] and line[-1, 0] >= s[-1]
    face, throat = np.interp(s[[0, -1]], line[:, 0], line[:, 1])
    wanted = min(1.0, float(face / throat)) if spans else 1.0
    return max(0.0, 100.0 * (wanted - float(area[0] / area[-1])))


def _line(
    s: F64, area: F64, stations: Int, places: tuple[PlaceName, ...], schedule: Schedule | None
) -> tuple[Against, F64]:
    named = {p: int(j) for p, j in zip(places, stations, strict=False) if p}
    if schedule is not None:
        rows = list(schedule.by_distance)
        rows += [(float(s[named[p]]), a) for p, a in schedule.by_place if p in named]
        return "schedule", np.array(sorted(rows))
    turns = sorted({0, len(s) - 1, *named.values()})
    line = np.column_stack([s[turns], area[turns]])
    return ("places" if len(turns) > 2 else "straight"), line


def _dips(s: F64, area: F64, stations: Int, line: F64, *, sign: float, slack: float) -> tuple[Dip, ...]:
    """Return the necks of an area, or with sign -1 its bellies, from face to throat."""
    value = sign * area
    dips = []
    for first, last in _plateaus(value, LEVEL * float(area.max())):
        left, right = _shoulder(value, first, -1), _shoulder(value, last, 1)
        if left is None or right is None:
            continue
        shoulder = min(value[left], value[right])
        percent = 100.0 * float((shoulder - value[first]) / abs(shoulder))
        if percent < LISTED_PERCENT:
            continue
        inside = stations[(stations > left) & (stations < right)]
        deepest = float(value[inside].min(initial=shoulder)) if len(inside) else float(shoulder)
        seen = 100.0 * float((shoulder - deepest) / abs(shoulder))
        place = 0.5 * float(s[first] + s[last])
        planned = _planned(line, float(area[first]), float(s[left]), float(s[right]), sign, slack)
        dips.append(Dip(place, float(area[first]), percent, max(0.0, seen), planned))
    return tuple(dips)


def _plateaus(value: F64, level: float) -> list[tuple[int, int]]:
    """Return first and last index of every level run that is lower than both its neighbours."""
    step = np.diff(value)
    move = np.where(np.abs(step) <= level, 0, np.sign(step)).astype(int)
    moving = np.flatnonzero(move)
    falls, rises = moving[:-1], moving[1:]
    lowest = (move[falls] < 0) & (move[rises] > 0)
    return [(int(a) + 1, int(b)) for a, b in zip(falls[lowest], rises[lowest], strict=True)]


def _shoulder(value: F64, start: int, way: int) -> int | None:
    """Return the highest place before something lower than ``start`` is met; None if it never rises."""
    side = value[start + way :: way] if start + way >= 0 else value[:0]
    lower = np.flatnonzero(side < value[start])
    side = side[: lower[0]] if len(lower) else side
    if not len(side) or side.max() <= value[start]:
        return None
    return start + way * (1 + int(np.argmax(side)))


def _planned(line: F64, area: float, left: float, right: float, sign: float, slack: float) -> bool:
    """Return whether the line turns the same way between a dip's shoulders, and as far, within a share."""
    slope = np.diff(line[:, 1]) / np.diff(line[:, 0])
    corner, value = line[1:-1, 0], line[1:-1, 1]
    same = (sign * slope[:-1] < 0.0) & (sign * slope[1:] > 0.0)
    deep_enough = sign * area >= sign * value - slack * value
    return bool((same & deep_enough & (corner > left) & (corner < right)).any())


def _growth(s: F64, area: F64, stations: Int, *, exhaust: bool) -> Growth:
    """Return the steepest growth of the radius of equal area, drawn straight from station to station.

    What is steeper than that between two stations was made by the loft and measured by nobody.
    """
    at, radius = s[stations], np.sqrt(area[stations] / np.pi)
    window = min(GROWTH_OVER_MM, float(s[-1] - s[0]))
    start = s[s <= s[-1] - window * (1.0 - 1e-12)]
    rise = np.interp(start + window, at, radius) - np.interp(start, at, radius)
    rise = -rise if exhaust else rise
    steepest = int(np.argmax(rise))
    angle = 2.0 * np.degrees(np.arctan(rise[steepest] / window))
    return Growth(float(start[steepest] + 0.5 * window), float(angle))
