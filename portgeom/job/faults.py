"""How are the faults of a job gathered, so that all of them are told at once?"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from difflib import get_close_matches
from typing import Self

from portgeom.job.units import told
from portgeom.job.values import Note, Units

SHOWN_CHARACTERS = 60
"""How much of a person's own text a message repeats."""


class JobError(Exception):
    """A job that cannot be used as it stands. ``faults`` lists every reason, not only the first."""

    def __init__(self, faults: Iterable[Note]) -> None:
        self.faults = by_place(faults)
        super().__init__("\n".join(line(fault) for fault in self.faults))


def by_place(notes: Iterable[Note]) -> tuple[Note, ...]:
    """Return faults or notes file by file, in the order the files were met, each from its first row down."""
    found = tuple(notes)
    files = {file: k for k, file in enumerate(dict.fromkeys(n.file for n in found))}
    return tuple(sorted(found, key=lambda n: (files[n.file], n.row or 0)))


class Gathered:
    """The faults and the notes met while a job is read, each told once and in the order met."""

    def __init__(self) -> None:
        self._faults: dict[Note, None] = {}
        self._notes: dict[Note, None] = {}
        self._mistaken: set[tuple[str, str]] = set()

    def fault(self, file: str, row: int | None, field: str, found: str, mend: str) -> None:
        """Take down something wrong."""
        self._faults[Note(file, row, field, found, mend)] = None

    def note(self, file: str, row: int | None, field: str, found: str, mend: str) -> None:
        """Take down something done or assumed."""
        self._notes[Note(file, row, field, found, mend)] = None

    def mistake(self, file: str, field: str) -> None:
        """Take down that a field of a file goes by a wrong name, which is told: what it lacks follows from that."""
        self._mistaken.add((file, field))

    def mistook(self, file: str, field: str) -> bool:
        """Return whether a field of a file goes by a wrong name there."""
        return (file, field) in self._mistaken

    @property
    def count(self) -> int:
        """Return how many faults there are so far, with those that follow from others."""
        return len(self._faults)

    @property
    def faults(self) -> tuple[Note, ...]:
        """Return every fault so far that does not only follow from a wrong name."""
        return tuple(note for note in self._faults if not self.mistook(note.file, note.field))

    @property
    def notes(self) -> tuple[Note, ...]:
        """Return every note so far."""
        return tuple(self._notes)

    def refuse(self) -> None:
        """Raise JobError if there is any fault."""
        if self._faults:
            raise JobError(self.faults)


@dataclass(frozen=True, slots=True)
class Spot:
    """One place in a job that a fault or a note can be pinned to."""

    gathered: Gathered
    file: str
    row: int | None
    field: str

    def fault(self, found: str, mend: str) -> None:
        """Take down something wrong here."""
        self.gathered.fault(self.file, self.row, self.field, found, mend)

    def note(self, found: str, mend: str) -> None:
        """Take down something done or assumed here."""
        self.gathered.note(self.file, self.row, self.field, found, mend)

    def part(self, name: str) -> Self:
        """Return the spot of a part of what is here, such as one row of a list."""
        return replace(self, field=f"{self.field} {name}")

    def cell(self, row: int | None, field: str) -> Self:
        """Return another spot of the same file."""
        return replace(self, row=row, field=field)


def line(note: Note, units: Units = "mm") -> str:
    """Return a fault or a note as one line: ``file: row: field: what is wrong; what would be right``.

    Lengths that geometry put into it are told in ``units``.

    Examples
    --------
    >>> line(Note("cast.csv", 4, "width", "-3 is not above zero", "give the width as measured"))
    'cast.csv: row 4: width: -3 is not above zero; give the width as measured'
    """
    place = [note.file] if note.row is None else [note.file, f"row {note.row}"]
    return told(f"{': '.join([*place, note.field])}: {note.found}; {note.mend}", units)


def shown(value: object) -> str:
    """Return a person's own value as a message repeats it: quoted, shortened, on one line and harmless.

    Control characters come out as escapes, so a job cannot drive the terminal that shows its faults.
    """
    if isinstance(value, str):
        cut = value if len(value) <= SHOWN_CHARACTERS else value[:SHOWN_CHARACTERS] + "..."
        return f'"{printable(cut)}"'
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, dict):
        return "a table"
    if isinstance(value, list):
        return f"a list of {len(value)}"
    if isinstance(value, int) and abs(value) > 10**SHOWN_CHARACTERS:
        return "a whole number of more than 60 digits"
    return str(value)


def printable(text: str) -> str:
    """Return text with every character that is not plain print, such as a control code, as an escape."""
    return "".join(c if c.isprintable() else c.encode("unicode_escape").decode("ascii") for c in text)


def nearest(word: str, known: Iterable[str], *, what: str) -> str:
    """Return the mend for an unknown word: the known one most like it, or all of them.

    Examples
    --------
    >>> nearest("widht", ["width", "height"], what="column")
    'the nearest known column is "width"'
    """
    words = list(known)
    close = closest(word, words)
    if close is not None:
        return f'the nearest known {what} is "{close}"'
    return f"known are {', '.join(words)}" if words else f"there is no {what} to name"


def closest(word: str, known: Iterable[str]) -> str | None:
    """Return the known word most like one that is not known, None where none is like it."""
    close = get_close_matches(word[:SHOWN_CHARACTERS].casefold(), list(known), n=1, cutoff=0.6)
    return close[0] if close else None
