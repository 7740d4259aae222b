"""What do a valve job, a chamber and an exhaust port's figures read like, at the bench and to a program?"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from portgeom.output.words.shown import percent

if TYPE_CHECKING:
    from portgeom.output.words.shown import Shown
    from portgeom.questions.valve_job.exhaust import Exhaust
    from portgeom.questions.valve_job.limits import Limit


def whose(limit: Limit) -> str:
    """Return whose a limit is, in words."""
    return "your limit" if limit.source == "job" else "common practice"


def percent_limit(limit: Limit) -> str:
    """Return a limit of percents in words."""
    if math.isinf(limit.low):
        return f"{whose(limit)}: at most {limit.high:g}"
    if math.isinf(limit.high):
        return f"{whose(limit)}: at least {limit.low:g}"
    return f"{whose(limit)}: {limit.low:g} to {limit.high:g}"


def exhaust_words(found: Exhaust, shown: Shown) -> list[str]:
    """Return how an exhaust port stands to common practice, one sentence each, without full stops."""
    lines = []
    if found.throat_percent is not None:
        said = "" if found.throat_limit.holds(found.throat_percent) else ", outside that"
        limit = percent_limit(found.throat_limit)
        lines.append(f"Its throat is {percent(found.throat_percent)} of the valve's head ({limit}){said}")
    said = "" if found.face_limit.holds(found.face_percent) else ", outside that"
    limit = percent_limit(found.face_limit)
    lines.append(f"Its face has {percent(found.face_percent)} of the throat's area ({limit}){said}")
    if found.floor_kept:
        lines.append("Its floor is kept where it was cast, as common practice has it")
    else:
        lines.append(
            f"Its floor lies up to {shown.length(found.floor_lower_mm)} lower than as cast; common practice keeps it"
        )
    return lines


def exhaust_lines(found: Exhaust, shown: Shown) -> list[str]:
    """Return the same as lines of text below a taper."""
    return ["As an exhaust:", *(f"  {line[:1].lower()}{line[1:]}" for line in exhaust_words(found, shown))]
