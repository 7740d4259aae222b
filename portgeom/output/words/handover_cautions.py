"""What must whoever takes over a worked head, or brings one in, be told?"""

from __future__ import annotations

RECEIVED: tuple[str, ...] = (
    "Cracks, core shift and thin walls may only show once the head is clean or cut; what is found then is told before "
    "any more is done.",
    "A casting found cracked is not cut on: whether it is repaired or scrapped is for a qualified engine machinist to "
    "judge.",
    "Old heads may carry lead, oil or asbestos gasket: dust of cleaning and cutting is drawn off, out of lungs.",
)

HANDED_OVER: tuple[str, ...] = (
    "Pressure-test the head and look for cracks before it runs, and after any welding or sealing: cutting thins walls.",
    "An opened wall is only as good as its seal: look for coolant and oil there after the first warm-ups.",
    "Wash and blow out every passage first: cutting dust ruins an engine, and fine aluminium dust burns.",
    "No power, flow or life is promised. Local rules, and a qualified or licensed engine machinist with the head in "
    "hand, have the last word.",
)

VALVE_JOB: tuple[str, ...] = (
    "Limits marked common practice have no source: the makers of valve, guide and seat, and a qualified engine "
    "machinist with the head in hand, have the last word.",
)
