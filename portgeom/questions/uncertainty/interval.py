"""Between which values does a quantity lie, when it has been drawn many times?

After JCGM 101:2008, Propagation of distributions using a Monte Carlo method, clause 7.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal, TypeAlias

import numpy as np

from portgeom.geometry.arrays import F64

COVERAGE = 0.95
"""Share of the draws that an interval holds."""

DIFFERENT = 0.96
"""Two quantities are called different where the interval that holds this share of their difference leaves out 0: a
little more than COVERAGE, so that like ones are called different less often than once in twenty times."""

Kind: TypeAlias = Literal["symmetric", "shortest", "basic"]


@dataclass(frozen=True, slots=True)
class Interval:
    """A coverage interval.

    ``kind`` says how it was laid: with as many draws below as above it, as short as may be, or mirrored in the
    measured value ("basic", for extremes, which errors push only one way).
    """

    low: float
    high: float
    kind: Kind

    def holds(self, value: float) -> bool:
        """Return whether a value lies within."""
        return self.low <= value <= self.high


@dataclass(frozen=True, slots=True)
class Spread:
    """A value, its standard uncertainty and its coverage interval."""

    value: float
    sd: float
    interval: Interval


@dataclass(frozen=True, slots=True)
class Difference:
    """One quantity less another of the same campaign, from joint draws; ``significant`` as DIFFERENT says."""

    value: float
    sd: float
    interval: Interval
    significant: bool


def symmetric_interval(draws: F64, *, coverage: float = COVERAGE) -> Interval:
    """Return the interval with as many draws (n,) below as above it; what is not finite is left out."""
    ordered = _ordered(draws)
    held, count = _held(ordered, coverage), len(ordered)
    first = (count - held) // 2
    return Interval(float(ordered[first]), float(ordered[min(first + held, count - 1)]), "symmetric")


def shortest_interval(draws: F64, *, coverage: float = COVERAGE) -> Interval:
    """Return the shortest interval that holds the share of the draws (n,)."""
    ordered = _ordered(draws)
    held = _held(ordered, coverage)
    if held >= len(ordered):
        return Interval(float(ordered[0]), float(ordered[-1]), "shortest")
    width = ordered[held:] - ordered[:-held]
    first = int(np.argmin(width))
    return Interval(float(ordered[first]), float(ordered[first + held]), "shortest")


def basic_interval(value: float, draws: F64, *, coverage: float = COVERAGE) -> Interval:
    """Return the interval of draws (n,) about ``value``, mirrored in it.

    Notes
    -----
    Readings with errors make the smallest of several places too small and the highest too high, and drawing
    them again does so once more. What the draws are off the measured value by, the measured value is off the
    truth by: so the interval lies on its other side (Davison and Hinkley, Bootstrap Methods and their
    Application, 1997, eq. 5.6; from memory).
    """
    plain = symmetric_interval(draws, coverage=coverage)
    return Interval(2.0 * value - plain.high, 2.0 * value - plain.low, "basic")


def spread(value: float, draws: F64, *, extreme: bool = False, amount: bool = False) -> Spread:
    """Return a value with its standard uncertainty and interval; where there are no draws all of it is NaN.

    Parameters
    ----------
    extreme : bool
        The largest or smallest of many: it gets the basic interval.
    amount : bool
        Of metal that errors only ever seem to add to, since what they take elsewhere does not count: it gets the basic
        interval too, but none below nothing, and one that holds the value.
    """
    if not np.isfinite(draws).any():
        return Spread(value, np.nan, Interval(np.nan, np.nan, "basic" if extreme or amount else "symmetric"))
    interval = basic_interval(value, draws) if extreme or amount else symmetric_interval(draws)
    if amount:
        interval = Interval(max(0.0, min(value, interval.low)), max(value, interval.high), "basic")
    return Spread(value, standard_uncertainty(draws), interval)


def difference(value: float, first: F64, second: F64, *, coverage: float = COVERAGE) -> Difference:
    """Return ``value`` = first less second, with what the joint draws (n,) of both say of it.

    Draw i of both has the same shared errors, so those cancel. Draws left out of either are left out.
    """
    apart = first - second
    # about the value as measured, which the mean of the draws need not be
    apart = apart - np.nanmean(apart) + value
    interval = symmetric_interval(apart, coverage=coverage)
    wider = symmetric_interval(apart, coverage=DIFFERENT)
    return Difference(value, standard_uncertainty(apart), interval, not wider.holds(0.0))


def standard_uncertainty(draws: F64) -> float:
    """Return the standard deviation of draws (n,); what is not finite is left out."""
    kept = draws[np.isfinite(draws)]
    # from the first draw, so that many equal digits in front cost none behind (JCGM 101, 7.6)
    return float(np.std(kept - kept[0], ddof=1)) if len(kept) > 1 else 0.0


def _ordered(draws: F64) -> F64:
    return np.sort(draws[np.isfinite(draws)])


def _held(ordered: F64, coverage: float) -> int:
    """Return how many draws the interval holds (JCGM 101, 7.7.2)."""
    return min(len(ordered) - 1, int(coverage * len(ordered) + 0.5))
