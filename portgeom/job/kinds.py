"""What may stand behind one key of job.toml, and what does it become? Single values.

Each kind reads one value as TOML gives it, takes down what is wrong with it at its spot, and returns it
in millimetres and degrees, or None where it cannot be used.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal, Protocol, TypeAlias

from portgeom.job.faults import Spot, nearest, shown
from portgeom.job.units import area_from_mm2, area_to_mm2, area_word, length_from_mm, length_to_mm
from portgeom.job.values import Units

Measure: TypeAlias = Literal["length", "area", "degrees", "none"]

LONGEST_MM = 10_000.0
"""No head is longer. A number above is a slip of the pen or of the unit."""

SMALLEST_MM = 0.001
"""No measured size is smaller."""

TEXT_CHARACTERS = 200


class Kind(Protocol):
    """Something that reads one value."""

    def read(self, value: object, spot: Spot, units: Units) -> object | None:
        """Return the value in mm and degrees, or None after taking down what is wrong."""
        ...


@dataclass(frozen=True, slots=True)
class Number:
    """A finite number within bounds. ``least`` and ``most`` are in mm, mm2, degrees or as they are."""

    measure: Measure = "none"
    least: float = -math.inf
    most: float = math.inf
    above: bool = False  # whether the least itself is too little

    def read(self, value: object, spot: Spot, units: Units) -> float | None:
        """Return the number in mm, mm2, degrees or as it is."""
        given = plain_number(value)
        number = None if given is None else self.within(given, units)
        if number is None:
            spot.fault(f"{shown(value)} {_wrong(value)}", f"give {self._wanted(units)}")
        return number

    def within(self, given: float, units: Units) -> float | None:
        """Return a number of the job's units in mm, mm2, degrees or as it is; None if out of bounds."""
        number = _inward(given, self.measure, units)
        if not self.least <= number <= self.most or (self.above and number == self.least):
            return None
        return number

    def _wanted(self, units: Units) -> str:
        word = {"length": units, "area": area_word(units), "degrees": "degrees", "none": ""}[self.measure]
        low, high = _outward(self.least, self.measure, units), _outward(self.most, self.measure, units)
        bounds = []
        if math.isfinite(low):
            bounds.append(f"above {_plain(low)}" if self.above else f"of at least {_plain(low)}")
        if math.isfinite(high):
            bounds.append(f"at most {_plain(high)}")
        return " ".join(part for part in ("a number", " and ".join(bounds), word) if part)


def _plain(bound: float) -> str:
    """Return a bound without an exponent where it is small, as a person at a bench writes it."""
    return f"{bound:.6f}".rstrip("0") if 1e-6 <= abs(bound) < 1e-4 else f"{bound:g}"


def length(*, least_mm: float = -LONGEST_MM, most_mm: float = LONGEST_MM) -> Number:
    """Return the kind of a length that may be negative, such as a coordinate."""
    return Number("length", least_mm, most_mm)


def size() -> Number:
    """Return the kind of a length that something has: never zero."""
    return length(least_mm=SMALLEST_MM)


def distance() -> Number:
    """Return the kind of a length that may be zero but not negative."""
    return length(least_mm=0.0)


def plain_number(value: object) -> float | None:
    """Return a value as a finite float if it is a number; true and false are none."""
    if isinstance(value, bool) or not isinstance(value, int | float):
        return None
    try:
        number = float(value)
    except OverflowError:
        return None
    return number if math.isfinite(number) else None


def _wrong(value: object) -> str:
    """Return what keeps a value from being a number within bounds."""
    if isinstance(value, str):
        return "is text, not a number"
    if isinstance(value, bool) or not isinstance(value, int | float):
        return "is not a number"
    return "is out of range" if plain_number(value) is not None else "is not a finite number"


@dataclass(frozen=True, slots=True)
class Whole:
    """A whole number within bounds."""

    least: int
    most: int

    def read(self, value: object, spot: Spot, units: Units) -> int | None:
        """Return the number."""
        if isinstance(value, bool) or not isinstance(value, int) or not self.least <= value <= self.most:
            spot.fault(
                f"{shown(value)} is not a whole number in range",
                f"give a whole number from {self.least} to {self.most}",
            )
            return None
        return value


class Flag:
    """True or false."""

    def read(self, value: object, spot: Spot, units: Units) -> bool | None:
        """Return the flag."""
        if not isinstance(value, bool):
            spot.fault(f"{shown(value)} is neither true nor false", "write true or false, without quotes")
            return None
        return value


class Text:
    """Words for people and names: not empty, one line, no blanks round it."""

    def read(self, value: object, spot: Spot, units: Units) -> str | None:
        """Return the text."""
        if not isinstance(value, str):
            spot.fault(f"{shown(value)} is not text", "put it in quotes")
        elif not value.strip():
            spot.fault("is empty", "give it a name")
        elif value != value.strip():
            spot.fault(f"{shown(value)} has blanks at its ends", f"write {shown(value.strip())}")
        elif len(value) > TEXT_CHARACTERS:
            spot.fault(f"has {len(value)} characters", f"give at most {TEXT_CHARACTERS}")
        elif not value.isprintable():
            spot.fault(f"{shown(value)} holds a control character", "write it on one line, in plain print")
        else:
            return value
        return None


@dataclass(frozen=True, slots=True)
class Word:
    """One of a few words."""

    words: tuple[str, ...]

    def read(self, value: object, spot: Spot, units: Units) -> str | None:
        """Return the word."""
        if not isinstance(value, str):
            spot.fault(f"{shown(value)} is not text", f"write one of {_quoted(self.words)}")
            return None
        if value not in self.words:
            spot.fault(f"{shown(value)} is not known", nearest(value, self.words, what="word"))
            return None
        return value


class FileName:
    """The name of a file in the job folder. Whether it is there and may be read is asked when it is read."""

    def read(self, value: object, spot: Spot, units: Units) -> str | None:
        """Return the name."""
        if not isinstance(value, str) or not value.strip():
            spot.fault(f"{shown(value)} is not a file name", "name a file in the job folder, in quotes")
            return None
        return value


DENSITY_G_CC = {"grey iron": 7.2, "aluminium": 2.70}
"""Common practice for cast heads."""


@dataclass(frozen=True, slots=True)
class Casting:
    """What the head is cast of, and its density."""

    name: str
    density_g_cc: float


class Material:
    """A material by name, or its density in g/cc."""

    def read(self, value: object, spot: Spot, units: Units) -> Casting | None:
        """Return the material with its density."""
        mend = f"write {_quoted(DENSITY_G_CC)}, or a density from 1 to 20 g/cc"
        if isinstance(value, str):
            if value in DENSITY_G_CC:
                return Casting(value, DENSITY_G_CC[value])
            spot.fault(f"{shown(value)} is not known", mend)
            return None
        density = plain_number(value)
        if density is None or not 1.0 <= density <= 20.0:
            what = "is no density" if density is None else "g/cc is out of range"
            spot.fault(f"{shown(value)} {what}", mend)
            return None
        return Casting(f"metal of {density:g} g/cc", density)


def _inward(number: float, measure: Measure, units: Units) -> float:
    if measure == "length":
        return length_to_mm(number, units)
    return area_to_mm2(number, units) if measure == "area" else number


def _outward(number: float, measure: Measure, units: Units) -> float:
    if measure == "length":
        return length_from_mm(number, units)
    return area_from_mm2(number, units) if measure == "area" else number


def _quoted(words: tuple[str, ...] | dict[str, float]) -> str:
    return ", ".join(f'"{w}"' for w in words)
