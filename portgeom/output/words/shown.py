"""How is a number shown to a person: in which unit, with how many digits, and in what words?"""

from __future__ import annotations

import math
from dataclasses import dataclass

from portgeom.job.units import area_from_mm2, area_word, length_from_mm
from portgeom.job.values import Port, Units
from portgeom.questions.shape.places import BenchScale

SET_STEP: dict[Units, float] = {"mm": 0.1, "in": 0.005}
"""What a depth is set to by hand."""

AT_THE_LINE_MM = 0.05
"""Nearer to the line than this is at it: no gauge tells the difference."""


@dataclass(frozen=True, slots=True)
class Shown:
    """Formats in the units a person works in: 0.1 mm or 0.005 in, 1 mm2 or 0.001 in2, 0.1 cc.

    No digit goes beyond what gauge readings can carry.
    """

    units: Units

    def number(self, length_mm: float) -> str:
        """Return a length without its unit."""
        value = length_from_mm(length_mm, self.units)
        return _plain(f"{value:.1f}" if self.units == "mm" else f"{value:.3f}")

    def length(self, length_mm: float) -> str:
        """Return a length with its unit."""
        return f"{self.number(length_mm)} {self.units}"

    def area_number(self, area_mm2: float) -> str:
        """Return an area without its unit."""
        value = area_from_mm2(area_mm2, self.units)
        return _plain(f"{value:.0f}" if self.units == "mm" else f"{value:.3f}")

    def area(self, area_mm2: float) -> str:
        """Return an area with its unit."""
        return f"{self.area_number(area_mm2)} {area_word(self.units)}"

    def small_area(self, area_mm2: float) -> str:
        """Return the area of a patch, which is known less well than a section."""
        return self.area(area_mm2)

    def volume(self, volume_mm3: float) -> str:
        """Return a volume in cc, as burettes are marked."""
        return f"{self.volume_number(volume_mm3)} cc"

    def volume_number(self, volume_mm3: float) -> str:
        """Return a volume in cc without the unit."""
        return _plain(f"{volume_mm3 / 1000.0:.1f}")

    def proud(self, proud_mm: float) -> str:
        """Return a proud height in words, so that its sign cannot be misread.

        Examples
        --------
        >>> Shown("mm").proud(5.93)
        '5.9 mm above the line: metal to take off'
        >>> Shown("mm").proud(-0.41)
        'already 0.4 mm past the line'
        """
        if abs(proud_mm) < AT_THE_LINE_MM:
            return "at the line"
        if proud_mm > 0.0:
            return f"{self.length(proud_mm)} above the line: metal to take off"
        return f"already {self.length(-proud_mm)} past the line"

    def place(self, distance_mm: float, scale: BenchScale) -> str:
        """Return a place along the port three ways: along the path, square from the face, along the roof."""
        return (
            f"{self.length(distance_mm)} ({self.number(scale.square_at(distance_mm))} square from the face, "
            f"{self.number(scale.along_roof_at(distance_mm))} along the roof)"
        )

    def across(self, across_mm: float) -> str:
        """Return a place across the port in words."""
        if self.number(across_mm).strip("-0.") == "":
            return "on the path"
        return f"{self.length(abs(across_mm))} to the {'right' if across_mm > 0.0 else 'left'} of the path"


def oclock(clock_deg: float, port: Port) -> str:
    """Return a clock position looking in, with the wall it lies on.

    Examples
    --------
    >>> oclock(90.0, Port("1", "intake", ()))
    "3 o'clock, right wall"
    """
    hour = round(clock_deg / 30.0) % 12 or 12
    quarter = round(clock_deg / 90.0) % 4
    wall = ("roof", port.right_wall, "floor", port.left_wall)[quarter]
    return f"{hour} o'clock, {wall}"


def set_depth(depth_mm: float, units: Units) -> str:
    """Return a depth as it is set by hand: rounded down to 0.1 mm or five thousandths.

    Examples
    --------
    >>> set_depth(3.29, "mm"), set_depth(3.302, "in")
    ('3.2', '0.130')
    """
    step = SET_STEP[units]
    # a depth that is a whole step but for rounding is that step
    steps = math.floor(length_from_mm(depth_mm, units) / step + 1e-6)
    return f"{steps * step:.1f}" if units == "mm" else f"{steps * step:.3f}"


def percent(value: float) -> str:
    """Return a percentage to a tenth, with its sign in front where it has one."""
    return _plain(f"{value:.1f}") + " percent"


def _plain(text: str) -> str:
    """Return a number without a minus before nothing but zeros."""
    return text[1:] if text.startswith("-") and not text.strip("-0.") else text
