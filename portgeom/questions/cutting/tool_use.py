"""Which cutters does a plan use for how long, where that and their vibration are known?"""

from __future__ import annotations

from collections.abc import Sequence

from portgeom.questions.cutting.bench import PassResult
from portgeom.questions.cutting.vibration import ToolUse


def uses_of(results: Sequence[PassResult]) -> tuple[tuple[ToolUse, ...], tuple[str, ...]]:
    """Return the cutters whose minutes and vibration are known, minutes added up, and the names of the others."""
    minutes: dict[str, float] = {}
    vibration: dict[str, float] = {}
    unjudged: dict[str, None] = {}
    for r in results:
        cutter = r.plan.cutter
        if r.minutes is None or cutter.vibration_m_s2 is None:
            unjudged[cutter.name] = None
        else:
            minutes[cutter.name] = minutes.get(cutter.name, 0.0) + r.minutes
            vibration[cutter.name] = cutter.vibration_m_s2
    return tuple(ToolUse(n, vibration[n], m) for n, m in minutes.items()), tuple(unjudged)
