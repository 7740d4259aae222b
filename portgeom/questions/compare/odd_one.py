"""Which port of a head is the odd one out, if any is?

Each port is held against the median of all the others, and the distance is counted in the scatter that is to be
expected: what the readings can be off by, from joint draws, or how much the others differ among themselves, whichever
is more.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from math import pi, sqrt
from statistics import NormalDist
from typing import Literal, TypeAlias

import numpy as np

from portgeom.geometry.arrays import F64, Bool
from portgeom.questions.compare.members import Member, between_columns

FigureName: TypeAlias = Literal["volume", "smallest area", "entry area", "throat area", "area along the path"]

FEWEST = 3
"""Of two that differ neither is the odd one."""

STANDS_OUT = 3.5
"""How many times the scatter the odd one lies off (Iglewicz and Hoaglin, How to Detect and Handle Outliers, 1993)."""

NORMAL_MAD = 1.4826
"""Standard deviation over median absolute deviation, of a normal spread."""

NORMAL = NormalDist()


@dataclass(frozen=True, slots=True)
class OffTheOthers:
    """How far one figure of one port lies from the median of the others.

    Attributes
    ----------
    member : int
    figure : FigureName
    distance : float
        In mm3 or mm2; positive where it is larger.
    scatter : float
        Likewise, the standard deviation to be expected.
    limit : float
        How many times that it must lie off to stand out.
    at_mm : float or None
        Of the area along the path, where it lies furthest off; None of other figures.
    """

    member: int
    figure: FigureName
    distance: float
    scatter: float
    limit: float = STANDS_OUT
    at_mm: float | None = None

    @property
    def times(self) -> float:
        """Return the distance in scatters; where there is no scatter at all any distance is infinitely many."""
        if self.scatter > 0.0:
            return self.distance / self.scatter
        return 0.0 if self.distance == 0.0 else float(np.copysign(np.inf, self.distance))

    @property
    def stands_out(self) -> bool:
        """Return whether that is more than chance would do."""
        return abs(self.times) > self.limit


@dataclass(frozen=True, slots=True)
class OddOne:
    """The odd one out: the figure by which it stands out most, and all by which it does."""

    member: int
    by: tuple[OffTheOthers, ...]


def off_the_others(found: Sequence[Member]) -> tuple[OffTheOthers, ...]:
    """Return how far every figure of every port lies from the others.

    None where there are fewer than three, or where no draw of the readings makes a port of all of them.
    """
    kept: Bool = np.all([m.draws.kept for m in found], axis=0)
    if len(found) < FEWEST or kept.sum() < FEWEST:
        return ()
    off: list[OffTheOthers] = []
    for figure, values, draws in _figures(found, kept):
        for k in range(len(found)):
            apart = _apart(values[:, None], draws[..., None], k)
            off.append(OffTheOthers(k, figure, float(apart.distance[0]), float(apart.scatter[0])))
    return (*off, *_along(found, kept))


@dataclass(frozen=True, slots=True)
class _Apart:
    """How far one lies from the median of the others at some places (p,), and the scatter to be expected there."""

    distance: F64
    scatter: F64


def _apart(values: F64, draws: F64, k: int) -> _Apart:
    """Return how far one of several values (k, p) lies from the others, by their draws (n, k, p)."""
    rest = np.delete(values, k, axis=0)
    drawn = draws[:, k] - np.median(np.delete(draws, k, axis=1), axis=1)
    middle = np.median(rest, axis=0)
    # how the others differ among themselves; the median of n scatters by root pi / 2n of what each does
    among = NORMAL_MAD * np.median(np.abs(rest - middle), axis=0) * sqrt(1.0 + pi / (2.0 * len(rest)))
    return _Apart(values[k] - middle, np.maximum(drawn.std(axis=0, ddof=1), among))


def _along(found: Sequence[Member], kept: Bool) -> list[OffTheOthers]:
    """Return where the area of each lies furthest off the others', and how far.

    The more places there are to look at, the further off one of them lies by chance: the limit is that at which all
    of them together are no likelier to stand out than one figure is. Between stations a port is not free, so there
    are as many places as stations.
    """
    end = min(m.length_mm for m in found)
    s = found[0].draws.distance_mm
    s = s[s <= end]
    values = np.array([np.interp(s, m.distance_mm, m.flow_area_mm2) for m in found])
    draws = np.stack([between_columns(m.draws.distance_mm, m.draws.flow_area_mm2[kept], s) for m in found], axis=1)
    places = max(len(m.stage.distance_mm) for m in found)
    limit = -NORMAL.inv_cdf(NORMAL.cdf(-STANDS_OUT) / places)
    off = []
    for k in range(len(found)):
        apart = _apart(values, draws, k)
        times = np.divide(apart.distance, apart.scatter, out=np.zeros_like(s), where=apart.scatter > 0.0)
        j = int(np.argmax(np.abs(times)))
        distance, scatter = float(apart.distance[j]), float(apart.scatter[j])
        off.append(OffTheOthers(k, "area along the path", distance, scatter, limit, float(s[j])))
    return off


def odd_one(off: Sequence[OffTheOthers]) -> OddOne | None:
    """Return the odd one out, None where none stands out."""
    out = sorted((o for o in off if o.stands_out), key=lambda o: -abs(o.times))
    if not out:
        return None
    return OddOne(out[0].member, tuple(o for o in out if o.member == out[0].member))


def _figures(found: Sequence[Member], kept: Bool) -> list[tuple[FigureName, F64, F64]]:
    """Return each figure's name, its values (k,) and its draws (n, k)."""

    def at(member: Member, distance_mm: float) -> F64:
        place = np.array([distance_mm])
        return between_columns(member.draws.distance_mm, member.draws.flow_area_mm2[kept], place)[:, 0]

    def of(values: Iterable[float], draws: Iterable[F64]) -> tuple[F64, F64]:
        return np.array(list(values)), np.column_stack(list(draws))

    smallest = (m.draws.smallest_area_mm2[kept] for m in found)
    return [
        ("volume", *of((m.volume.value for m in found), (m.draws.volume_mm3[kept] for m in found))),
        ("smallest area", *of((m.smallest.value for m in found), smallest)),
        ("entry area", *of((m.entry_mm2 for m in found), (at(m, 0.0) for m in found))),
        ("throat area", *of((m.throat_mm2 for m in found), (at(m, m.port.throat_mm) for m in found))),
    ]
