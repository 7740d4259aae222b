"""What must whoever cuts a port be told about the work and about these figures?

Plain text, for the report and for anything else that shows the figures to a person.
"""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Caution:
    """One danger: its name, and what to do about it."""

    about: str
    words: str


CAUTIONS: tuple[Caution, ...] = (
    Caution(
        "The readings decide, not the model",
        "Between stations the shape is drawn through what was measured; nobody measured it there. Gauge the "
        "depth at marks while you cut, stop short of the last of it, and believe the gauge where it and this "
        "page differ.",
    ),
    Caution(
        "Breaking through",
        "Behind a port wall lie water, oil, pushrod holes, and bolt or stud holes, some of them threaded. "
        "Cores shift in casting, so no drawing says how thick a wall is. Find out by drilling, sectioning a "
        "scrap head or ultrasonic gauging before you cut near one, and pressure-test afterwards.",
    ),
    Caution(
        "Dust",
        "Fine iron and aluminium dust harms the lungs, and fine aluminium dust burns and can explode. Draw it "
        "off at the cutter, wear a fitted respirator for fine dust, keep aluminium and iron dust apart, keep "
        "sparks and flames away from it, and do not blow it about with air.",
    ),
    Caution(
        "Eyes, skin and hearing",
        "Rotary cutters throw hot needles of metal that stay in the skin and blind eyes. Wear closed goggles "
        "under a face shield, hearing protection and close-fitting clothes; tie back hair, and wear no gloves "
        "that a cutter can catch.",
    ),
    Caution(
        "Burst cutters",
        "A cutter or mounted point run above its rated speed, or with too much shank out of the collet, bends, "
        "whips and flies apart. Read the speed on the cutter, not on the grinder; a long shank is allowed less. "
        "Leave guards on, and run a new one up inside the port or behind a screen first.",
    ),
    Caution(
        "Vibration",
        "Hours on a hand grinder damage nerves and blood vessels for good: white or numb fingers are the first "
        "sign. Count the minutes, change hands and tasks, keep warm, and keep tools sharp and in balance.",
    ),
    Caution(
        "Who has the last word",
        "The law and safety rules where you work, and a qualified engine machinist who has the head in hand, "
        "come before anything written here. No power, flow or life of an engine is promised by these figures.",
    ),
)
