"""What may stand behind one key of job.toml, and what does it become? Ranges, places in a plane, seat cuts."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

from portgeom.geometry.arrays import F64, frozen
from portgeom.job.faults import Spot, shown
from portgeom.job.kinds import Number, Text, length, size
from portgeom.job.quote_values import Range
from portgeom.job.values import Units
from portgeom.job.valve_values import SeatCut

MOST_HOLES = 40
MOST_CUTS = 9
MOST_LINES = 20


@dataclass(frozen=True, slots=True)
class RangeKind:
    """A number that is known only within a range: one number, [least, most], or [least, likely, most]."""

    number: Number

    def read(self, value: object, spot: Spot, units: Units) -> Range | None:
        """Return the range. Of two numbers the likely one is their middle."""
        given = value if isinstance(value, list) else [value]
        if not 1 <= len(given) <= 3:
            spot.fault(f"{shown(value)} is not a range", "give one number, [least, most] or [least, likely, most]")
            return None
        names = {1: ("",), 2: ("least", "most"), 3: ("least", "likely", "most")}[len(given)]
        read = [self.number.read(v, spot.part(n) if n else spot, units) for v, n in zip(given, names, strict=True)]
        numbers = [n for n in read if n is not None]
        if len(numbers) < len(read):
            return None
        if any(b < a for a, b in pairwise(numbers)):
            spot.fault(f"{shown(value)} does not rise", "write the least first and the most last")
            return None
        low, high = numbers[0], numbers[-1]
        return Range(low, numbers[1] if len(numbers) == 3 else 0.5 * (low + high), high)


class PlanePoint:
    """A place in a plane: [across, up]."""

    def read(self, value: object, spot: Spot, units: Units) -> F64 | None:
        """Return (2,)."""
        return _row(value, (length(), length()), ("across", "up"), spot, units)


@dataclass(frozen=True, slots=True)
class Holes:
    """Places of holes in a plane: two or more rows of [across, up], no two alike."""

    def read(self, value: object, spot: Spot, units: Units) -> F64 | None:
        """Return (n, 2)."""
        if not isinstance(value, list) or not 2 <= len(value) <= MOST_HOLES:
            spot.fault(f"{shown(value)} is not places of holes", f"give from 2 to {MOST_HOLES} rows of [across, up]")
            return None
        read = [PlanePoint().read(row, spot.part(f"row {i}"), units) for i, row in enumerate(value, start=1)]
        places = [p for p in read if p is not None]
        if len(places) < len(read):
            return None
        for i, place in enumerate(places):
            if any((place == other).all() for other in places[:i]):
                spot.part(f"row {i + 1}").fault("is where another hole is", "give each hole its own place")
                return None
        return frozen(places)


class Sizes:
    """One size for all, or a list with one each."""

    def read(self, value: object, spot: Spot, units: Units) -> F64 | None:
        """Return (1,) or (n,)."""
        if not isinstance(value, list):
            one = size().read(value, spot, units)
            return None if one is None else frozen([one])
        if not 1 <= len(value) <= MOST_HOLES:
            spot.fault(f"{shown(value)} is not sizes", "give one size, or a list with one for each hole")
            return None
        read = [size().read(v, spot.part(f"item {i}"), units) for i, v in enumerate(value, start=1)]
        numbers = [n for n in read if n is not None]
        return frozen(numbers) if len(numbers) == len(read) else None


class Cuts:
    """The cuts of a seat from the chamber inwards: rows of [angle, width], each steeper than the one before."""

    def read(self, value: object, spot: Spot, units: Units) -> tuple[SeatCut, ...] | None:
        """Return the cuts."""
        if not isinstance(value, list) or not 1 <= len(value) <= MOST_CUTS:
            spot.fault(f"{shown(value)} is not cuts", f"give from 1 to {MOST_CUTS} rows of [angle, width]")
            return None
        kinds = (Number("degrees", least=0.0, most=89.0), size())
        read = [
            _row(row, kinds, ("angle", "width"), spot.part(f"row {i}"), units) for i, row in enumerate(value, start=1)
        ]
        rows = [r for r in read if r is not None]
        if len(rows) < len(read):
            return None
        for i, (before, after) in enumerate(pairwise(rows), start=2):
            if after[0] <= before[0]:
                spot.part(f"row {i}").fault(
                    f"{after[0]:g} degrees is no steeper than the cut before",
                    "list the cuts from the chamber inwards, as [[30, 1.0], [45, 1.5], [60, 2.0]]",
                )
                return None
        return tuple(SeatCut(float(angle), float(width)) for angle, width in rows)


class Lines:
    """Lines in the user's own words: a list of texts, or one text."""

    def read(self, value: object, spot: Spot, units: Units) -> tuple[str, ...] | None:
        """Return the lines."""
        given = value if isinstance(value, list) else [value]
        if not 1 <= len(given) <= MOST_LINES:
            spot.fault(f"{shown(value)} is not lines of text", f"give from 1 to {MOST_LINES} texts in brackets")
            return None
        parts = [spot.part(f"item {i}") for i in range(1, len(given) + 1)] if isinstance(value, list) else [spot]
        read = [Text().read(v, part, units) for v, part in zip(given, parts, strict=True)]
        lines = tuple(line for line in read if line is not None)
        return lines if len(lines) == len(read) else None


def _row(value: object, kinds: tuple[Number, ...], names: tuple[str, ...], spot: Spot, units: Units) -> F64 | None:
    if not isinstance(value, list) or len(value) != len(kinds):
        spot.fault(f"{shown(value)} is not {len(kinds)} numbers", f"give [{', '.join(names)}]")
        return None
    read = [kind.read(item, spot.part(name), units) for kind, item, name in zip(kinds, value, names, strict=True)]
    numbers = [n for n in read if n is not None]
    return frozen(numbers) if len(numbers) == len(read) else None
