"""How are notes and faults about a scan said in the job's units?"""

from __future__ import annotations

import re
from collections.abc import Iterable

from portgeom.geometry.told_lengths import THIN_SPACE
from portgeom.job.units import area_from_mm2, length_from_mm
from portgeom.job.values import Note, Units

_AMOUNT = re.compile(r"((?:-?\d+(?:\.\d+)?, )*-?\d+(?:\.\d+)?) mm(2?)(?![A-Za-z0-9])")
_NUMBER = re.compile(r"-?\d+(?:\.(\d+))?")


def in_units(notes: Iterable[Note], units: Units) -> tuple[Note, ...]:
    """Return notes with every length and area in the job's units.

    Everything is worded in mm where it is found out; this is the one place that rewords it.
    """
    if units == "mm":
        return tuple(notes)
    return tuple(Note(n.file, n.row, reworded(n.field), reworded(n.found), reworded(n.mend)) for n in notes)


def reworded(text: str) -> str:
    """Return a text with its mm as inches and its mm2 as square inches.

    Examples
    --------
    >>> reworded("in the head at 25.40, -2.54, 0.00 mm, 645.2 mm2")
    'in the head at 1.000, -0.100, 0.000 in, 1.000 in2'
    """

    def amounts(found: re.Match[str]) -> str:
        area = bool(found[2])

        def number(plain: re.Match[str]) -> str:
            value = float(plain[0])
            inches = area_from_mm2(value, "in") if area else length_from_mm(value, "in")
            return f"{inches:.{len(plain[1] or '') + (2 if area else 1)}f}"

        return f"{_NUMBER.sub(number, found[1])} in{found[2]}"

    return _AMOUNT.sub(amounts, text.replace(THIN_SPACE, " "))
