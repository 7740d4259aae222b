"""What does the vibration of the tools read like, to a person and to a program?"""

from __future__ import annotations

import math

from portgeom.output.words.json_doc import Json
from portgeom.questions.cutting.vibration import (
    ACTION_VALUE_M_S2,
    LIMIT_VALUE_M_S2,
    Exposure,
    minutes_until,
)

CAUTION = (
    "Vibration: a caution only, your own rules decide. Action value 2.5 and limit value 5 m/s2 over eight hours "
    "(Directive 2002/44/EC, article 3), daily exposure by ISO 5349-1. Values that makers declare often understate "
    "what the hand takes in at work."
)

DAY_MIN = 24.0 * 60.0


def cutter_vibration_words(vibration_m_s2: float) -> str:
    """Return when a tool of a declared vibration reaches the action and the limit value."""
    action = minutes_until(ACTION_VALUE_M_S2, vibration_m_s2)
    limit = minutes_until(LIMIT_VALUE_M_S2, vibration_m_s2)
    return f"vibration {vibration_m_s2:g} m/s2 as declared: action value {_after(action)}, limit value {_after(limit)}"


def cutter_vibration_json(vibration_m_s2: float | None) -> Json:
    """Return a tool's declared vibration and the minutes it allows; null where none is declared or needed."""
    if vibration_m_s2 is None:
        return None
    return {
        "declared": vibration_m_s2,
        "minutes_to_action": _minutes(minutes_until(ACTION_VALUE_M_S2, vibration_m_s2)),
        "minutes_to_limit": _minutes(minutes_until(LIMIT_VALUE_M_S2, vibration_m_s2)),
    }


def exposure_words(day: Exposure) -> str:
    """Return a day's exposure in words, with the caution."""
    used = ", ".join(f"{u.name} {u.minutes:.0f} min at {u.vibration_m_s2:g} m/s2" for u in day.uses)
    standing = {
        "below the action value": f"below the action value of {ACTION_VALUE_M_S2:g}",
        "action value reached": f"at or over the action value of {ACTION_VALUE_M_S2:g}: the exposure has to be reduced",
        "limit value passed": f"over the limit value of {LIMIT_VALUE_M_S2:g}: not in one day",
    }[day.verdict]
    return f"If all is done in one day ({used}): A(8) {day.daily_m_s2:.1f} m/s2, {standing}. {CAUTION}"


def exposure_json(day: Exposure) -> dict[str, Json]:
    """Return a day's exposure."""
    return {
        "a8": round(day.daily_m_s2, 3),
        "minutes": round(day.minutes, 2),
        "verdict": day.verdict,
        "tools": [{"cutter": u.name, "vibration": u.vibration_m_s2, "minutes": round(u.minutes, 2)} for u in day.uses],
    }


def _after(minutes: float) -> str:
    return f"after {minutes:.0f} min" if minutes <= DAY_MIN else "not within a day"


def _minutes(minutes: float) -> float | None:
    return round(minutes, 1) if math.isfinite(minutes) else None
