"""Which readings does a measuring sheet ask for, and what are they called, on paper and in its table?"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import pairwise
from typing import Literal, TypeAlias

from portgeom.job.kinds import LONGEST_MM
from portgeom.job.units import length_from_mm, mm_per_unit
from portgeom.job.values import Units

Measure: TypeAlias = Literal["length", "signed", "degrees", "mm or in"]


@dataclass(frozen=True, slots=True)
class Reading:
    """One reading: the row or column it has in the table, its letter in the drawing, and its words.

    Attributes
    ----------
    key : str
    letter : str
        As in the drawing of its part of the sheet.
    words : str
    measure : Measure
        "signed" is a length that may lie either side of 0.
    needed : bool
        Whether a blank is a fault.
    """

    key: str
    letter: str
    words: str
    measure: Measure = "length"
    needed: bool = True


SET_UP = (
    Reading("face_to_deck", "A", "angle from deck to manifold face, through the metal", "degrees"),
    Reading("arbor_away", "B", "angle from deck to arbor, on the side away from the face", "degrees"),
    Reading("arbor_right", "C", "angle from deck to arbor, on the side marked R", "degrees"),
    Reading("face_to_arbor", "D", "along the deck, plane of the face to middle of arbor"),
    Reading("seat_below_deck", "E", "deck to valve seat, square to the deck, at the arbor", "signed"),
    Reading("floor_above_deck", "F", "deck to port floor, at the face"),
    Reading("roof_above_deck", "G", "deck to port roof, at the face"),
    Reading("arbor_along_head", "H", "end of the head not marked R to arbor (blank: 0)", "signed", needed=False),
)
"""Read once, before any section."""

SHORT_SIDE = (
    Reading("short_radius", "J", "radius of the short side, by gauge"),
    Reading("crest_depth", "K", "depth of the gauge's crest, square from the face"),
    Reading("crest_height", "L", "crest over the floor at the face (below: minus)", "signed"),
)
"""Needed where there are turn sections."""

CORNERS = (
    Reading("radius_tl", "r1", "corner radius, top left"),
    Reading("radius_tr", "r2", "corner radius, top right"),
    Reading("radius_br", "r3", "corner radius, bottom right"),
    Reading("radius_bl", "r4", "corner radius, bottom left"),
)

FACE = (
    Reading("width_low", "w1", "width at a quarter of the height"),
    Reading("width", "w2", "width at half the height"),
    Reading("width_high", "w3", "width at three quarters of the height"),
    Reading("height_left", "h1", "height at a quarter of the width"),
    Reading("height", "h2", "height in the middle"),
    Reading("height_right", "h3", "height at three quarters of the width"),
    *CORNERS,
    Reading("floor", "f", "floor over the floor at the face (below: minus)", "signed"),
    Reading("side", "s", "left wall to the arbor's line, at half the height", "signed"),
)
"""Of a section parallel to the face; left and right as seen looking in with the deck down."""

TURN = (
    Reading("height", "h", "short side to roof, in line with the gauge's centre"),
    Reading("width", "w", "width at half that height"),
    *(Reading(c.key, c.letter, f"{c.words} (blank: carried over)", needed=False) for c in CORNERS),
    Reading("floor", "f", "floor off the gauge (blank: 0)", "signed", needed=False),
    Reading("side", "s", "left wall to the arbor's line (blank: carried over)", "signed", needed=False),
)
"""Of a section fanned about the centre of the short side radius."""

BOWL = tuple(
    Reading(key, str(k), words)
    for k, (key, words) in enumerate(
        (
            ("away", "away from the face"),
            ("away_right", "away and right"),
            ("right", "right (R)"),
            ("face_right", "face and right"),
            ("face", "towards the face"),
            ("face_left", "face and left"),
            ("left", "left"),
            ("away_left", "away and left"),
        ),
        start=1,
    )
)
"""Of a section square to the arbor: middle of the arbor to the wall, by a pointer."""

AT = {"face": "depth", "turn": "angle", "bowl": "over seat"}
"""What the column ``at`` of a section says."""

OF_KIND = {"face": FACE, "turn": TURN, "bowl": BOWL}
SECTION_COLUMNS = tuple(dict.fromkeys(r.key for kind in OF_KIND.values() for r in kind))
COLUMNS = ("section", "at", "value", *SECTION_COLUMNS)


@dataclass(frozen=True, slots=True)
class Marks:
    """Where sections are to be gauged: depths from the face (mm), angles of the turn (degrees), heights over the
    seat (mm), each from the face inwards."""

    face_mm: tuple[float, ...]
    turn_deg: tuple[float, ...] = ()
    bowl_mm: tuple[float, ...] = ()

    def rows(self, units: Units) -> Iterator[tuple[str, str]]:
        """Return the kind of every section and its mark as printed and as written in the table."""
        for kind, marks in (("face", self.face_mm), ("turn", self.turn_deg), ("bowl", self.bowl_mm)):
            for mark in marks:
                number = mark if kind == "turn" else length_from_mm(mark, units)
                yield kind, f"{round(number, 4):g}"


USUAL: dict[Units, tuple[str, str, str]] = {
    "mm": ("0 10 20 30 40", "20 40 60", "16 8 0"),
    "in": ("0 0.4 0.8 1.2 1.6", "20 40 60", "0.6 0.3 0"),
}
"""Marks to begin with where nobody says others: face, turn, bowl."""

MOST_MARKS = 60


def marks_of(face: str, turn: str, bowl: str, *, units: Units) -> Marks:
    """Return marks as a person types them: numbers with blanks or commas between, in the sheet's units.

    Raises
    ------
    ValueError
        Where something is no number, or a list does not run from the face inwards. The message says which.

    Examples
    --------
    >>> marks_of("0, 12.5", "", "8 0", units="mm")
    Marks(face_mm=(0.0, 12.5), turn_deg=(), bowl_mm=(8.0, 0.0))
    """
    depths, angles, heights = (_numbers(t, n) for t, n in ((face, "face"), (turn, "turn"), (bowl, "bowl")))
    if not depths or depths[0] != 0.0:
        raise ValueError(f"face marks {face!r} do not begin with 0, on the manifold face")
    for name, numbers, order in (("face", depths, 1), ("turn", angles, 1), ("bowl", heights, -1)):
        if any((b - a) * order <= 0.0 for a, b in pairwise(numbers)):
            way = "rise" if order > 0 else "fall towards the seat"
            raise ValueError(f"{name} marks must {way}, each given once")
    if angles and not 0.0 < angles[0] <= angles[-1] < 180.0:
        raise ValueError("turn marks are degrees above 0, parallel to the face, and below 180")
    mm = mm_per_unit(units)
    return Marks(tuple(mm * s for s in depths), angles, tuple(mm * s for s in heights))


def _numbers(text: str, name: str) -> tuple[float, ...]:
    parts = text.replace(",", " ").replace(";", " ").split()
    if len(parts) > MOST_MARKS:
        raise ValueError(f"{len(parts)} {name} marks; at most {MOST_MARKS}")
    numbers = []
    for part in parts:
        try:
            value = float(part)
        except ValueError:
            value = math.nan
        if not math.isfinite(value) or abs(value) > LONGEST_MM:
            raise ValueError(f"{name} mark {part!r} is not a number; write them as 0, 12, 24")
        numbers.append(value)
    return tuple(numbers)


def set_up_readings(marks: Marks) -> tuple[Reading, ...]:
    """Return the set-up readings that a sheet with these marks asks for."""
    return (*SET_UP, *SHORT_SIDE) if marks.turn_deg else SET_UP


def blank_table(marks: Marks, *, units: Units, separator: str = ",") -> str:
    """Return the table to type the filled sheet into, one row for each set-up reading and each section.

    Examples
    --------
    >>> blank_table(Marks((0.0, 10.0)), units="mm").splitlines()[1].rstrip(",")
    'units,,mm'
    """
    width = len(COLUMNS)
    rows = [list(COLUMNS), ["units", "", units]]
    rows += [[reading.key] for reading in set_up_readings(marks)]
    for kind, mark in marks.rows(units):
        row = [kind, mark.replace(".", ",") if separator == ";" else mark, *[""] * (width - 2)]
        if kind == "face" and float(mark) == 0.0:
            row[COLUMNS.index("floor")] = "0"
        rows.append(row)
    return "".join(separator.join([*row, *[""] * (width - len(row))]) + "\n" for row in rows)
