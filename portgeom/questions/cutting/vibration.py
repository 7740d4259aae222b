"""How much vibration do hands take in over a day with rotary cutters, and when is it too much?

A caution only. It follows the formula of ISO 5349-1 and names the values of Directive 2002/44/EC; what holds
at a place of work is for its own rules, and for whoever is responsible there, to say.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal, TypeAlias

Verdict: TypeAlias = Literal["below the action value", "action value reached", "limit value passed"]

REFERENCE_MIN = 480.0
"""The eight hours that a daily exposure is referred to (ISO 5349-1, clause 4.5)."""

ACTION_VALUE_M_S2 = 2.5
"""Daily exposure action value for hands and arms, Directive 2002/44/EC, article 3(1)(b)."""

LIMIT_VALUE_M_S2 = 5.0
"""Daily exposure limit value for hands and arms, Directive 2002/44/EC, article 3(1)(a)."""


@dataclass(frozen=True, slots=True)
class ToolUse:
    """One tool over a day: its vibration total value a_hv, and minutes of it actually running in the hand."""

    name: str
    vibration_m_s2: float
    minutes: float


@dataclass(frozen=True, slots=True)
class Exposure:
    """A day's exposure.

    Attributes
    ----------
    uses : tuple of ToolUse
    daily_m_s2 : float
        A(8), all tools together.
    verdict : Verdict
    minutes : float
        In all.
    """

    uses: tuple[ToolUse, ...]
    daily_m_s2: float
    verdict: Verdict
    minutes: float


def total_value_m_s2(x_m_s2: float, y_m_s2: float, z_m_s2: float) -> float:
    """Return the vibration total value a_hv of the frequency-weighted values along three axes.

    Examples
    --------
    >>> total_value_m_s2(2.0, 3.0, 6.0)
    7.0
    """
    return math.hypot(x_m_s2, y_m_s2, z_m_s2)


def daily_exposure_m_s2(uses: Sequence[ToolUse]) -> float:
    """Return A(8): each tool's a_hv sqrt(T / 8 h), added root-sum-square.

    Raises
    ------
    ValueError
        For a vibration or a time that is negative or no number.

    References
    ----------
    ISO 5349-1:2001, equations 2 and 3.

    Examples
    --------
    >>> daily_exposure_m_s2([ToolUse("burr", 5.0, 120.0)])
    2.5
    """
    for use in uses:
        _refuse_impossible(use.name, use.vibration_m_s2, "m/s2")
        _refuse_impossible(use.name, use.minutes, "minutes")
    return math.sqrt(sum(u.vibration_m_s2**2 * u.minutes / REFERENCE_MIN for u in uses))


def minutes_until(level_m_s2: float, vibration_m_s2: float, *, so_far_m_s2: float = 0.0) -> float:
    """Return how long a tool can run on a day until a daily exposure is reached.

    Parameters
    ----------
    level_m_s2 : float
        The daily exposure A(8), such as ACTION_VALUE_M_S2.
    vibration_m_s2 : float
        The tool's a_hv.
    so_far_m_s2 : float
        A(8) of what was done on that day before.

    Returns
    -------
    float
        Minutes: 0 if it is reached already, infinite for a tool that does not vibrate. More than a day's
        minutes means: not within the day.

    Examples
    --------
    >>> minutes_until(ACTION_VALUE_M_S2, 10.0), minutes_until(LIMIT_VALUE_M_S2, 10.0)
    (30.0, 120.0)
    """
    _refuse_impossible("the tool", vibration_m_s2, "m/s2")
    _refuse_impossible("so far", so_far_m_s2, "m/s2")
    left = level_m_s2**2 - so_far_m_s2**2
    if left <= 0.0:
        return 0.0
    return REFERENCE_MIN * left / vibration_m_s2**2 if vibration_m_s2 > 0.0 else math.inf


def exposure(uses: Sequence[ToolUse]) -> Exposure:
    """Return a day's exposure and where it stands against the action and the limit value.

    Raises
    ------
    ValueError
        For a vibration or a time that is negative or no number.
    """
    daily = daily_exposure_m_s2(uses)
    verdict: Verdict = "below the action value"
    if daily > LIMIT_VALUE_M_S2:
        verdict = "limit value passed"
    elif daily >= ACTION_VALUE_M_S2:
        verdict = "action value reached"
    return Exposure(tuple(uses), daily, verdict, sum(u.minutes for u in uses))


def _refuse_impossible(name: str, value: float, unit: str) -> None:
    if not (math.isfinite(value) and value >= 0.0):
        raise ValueError(f"{name}: {value} {unit} is impossible; give a number of at least 0")
