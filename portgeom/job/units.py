"""How do lengths and areas pass between a job's own units and millimetres?

The only place that knows how long an inch is. Volumes are cubic centimetres (cc) in every job, as
burettes are marked.
"""

from __future__ import annotations

import re

from portgeom.geometry.told_lengths import THIN_SPACE
from portgeom.job.values import Units

MM_PER_IN = 25.4
"""Exact by definition: international yard and pound agreement of 1959."""


def mm_per_unit(units: Units) -> float:
    """Return how many millimetres one unit of length is."""
    return MM_PER_IN if units == "in" else 1.0


def length_to_mm(length: float, units: Units) -> float:
    """Return a length in mm.

    Examples
    --------
    >>> length_to_mm(0.375, "in")
    9.524999999999999
    """
    return length * mm_per_unit(units)


def length_from_mm(length_mm: float, units: Units) -> float:
    """Return a length of mm in the job's units."""
    return length_mm / mm_per_unit(units)


def area_to_mm2(area: float, units: Units) -> float:
    """Return an area in mm2.

    Examples
    --------
    >>> area_to_mm2(1.0, "in")
    645.16
    """
    return area * mm_per_unit(units) ** 2


def area_from_mm2(area_mm2: float, units: Units) -> float:
    """Return an area of mm2 in the job's units."""
    return area_mm2 / mm_per_unit(units) ** 2


def area_word(units: Units) -> str:
    """Return the unit of area that goes with a unit of length."""
    return f"{units}2"


_TOLD = re.compile(rf"(-?\d+(?:\.(\d+))?(?:e[+-]?\d+)?){THIN_SPACE}(mm2|mm)\b")


def told(text: str, units: Units) -> str:
    """Return a message with the lengths and areas that geometry wrote into it in the units a person works in.

    Examples
    --------
    >>> from portgeom.geometry.told_lengths import mm
    >>> told(f"the roof is at {mm(25.4)}", "in")
    'the roof is at 1.000 in'
    """

    def in_units(found: re.Match[str]) -> str:
        figure, decimals, unit = found[1], len(found[2] or ""), found[3]
        if units == "mm":
            return f"{figure} {unit}"
        if unit == "mm2":
            return f"{area_from_mm2(float(figure), units):.{decimals + 3}f} {area_word(units)}"
        return f"{length_from_mm(float(figure), units):.{max(3, decimals + 2)}f} {units}"

    return _TOLD.sub(in_units, text)
