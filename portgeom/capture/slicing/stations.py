"""At which distances are sections taken: even steps, and closer where the passage changes between them?"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from itertools import pairwise

import numpy as np

from portgeom.capture.slicing.section import NoSection, Section
from portgeom.capture.slicing.wall import wall_mm
from portgeom.geometry.arrays import F64
from portgeom.geometry.interpolate import shape_preserving

Cutter = Callable[[float], Section]
"""Gives the section at a distance; raises NoSection."""

SPACING = 0.28
CLOSEST = 0.045
"""Even steps, and the closest that stations come, in diameters of the passage."""

TRUE_WITHIN_MM = 0.08
AREA_WITHIN = 0.002
"""A step is halved where what is drawn between its ends misses the wall, or the area, by more than this."""

OVER_MEDIAN = 6.0
AREA_NOISE = 5.0
"""A miss also has to stand out from the median miss so many times: the rest is noise. Of Gaussian noise the median is
0.67 standard deviations, so for the area this is 3.4 of them."""

TRIES = (0.0, 0.15, -0.15, 0.3, -0.3)
"""Where an even station finds no section it is tried beside its place, in steps."""

MOST_STATIONS = 300


@dataclass(slots=True)
class _Known:
    """Sections by distance, each cut once."""

    cut: Cutter
    sections: dict[float, Section] = field(default_factory=dict)
    walls: dict[float, F64] = field(default_factory=dict)

    def section(self, at: float) -> Section:
        if at not in self.sections:
            self.sections[at] = self.cut(at)
        return self.sections[at]

    def wall(self, at: float) -> F64:
        """Return distance from the line to the wall in each direction, and the root of the area."""
        if at not in self.walls:
            found = self.section(at)
            self.walls[at] = np.append(wall_mm(found.loop.points_mm), np.sqrt(found.loop.area_mm2))
        return self.walls[at]


@dataclass(frozen=True, slots=True)
class Shifted:
    """A station that was taken beside its even place, and why."""

    wanted_mm: float
    taken_mm: float
    why: str


@dataclass(frozen=True, slots=True)
class Stations:
    """Distances (n,) in order, their sections, and the stations that were shifted."""

    distance_mm: F64
    sections: tuple[Section, ...]
    shifted: tuple[Shifted, ...]


def chosen_stations(
    cut: Cutter, length_mm: float, diameter_mm: float, *, spacing_mm: float | None, denser: bool
) -> Stations:
    """Return stations from 0 to ``length_mm``, both with their sections.

    Raises
    ------
    NoSection
        Naming the distance at which, and beside which, there is none.
    """
    known = _Known(cut)
    step = SPACING * diameter_mm if spacing_mm is None else spacing_mm
    count = max(2, round(length_mm / step)) if spacing_mm is None else max(1, int(np.ceil(length_mm / step - 1e-9)))
    wanted = np.linspace(0.0, length_mm, count + 1) if spacing_mm is None else np.arange(count) * step
    wanted = np.append(wanted[wanted < length_mm - 0.25 * step], length_mm)
    shifted: list[Shifted] = []
    at = [_taken(known, float(s), step, length_mm, shifted) for s in wanted]
    if denser:
        at = _denser(known, at, max(CLOSEST * diameter_mm, 0.0))
    return Stations(np.array(at), tuple(known.section(s) for s in at), tuple(shifted))


def _taken(known: _Known, wanted: float, step: float, length: float, shifted: list[Shifted]) -> float:
    first: NoSection | None = None
    for share in TRIES if 0.0 < wanted < length else (0.0,):
        at = wanted + share * step
        try:
            known.section(at)
        except NoSection as error:
            first = first or error
            continue
        if first is not None:
            shifted.append(Shifted(wanted, at, first.found))
        return at
    assert first is not None
    raise NoSection(f"plane at {wanted:.2f} mm: {first.found}")


def _denser(known: _Known, at: list[float], closest: float) -> list[float]:
    """Return the distances with steps halved until what is drawn between them is the passage."""
    settled: set[tuple[float, float]] = set()
    while len(at) < MOST_STATIONS:
        more = []
        middles = [0.5 * (a + b) for a, b in pairwise(at)]
        walls = np.array([known.wall(s) for s in at])
        drawn = shape_preserving(np.array(at), walls, np.array(middles))
        for a, b, s, guess in zip(at[:-1], at[1:], middles, drawn, strict=True):
            if b - a < 2.0 * closest or (a, b) in settled:
                continue
            try:
                miss = np.abs(known.wall(s) - guess)
            except NoSection:
                settled.add((a, b))
                continue
            if _misses(miss, guess):
                more.append(s)
            else:
                settled.add((a, b))
        if not more:
            break
        at = sorted([*at, *more])
    return at


def _misses(miss: F64, guess: F64) -> bool:
    """Return whether a guess is off by more than it may be and by more than noise makes it."""
    wall, radius = miss[:-1], float(guess[:-1].mean())
    area = 2.0 * miss[-1] / guess[-1]  # of its root
    median = float(np.median(wall))
    # directions err by themselves: the area's share is twice the mean of theirs, smaller by the root of their number
    noise = AREA_NOISE * 2.0 * median / (radius * np.sqrt(len(wall)))
    return bool(area > max(AREA_WITHIN, noise) or wall.max() > max(TRUE_WITHIN_MM, OVER_MEDIAN * median))
