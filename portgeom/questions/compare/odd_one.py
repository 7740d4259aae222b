"""Which port of a head is the odd one out, if any is?

Each port is held against the median of all the others, and the distance is counted in the scatter that is to be
expected: what the readings can be off by, from joint draws, or how much the others differ among themselves, whichever
is more.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import pi, sqrt
from typing import Literal, TypeAlias

import numpy as np

from portgeom.geometry.arrays import F64
from portgeom.questions.compare.members import Member
from portgeom.questions.uncertainty.interval import standard_uncertainty

FigureName: TypeAlias = Literal["volume", "smallest area", "entry area", "throat area"]

FEWEST = 3
"""Of two that differ neither is the odd one."""

STANDS_OUT = 3.5
"""How many times the scatter the odd one lies off (Iglewicz and Hoaglin, How to Detect and Handle Outliers, 1993)."""

NORMAL_MAD = 1.4826
"""Standard deviation over median absolute deviation, of a normal spread."""


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
    """

    member: int
    figure: FigureName
    distance: float
    scatter: float

    @property
    def times(self) -> float:
        """Return the distance in scatters; where there is no scatter at all any distance is infinitely many."""
        if self.scatter > 0.0:
            return self.distance / self.scatter
        return 0.0 if self.distance == 0.0 else float(np.copysign(np.inf, self.distance))

    @property
    def stands_out(self) -> bool:
        """Return whether that is more than chance would do."""
        return abs(self.times) > STANDS_OUT


@dataclass(frozen=True, slots=True)
class OddOne:
    """The odd one out: the figure by which it stands out most, and all by which it does."""

    member: int
    by: tuple[OffTheOthers, ...]


def off_the_others(found: Sequence[Member]) -> tuple[OffTheOthers, ...]:
    """Return how far every figure of every port lies from the others; none where there are fewer than three."""
    if len(found) < FEWEST:
        return ()
    off: list[OffTheOthers] = []
    for figure, values, draws in _figures(found):
        for k in range(len(found)):
            rest = np.delete(values, k)
            drawn = draws[:, k] - np.median(np.delete(draws, k, axis=1), axis=1)
            off.append(
                OffTheOthers(
                    member=k,
                    figure=figure,
                    distance=float(values[k] - np.median(rest)),
                    scatter=max(standard_uncertainty(drawn), _among(rest)),
                )
            )
    return tuple(off)


def odd_one(off: Sequence[OffTheOthers]) -> OddOne | None:
    """Return the odd one out, None where none stands out."""
    out = sorted((o for o in off if o.stands_out), key=lambda o: -abs(o.times))
    if not out:
        return None
    return OddOne(out[0].member, tuple(o for o in out if o.member == out[0].member))


def _among(rest: F64) -> float:
    """Return the scatter of one more from the median of some, by how those differ among themselves."""
    spread = NORMAL_MAD * float(np.median(np.abs(rest - np.median(rest))))
    # the median of n scatters by root pi / 2n of what each does
    return spread * sqrt(1.0 + pi / (2.0 * len(rest)))


def _figures(found: Sequence[Member]) -> list[tuple[FigureName, F64, F64]]:
    """Return each figure's name, its values (k,) and its draws (n, k)."""
    kept = np.all([m.draws.kept for m in found], axis=0)

    def at(member: Member, distance_mm: float) -> F64:
        drawn, s = member.draws.flow_area_mm2[kept], member.draws.distance_mm
        after = int(np.clip(np.searchsorted(s, distance_mm), 1, len(s) - 1))
        share = (distance_mm - s[after - 1]) / (s[after] - s[after - 1])
        between: F64 = (1.0 - share) * drawn[:, after - 1] + share * drawn[:, after]
        return between

    return [
        (
            "volume",
            np.array([m.volume.value for m in found]),
            np.column_stack([m.draws.volume_mm3[kept] for m in found]),
        ),
        (
            "smallest area",
            np.array([m.smallest.value for m in found]),
            np.column_stack([m.draws.smallest_area_mm2[kept] for m in found]),
        ),
        ("entry area", np.array([m.entry_mm2 for m in found]), np.column_stack([at(m, 0.0) for m in found])),
        (
            "throat area",
            np.array([m.throat_mm2 for m in found]),
            np.column_stack([at(m, m.port.throat_mm) for m in found]),
        ),
    ]
