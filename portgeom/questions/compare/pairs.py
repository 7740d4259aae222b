"""By how much do two ports differ, where, and is it more than their readings can be off by?"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from portgeom.geometry.arrays import F64, frozen
from portgeom.geometry.surface import Surface
from portgeom.questions.compare.members import Member, between_columns
from portgeom.questions.uncertainty.interval import COVERAGE, Difference, Interval, difference

STEP_MM = 1.0
"""Step at which areas are held against each other."""

FEWEST_DRAWS = 20
"""Of fewer draws that both have no interval is made."""

MOST = 0.5
"""Share of the difference that a zone must hold to hold most of it."""

UNLIKE_LENGTHS = 0.02
"""Paths whose lengths differ by more than this share are told: the same distance is not the same place then."""


@dataclass(frozen=True, slots=True)
class DifferenceZone:
    """The shortest stretch that holds at least half of what two ports differ by.

    ``share`` is of all differences, those of either sign added up; ``volume_mm3`` is the first's less the second's.
    """

    from_mm: float
    to_mm: float
    volume_mm3: float
    share: float


@dataclass(frozen=True, slots=True)
class AreaDifference:
    """The areas of two ports at the same distances, and the first less the second.

    Attributes
    ----------
    distance_mm, first_mm2, second_mm2 : (k,) float
        As far as the shorter path runs.
    low_mm2, high_mm2 : (k,) float
        95 percent interval of the difference, at each place for itself, from joint draws; NaN where there are none.
    """

    distance_mm: F64
    first_mm2: F64
    second_mm2: F64
    low_mm2: F64
    high_mm2: F64

    @property
    def difference_mm2(self) -> F64:
        """Return the first less the second (k,)."""
        return self.first_mm2 - self.second_mm2

    @property
    def percent(self) -> F64:
        """Return the difference (k,) in percent of the second."""
        return 100.0 * self.difference_mm2 / self.second_mm2

    @property
    def rms_percent(self) -> float:
        """Return the root of the mean square of the difference in percent."""
        return float(np.sqrt(np.mean(self.percent**2)))


@dataclass(frozen=True, slots=True)
class Pair:
    """Two of those compared.

    Attributes
    ----------
    first, second : int
        Which of the members.
    volume, smallest, entry, throat : Difference
        The first less the second, from joint draws: what errors both share cancels.
    areas : AreaDifference
    worst_at_mm, worst_percent : float
        Where the areas lie furthest apart, and by how much of the second's.
    zone : DifferenceZone or None
        None where they do not differ anywhere.
    unlike_lengths : bool
    """

    first: int
    second: int
    volume: Difference
    smallest: Difference
    entry: Difference
    throat: Difference
    areas: AreaDifference
    worst_at_mm: float
    worst_percent: float
    zone: DifferenceZone | None
    unlike_lengths: bool


def pair(found: tuple[Member, ...], first: int, second: int) -> Pair:
    """Return how two members differ."""
    a, b = found[first], found[second]
    areas = _areas(a, b)
    worst = int(np.argmax(np.abs(areas.percent)))
    throats = [m.port.throat_mm for m in (a, b)]
    return Pair(
        first=first,
        second=second,
        volume=_difference(a.volume.value - b.volume.value, a.draws.volume_mm3, b.draws.volume_mm3),
        smallest=_difference(a.smallest.value - b.smallest.value, a.draws.smallest_area_mm2, b.draws.smallest_area_mm2),
        entry=_difference(a.entry_mm2 - b.entry_mm2, _drawn_at(a, 0.0), _drawn_at(b, 0.0)),
        throat=_difference(a.throat_mm2 - b.throat_mm2, _drawn_at(a, throats[0]), _drawn_at(b, throats[1])),
        areas=areas,
        worst_at_mm=float(areas.distance_mm[worst]),
        worst_percent=float(areas.percent[worst]),
        zone=_zone(a, b),
        unlike_lengths=abs(a.length_mm - b.length_mm) > UNLIKE_LENGTHS * max(a.length_mm, b.length_mm),
    )


def _difference(value: float, first: F64, second: F64) -> Difference:
    """Return a difference with what the draws say of it; of nothing known where no draw of both is a port."""
    if np.isfinite(first - second).sum() < FEWEST_DRAWS:
        return Difference(value, np.nan, Interval(np.nan, np.nan, "symmetric"), False)
    return difference(value, first, second)


def _drawn_at(member: Member, distance_mm: float) -> F64:
    """Return the flow area at a place in every draw (n,)."""
    return between_columns(member.draws.distance_mm, member.draws.flow_area_mm2, np.array([distance_mm]))[:, 0]


def _areas(a: Member, b: Member) -> AreaDifference:
    end = min(a.length_mm, b.length_mm)
    s = np.linspace(0.0, end, max(2, round(end / STEP_MM) + 1))
    one, other = (np.interp(s, m.distance_mm, m.flow_area_mm2) for m in (a, b))
    kept = a.draws.kept & b.draws.kept
    low, high = np.full_like(s, np.nan), np.full_like(s, np.nan)
    if kept.sum() >= FEWEST_DRAWS:
        drawn = [between_columns(m.draws.distance_mm, m.draws.flow_area_mm2[kept], s) for m in (a, b)]
        apart = np.ascontiguousarray((drawn[0] - drawn[1]).T)
        below = np.array([0.5 - 0.5 * COVERAGE, 0.5, 0.5 + 0.5 * COVERAGE])
        # about the difference itself: the draws' own middle may lie off it
        low, middle, high = np.quantile(apart, below, axis=1, overwrite_input=True)
        low, high = (side - middle + one - other for side in (low, high))
    return AreaDifference(frozen(s), frozen(one), frozen(other), frozen(low), frozen(high))


def _zone(a: Member, b: Member) -> DifferenceZone | None:
    """Return the shortest stretch between stations of the first that holds most of the difference."""
    end = min(a.length_mm, b.length_mm)
    marks = a.stage.distance_mm[a.stage.distance_mm <= end]
    marks = np.append(marks, end) if marks[-1] < end else marks
    held = [np.diff(np.interp(marks, m.distance_mm, filled_mm3(m.stage.surface))) for m in (a, b)]
    by_zone = held[0] - held[1]
    every = float(np.abs(by_zone).sum())
    if every <= a.port.chart.tolerance.relative * a.volume.value:
        return None
    total = np.concatenate([[0.0], np.cumsum(by_zone)])
    runs = [
        (float(marks[j] - marks[i]), i, j)
        for i in range(len(marks) - 1)
        for j in range(i + 1, len(marks))
        if abs(total[j] - total[i]) >= MOST * every
    ]
    if not runs:  # they differ one way here and the other way there: the largest of all is told
        k = int(np.argmax(np.abs(by_zone)))
        runs = [(0.0, k, k + 1)]
    _, i, j = min(runs)
    volume = float(total[j] - total[i])
    return DifferenceZone(float(marks[i]), float(marks[j]), volume, abs(volume) / every)


def filled_mm3(surface: Surface) -> F64:
    """Return the volume (m,) from the face to every slab."""
    sweep, s = surface.chart.sweep, surface.chart.distance_mm
    area, first = surface.moments.area_mm2[sweep.slab], surface.moments.first_mm3[sweep.slab]
    rate = area * sweep.advance - first[:, 0] * sweep.turn_right - first[:, 1] * sweep.turn_up
    inside = np.diff(sweep.slab) == 1  # where intervals meet, a slab has a row in each
    step = np.diff(s[sweep.slab])
    pieces = (0.5 * (rate[1:] + rate[:-1]) * step)[inside]
    return np.concatenate([[0.0], np.cumsum(pieces)])
