"""How is one table of job.toml read against the keys it may have?"""

from __future__ import annotations

from dataclasses import dataclass
from typing import cast

from portgeom.geometry.arrays import F64
from portgeom.job.faults import Gathered, Spot, closest, nearest, printable, shown
from portgeom.job.flow_values import Stated
from portgeom.job.kinds import Kind
from portgeom.job.lines import KeyPath, line_of
from portgeom.job.values import Units

NAME_CHARACTERS = 40

MOST_UNKNOWN = 50
"""Unknown keys of one table that are told one by one."""


@dataclass(frozen=True, slots=True)
class Table:
    """A table within a table."""

    keys: tuple[Key, ...]


@dataclass(frozen=True, slots=True)
class Tables:
    """Tables in a row, as [[port]]; ``unique`` is a key in which no two of them may agree."""

    keys: tuple[Key, ...]
    most: int
    unique: str | None = "name"


@dataclass(frozen=True, slots=True)
class Key:
    """One key: its name, what may stand behind it, whether it must be there, and what it is for."""

    name: str
    kind: Kind | Table | Tables
    required: bool = False
    why: str = ""


@dataclass(frozen=True, slots=True)
class Source:
    """The job file while it is read."""

    gathered: Gathered
    file: str
    lines: dict[KeyPath, int]
    units: Units

    def spot(self, path: KeyPath, field: str) -> Spot:
        """Return the spot of a key."""
        return Spot(self.gathered, self.file, line_of(path, self.lines), field)


@dataclass(frozen=True, slots=True)
class Entry:
    """One table as read: values in mm and degrees. A key that is missing or faulty has no value.

    ``complete`` says that nothing was wrong in it, so that every required value is there.
    """

    source: Source
    path: KeyPath
    label: str
    values: dict[str, object]
    given: frozenset[str]
    complete: bool

    def spot(self, key: str = "") -> Spot:
        """Return the spot of a key of this table, or of the table itself."""
        path = (*self.path, key) if key else self.path
        field = ": ".join(part for part in (self.label, key) if part)
        return self.source.spot(path, field)

    def number(self, key: str) -> float | None:
        """Return a number, or None where there is none."""
        return cast("float | None", self.values.get(key))

    def sure(self, key: str) -> float:
        """Return a number that is required and the table is complete."""
        return cast("float", self.values[key])

    def stated(self, key: str) -> Stated | None:
        """Return an amount that has a unit of its own, or None where there is none."""
        return cast("Stated | None", self.values.get(key))

    def whole(self, key: str) -> int | None:
        """Return a whole number, or None where there is none."""
        return cast("int | None", self.values.get(key))

    def flag(self, key: str) -> bool:
        """Return a flag, false where it was left out."""
        return cast("bool", self.values.get(key, False))

    def text(self, key: str) -> str:
        """Return text, a word or a file name, "" where there is none."""
        return cast("str", self.values.get(key, ""))

    def names(self, key: str) -> tuple[str, ...]:
        """Return names, none where there are none."""
        return cast("tuple[str, ...]", self.values.get(key, ()))

    def numbers(self, key: str) -> tuple[float, ...]:
        """Return a list of numbers, empty where there is none."""
        return cast("tuple[float, ...]", self.values.get(key, ()))

    def array(self, key: str) -> F64 | None:
        """Return an array, or None where there is none."""
        return cast("F64 | None", self.values.get(key))

    def table(self, key: str) -> Entry | None:
        """Return a table within, or None where there is none."""
        return cast("Entry | None", self.values.get(key))

    def tables(self, key: str) -> tuple[Entry, ...]:
        """Return tables within, none where there are none."""
        return cast("tuple[Entry, ...]", self.values.get(key, ()))


def read_entry(raw: dict[str, object], keys: tuple[Key, ...], source: Source, path: KeyPath, label: str) -> Entry:
    """Return one table as read, after taking down everything that is wrong with its keys."""
    before = source.gathered.count
    known = {key.name: key for key in keys}
    here = Entry(source, path, label, {}, frozenset(raw), False)
    unknown = [name for name in raw if name not in known]
    meant = {closest(name, known) for name in unknown[:MOST_UNKNOWN]}
    for name in unknown[:MOST_UNKNOWN]:
        spot = here.spot(printable(name[:NAME_CHARACTERS]))
        spot.fault("is not a key here", nearest(name, known, what="key"))
    if len(unknown) > MOST_UNKNOWN:
        more = f"has {len(unknown) - MOST_UNKNOWN} more keys that are not known here"
        here.spot(printable(unknown[MOST_UNKNOWN][:NAME_CHARACTERS])).fault(more, "mend the ones before first")
    values: dict[str, object] = {}
    for key in keys:
        if key.name in raw:
            value = _read(raw[key.name], key, here)
            if value is not None:
                values[key.name] = value
        elif key.required and key.name not in meant:  # told as misspelt, it is not told as missing too
            here.spot(key.name).fault("is missing", f"give {key.why or key.name}")
    return Entry(source, path, label, values, frozenset(raw), source.gathered.count == before)


def _read(value: object, key: Key, here: Entry) -> object | None:
    if isinstance(key.kind, Table):
        return _table(value, key.name, key.kind, here)
    if isinstance(key.kind, Tables):
        return _tables(value, key.name, key.kind, here)
    return key.kind.read(value, here.spot(key.name), here.source.units)


def _table(value: object, name: str, kind: Table, here: Entry) -> Entry | None:
    if not isinstance(value, dict):
        here.spot(name).fault(f"{shown(value)} is not a table", f"begin it with [{_dotted(here.path, name)}]")
        return None
    return read_entry(value, kind.keys, here.source, (*here.path, name), _join(here.label, name))


def _tables(value: object, name: str, kind: Tables, here: Entry) -> tuple[Entry, ...] | None:
    header = f"[[{_dotted(here.path, name)}]]"
    if not isinstance(value, list) or not all(isinstance(v, dict) for v in value):
        found = "is a single table" if isinstance(value, dict) else f"{shown(value)} is not tables"
        here.spot(name).fault(found, f"begin each one with {header}")
        return None
    if not 1 <= len(value) <= kind.most:
        here.spot(name).fault(f"there are {len(value)} of them", f"give from 1 to {kind.most} {header}")
        return None
    entries = tuple(
        read_entry(v, kind.keys, here.source, (*here.path, name, i), _join(here.label, _called(name, v, i)))
        for i, v in enumerate(value)
    )
    if kind.unique is not None:
        _refuse_doubles(entries, kind.unique)
    return entries


def _refuse_doubles(entries: tuple[Entry, ...], key: str) -> None:
    """Names that differ only in capitals count as the same: files named after them would be."""
    first: dict[str, Entry] = {}
    for entry in entries:
        name = entry.text(key)
        earlier = first.setdefault(name.casefold(), entry)
        if name and earlier is not entry:
            found = f"{shown(name)} is already the {key} of {earlier.label}"
            entry.spot(key).fault(found, f"give each its own {key}; capitals make no difference")


def _called(name: str, raw: dict[str, object], i: int) -> str:
    own = raw.get("name")
    if isinstance(own, str) and own.strip():
        return f"{name} '{printable(own[:NAME_CHARACTERS])}'"
    return f"{name} number {i + 1}"


def _join(label: str, part: str) -> str:
    return f"{label} {part}" if label else part


def _dotted(path: KeyPath, name: str) -> str:
    return ".".join([*(p for p in path if isinstance(p, str)), name])
