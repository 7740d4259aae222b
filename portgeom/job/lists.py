"""What may stand behind one key of job.toml, and what does it become? Lists: points, rows, names."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

from portgeom.geometry.arrays import F64, frozen
from portgeom.job.faults import Spot, nearest, shown
from portgeom.job.kinds import Number, Text, distance, length
from portgeom.job.values import PlaceName, Schedule, Units

PLACES: tuple[PlaceName, ...] = ("face", "pinch", "turn", "bowl", "throat", "seat")
"""The named places of a port, from the manifold face to the valve."""

MOST_ROWS = 500


@dataclass(frozen=True, slots=True)
class Triple:
    """Three numbers: a point, or a direction, which is not of zero length."""

    direction: bool = False

    def read(self, value: object, spot: Spot, units: Units) -> F64 | None:
        """Return (3,)."""
        number = Number() if self.direction else length()
        numbers = _numbers(value, (number, number, number), ("x", "y", "z"), spot, units)
        if numbers is None:
            return None
        if self.direction and not any(numbers):
            spot.fault("points nowhere: all three are 0", "give the direction out of the metal, as [0, 0, 1]")
            return None
        return frozen(numbers)


class TwoPoints:
    """Two different points of a line."""

    def read(self, value: object, spot: Spot, units: Units) -> F64 | None:
        """Return (2, 3)."""
        if not isinstance(value, list) or len(value) != 2:
            spot.fault(f"{shown(value)} is not two points", "give [[x, y, z], [x, y, z]]")
            return None
        points = [Triple().read(p, spot.part(f"point {i}"), units) for i, p in enumerate(value, start=1)]
        first, second = points
        if first is None or second is None:
            return None
        if (first == second).all():
            spot.fault("its two points are the same", "give two different points of the axis")
            return None
        return frozen([first, second])


@dataclass(frozen=True, slots=True)
class Rows:
    """Rows of a distance and values at it, distances rising; two rows at least, for a value runs between."""

    names: tuple[str, ...]
    values: Number

    def read(self, value: object, spot: Spot, units: Units) -> F64 | None:
        """Return (n, k)."""
        form = f"[{', '.join(('distance', *self.names))}]"
        if not isinstance(value, list):
            spot.fault(f"{shown(value)} is not a list of rows", f"give two or more rows of {form}")
            return None
        if not 2 <= len(value) <= MOST_ROWS:
            count = "one row" if len(value) == 1 else f"{len(value)} rows"
            spot.fault(f"has {count}", f"give from 2 to {MOST_ROWS} rows of {form}")
            return None
        kinds = (distance(), *(self.values for _ in self.names))
        rows = [
            _numbers(row, kinds, ("distance", *self.names), spot.part(f"row {i}"), units)
            for i, row in enumerate(value, start=1)
        ]
        whole = [row for row in rows if row is not None]
        if len(whole) < len(rows):
            return None
        sound = True
        for i, (before, after) in enumerate(pairwise(whole), start=2):
            if after[0] <= before[0]:
                spot.part(f"row {i}").fault(
                    f"distance {value[i - 1][0]:g} does not rise above {value[i - 2][0]:g} in the row before",
                    "list the rows from the manifold face inwards, each distance once",
                )
                sound = False
        return frozen(whole) if sound else None


@dataclass(frozen=True, slots=True)
class NumberOrRows:
    """One number that holds everywhere, or rows against distance."""

    name: str
    number: Number

    def read(self, value: object, spot: Spot, units: Units) -> F64 | None:
        """Return (n, 2); one row at distance 0 where a single number was given."""
        if isinstance(value, list):
            return Rows((self.name,), self.number).read(value, spot, units)
        number = self.number.read(value, spot, units)
        return None if number is None else frozen([[0.0, number]])


@dataclass(frozen=True, slots=True)
class Numbers:
    """A list of numbers, one at least."""

    number: Number
    most: int

    def read(self, value: object, spot: Spot, units: Units) -> tuple[float, ...] | None:
        """Return the numbers."""
        if not isinstance(value, list) or not 1 <= len(value) <= self.most:
            spot.fault(f"{shown(value)} is not a list of numbers", f"give from 1 to {self.most} in brackets")
            return None
        read = [self.number.read(v, spot.part(f"item {i}"), units) for i, v in enumerate(value, start=1)]
        whole = tuple(n for n in read if n is not None)
        return whole if len(whole) == len(read) else None


class Names:
    """A list of names, one at least, none twice."""

    def read(self, value: object, spot: Spot, units: Units) -> tuple[str, ...] | None:
        """Return the names."""
        if not isinstance(value, list) or not value:
            spot.fault(f"{shown(value)} is not a list of names", 'give one or more, as ["1", "2"]')
            return None
        read = [Text().read(v, spot.part(f"item {i}"), units) for i, v in enumerate(value, start=1)]
        names = [n for n in read if n is not None]
        for name in sorted({n for n in names if names.count(n) > 1}):
            spot.fault(f"{shown(name)} is named twice", "name each once")
        return tuple(names) if len(set(names)) == len(read) else None


class ScheduleKind:
    """Wanted areas: rows of distance and area, or a table of named places and areas."""

    def read(self, value: object, spot: Spot, units: Units) -> Schedule | None:
        """Return the schedule."""
        area = Number("area", least=0.0, above=True)
        if not isinstance(value, dict):
            rows = Rows(("area",), area).read(value, spot, units)
            return None if rows is None else Schedule(by_distance=tuple((float(s), float(a)) for s, a in rows))
        for name in value:
            if name not in PLACES:
                spot.part(shown(name)).fault("is not a place in a port", nearest(name, PLACES, what="place"))
        by_place = [(place, area.read(value[place], spot.part(place), units)) for place in PLACES if place in value]
        known = tuple((place, a) for place, a in by_place if a is not None)
        if len(value) < 2:
            spot.fault(f"names {len(value)} places", "give the area at two places or more")
        return Schedule(by_place=known) if len(known) == len(value) >= 2 else None


def _numbers(
    value: object, kinds: tuple[Number, ...], names: tuple[str, ...], spot: Spot, units: Units
) -> list[float] | None:
    if not isinstance(value, list) or len(value) != len(kinds):
        spot.fault(f"{shown(value)} is not {len(kinds)} numbers", f"give [{', '.join(names)}]")
        return None
    read = [kind.read(item, spot.part(name), units) for kind, item, name in zip(kinds, value, names, strict=True)]
    numbers = [n for n in read if n is not None]
    return numbers if len(numbers) == len(read) else None
