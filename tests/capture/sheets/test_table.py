"""The filled table of a measuring sheet is read as any spreadsheet saves it, and every slip is told at its cell."""

from __future__ import annotations

from pathlib import Path
from typing import TypeAlias

import pytest

from portgeom.capture.sheets.gauged_values import BowlSection, FaceSection, TurnSection
from portgeom.capture.sheets.readings import COLUMNS, SET_UP, SHORT_SIDE, Marks, blank_table, marks_of
from portgeom.capture.sheets.table import SheetTable, read_sheet_table
from portgeom.geometry.shapes import CornerRadii
from portgeom.job.faults import JobError

SET_UP_VALUES = {
    "units": "mm",
    "face_to_deck": "84.3",
    "arbor_away": "80.5",
    "arbor_right": "90",
    "face_to_arbor": "82.5",
    "seat_below_deck": "6",
    "floor_above_deck": "34",
    "roof_above_deck": "78.8",
    "arbor_along_head": "31",
    "short_radius": "12",
    "crest_depth": "44",
    "crest_height": "3",
}
CORNERS = {"radius_tl": "9", "radius_tr": "9.5", "radius_br": "10", "radius_bl": "11"}
FACE = {"width_low": "35", "width": "36", "width_high": "37", "height_left": "44.9", "height": "45",
        "height_right": "44.8", **CORNERS, "floor": "1.5", "side": "15.5"}  # fmt: skip
POINTER = ("away", "away_right", "right", "face_right", "face", "face_left", "left", "away_left")
BOWL = {key: f"{20 + 0.25 * k}" for k, key in enumerate(POINTER)}
ROWS = [
    ("face", "0", FACE | {"floor": ""}),
    ("face", "20", FACE),
    ("turn", "30", {"height": "42.5", "width": "38.5"}),
    ("turn", "50", {"height": "42", "width": "40", **CORNERS, "floor": "0.2", "side": "20"}),
    ("bowl", "8", BOWL),
    ("bowl", "0", BOWL),
]


Filled: TypeAlias = list[tuple[str, str, dict[str, str]]]


def text_of(
    set_up: dict[str, str] = SET_UP_VALUES,
    rows: Filled = ROWS,
    *,
    separator: str = ",",
    comma: bool = False,
) -> str:
    lines = [list(COLUMNS)]
    lines += [[key, "", value] for key, value in set_up.items()]
    lines += [[kind, at, *(cells.get(c, "") for c in COLUMNS[2:])] for kind, at, cells in rows]
    if comma:
        lines = [[cell.replace(".", ",") for cell in line] for line in lines]
    return "".join(separator.join(line) + "\n" for line in lines)


def read(folder: Path, text: str | bytes) -> SheetTable:
    path = folder / "filled.csv"
    path.write_bytes(text.encode("utf-8") if isinstance(text, str) else text)
    return read_sheet_table(path)


def test_a_filled_table_becomes_readings_in_mm(tmp_path: Path) -> None:
    table = read(tmp_path, text_of())
    assert table.units == "mm"
    assert table.set_up.arbor_away_deg == 80.5
    assert table.set_up.crest_height_mm == 3.0
    assert table.set_up.along_head_mm == 31.0
    face, inner, bare, whole, bowl, seat = table.sections
    assert isinstance(face, FaceSection)
    assert face.floor_mm == 0.0
    assert isinstance(inner, FaceSection)
    assert (inner.depth_mm, inner.floor_mm, inner.side_mm) == (20.0, 1.5, 15.5)
    assert inner.gauged.widths_mm.tolist() == [35.0, 36.0, 37.0]
    assert inner.gauged.heights_mm.tolist() == [44.9, 45.0, 44.8]
    assert inner.gauged.radii_mm == CornerRadii(9.0, 9.5, 10.0, 11.0)
    assert bare == TurnSection(30.0, 38.5, 42.5)
    assert whole == TurnSection(50.0, 40.0, 42.0, CornerRadii(9.0, 9.5, 10.0, 11.0), 0.2, 20.0)
    assert isinstance(bowl, BowlSection)
    assert bowl.radii_mm.tolist() == [20.0 + 0.25 * k for k in range(8)]
    assert isinstance(seat, BowlSection)
    assert seat.above_seat_mm == 0.0
    assert table.rows == (14, 15, 16, 17, 18, 19)
    assert table.notes == ()


def saved() -> dict[str, bytes]:
    """Return the same table as spreadsheets save it."""
    plain = text_of()
    return {
        "comma": plain.encode(),
        "semicolon": text_of(separator=";").encode(),
        "semicolon and decimal comma": text_of(separator=";", comma=True).encode(),
        "byte-order mark": plain.encode("utf-8-sig"),
        "carriage returns": plain.replace("\n", "\r\n").encode(),
        "trailing columns": "".join(f"{line},,,\n" for line in plain.splitlines()).encode(),
        "trailing rows": (plain + "," * 22 + "\n" + "\n" * 3 + ",,\n").encode(),
        "blanks in cells": plain.replace(",36,", ", 36 ,").encode(),
        "quoted": "".join(",".join(f'"{c}"' for c in line.split(",")) + "\n" for line in plain.splitlines()).encode(),
        "short rows": "".join(line.rstrip(",") + "\n" for line in plain.splitlines()).encode(),
        "capitals and blanks in names": plain.replace("face_to_deck", "Face to deck").replace("bowl", "Bowl").encode(),
    }


@pytest.mark.parametrize("how", saved())
def test_however_it_was_saved_it_reads_the_same(tmp_path: Path, how: str) -> None:
    table, plain = read(tmp_path, saved()[how]), read(tmp_path, text_of())
    assert table.set_up == plain.set_up
    assert [type(s) for s in table.sections] == [type(s) for s in plain.sections]
    for one, other in zip(table.sections, plain.sections, strict=True):
        assert repr(one) == repr(other)


def test_inches_become_mm_and_degrees_stay(tmp_path: Path) -> None:
    table = read(tmp_path, text_of(SET_UP_VALUES | {"units": "in"}))
    assert table.units == "in"
    assert table.set_up.face_to_arbor_mm == pytest.approx(82.5 * 25.4)
    assert table.set_up.face_to_deck_deg == 84.3
    turn = table.sections[2]
    assert isinstance(turn, TurnSection)
    assert turn.angle_deg == 30.0
    assert turn.width_mm == pytest.approx(38.5 * 25.4)


@pytest.mark.parametrize(
    ("set_up", "rows", "row", "field", "found"),
    [
        ({"units": ""}, ROWS, 2, "value", "is blank"),
        ({"units": "cm"}, ROWS, 2, "value", '"cm" is no unit of a sheet'),
        ({"face_to_deck": ""}, ROWS, 3, "value", "give angle from deck to manifold face"),
        ({"face_to_deck": "190"}, ROWS, 3, "value", "at most 160"),
        ({"face_to_arbor": "-3"}, ROWS, 6, "value", "-3.0 is out of range"),
        ({"short_radius": ""}, ROWS, 11, "value", "give radius of the short side"),
        ({"arbour": "3"}, ROWS, 14, "section", '"arbour" is not known'),
        ({}, [("face", "", FACE), *ROWS[1:]], 14, "at", "is blank"),
        ({}, [*ROWS[:1], ("face", "20", FACE | {"width": ""}), *ROWS[2:]], 15, "width", "half the height"),
        ({}, [*ROWS[:1], ("face", "20", FACE | {"width": "3o"}), *ROWS[2:]], 15, "width", '"3o" is not a number'),
        ({}, [*ROWS[:1], ("face", "20", FACE | {"floor": ""}), *ROWS[2:]], 15, "floor", "is blank"),
        ({}, [*ROWS[:1], ("face", "20", FACE | {"away": "3"}), *ROWS[2:]], 15, "away", "to a face section"),
        ({}, [*ROWS[:1], ("face", "20", FACE | {"radius_tl": ""}), *ROWS[2:]], 15, "radius_tl", "is blank"),
        ({}, [*ROWS[:3], ("turn", "50", ROWS[3][2] | {"radius_br": ""}), *ROWS[4:]], 17, "radius_br", "all four"),
        ({}, [*ROWS[:3], ("turn", "50", {"width": "40"}), *ROWS[4:]], 17, "height", "is blank"),
        ({}, [*ROWS[:5], ("bowl", "0", BOWL | {"left": ""})], 19, "left", "is blank"),
        ({}, [*ROWS, ("seat", "0", {})], 20, "section", '"seat" is not known'),
        ({}, [*ROWS, ("", "0", {})], 20, "section", "is blank"),
    ],
)  # fmt: skip
def test_a_slip_is_told_at_its_cell(
    tmp_path: Path,
    set_up: dict[str, str],
    rows: Filled,
    row: int,
    field: str,
    found: str,
) -> None:
    with pytest.raises(JobError, match=r"^filled\.csv: row") as caught:
        read(tmp_path, text_of(SET_UP_VALUES | set_up, rows))
    told = {(f.row, f.field): f"{f.found}; {f.mend}" for f in caught.value.faults}
    assert (row, field) in told
    assert found in told[row, field]


def test_every_blank_of_an_untouched_table_is_told_at_once(tmp_path: Path) -> None:
    marks = Marks((0.0, 20.0), (30.0,), (0.0,))
    with pytest.raises(JobError, match="is blank") as caught:
        read(tmp_path, blank_table(marks, units="mm"))
    needed = [r for r in (*SET_UP, *SHORT_SIDE) if r.needed]
    # a dozen readings a face section, two of a turn, eight of a bowl; the floor at the face is 0
    assert len(caught.value.faults) == len(needed) + 12 + 12 - 1 + 2 + 8


def test_floor_and_roof_that_do_not_make_the_height_are_told(tmp_path: Path) -> None:
    table = read(tmp_path, text_of(SET_UP_VALUES | {"roof_above_deck": "81"}))
    (note,) = table.notes
    assert note.field == "roof_above_deck"
    assert note.found == "makes the port 47.23 high at the face, where it was gauged as 45"


@pytest.mark.parametrize(
    ("data", "found"),
    [
        (b"", "is empty"),
        (b"section\tat\tvalue\n", "has tabs between its cells"),
        (b"\xff\xfes\x00", "is in UTF-16"),
        (b"section,at,value\n\x80,,\n", "is not UTF-8"),
        (b"a,b\n1,2\n", "this column is missing"),
        (b"x" * 2_000_001, "has more than 2000000 bytes"),
        (("section,value\n" + "face,1\n" * 300).encode(), "is row 213 of the table's own"),
    ],
)
def test_what_is_no_table_is_refused(tmp_path: Path, data: bytes, found: str) -> None:
    with pytest.raises(JobError, match=found):
        read(tmp_path, data)


def test_a_table_that_is_not_there_is_told(tmp_path: Path) -> None:
    with pytest.raises(JobError, match=r"none\.csv: table: .* is not there"):
        read_sheet_table(tmp_path / "none.csv")


def test_a_table_with_semicolons_has_decimal_commas() -> None:
    marks = marks_of("0 12.5", "", "7.5, 0", units="mm")
    lines = blank_table(marks, units="mm", separator=";").splitlines()
    assert [line.split(";")[1] for line in lines if line.startswith(("face;", "bowl;"))] == ["0", "12,5", "7,5", "0"]


def test_marks_in_inches_are_written_in_inches() -> None:
    marks = marks_of("0 0.5", "20", "0.3 0", units="in")
    assert marks.face_mm == (0.0, 12.7)
    assert list(marks.rows("in")) == [("face", "0"), ("face", "0.5"), ("turn", "20"), ("bowl", "0.3"), ("bowl", "0")]


@pytest.mark.parametrize(
    ("face", "turn", "bowl", "found"),
    [
        ("", "", "", "do not begin with 0"),
        ("2 4", "", "", "do not begin with 0"),
        ("0 4 4", "", "", "face marks must rise"),
        ("0 4", "40 20", "", "turn marks must rise"),
        ("0 4", "", "0 8", "bowl marks must fall"),
        ("0 4", "0 20", "", "degrees above 0"),
        ("0 4", "20 200", "", "below 180"),
        ("0 nan", "", "", "face mark 'nan' is not a number"),
        ("0 1e9", "", "", "is not a number"),
        (" ".join(map(str, range(80))), "", "", "80 face marks; at most 60"),
    ],
)
def test_marks_that_make_no_sheet_are_refused(face: str, turn: str, bowl: str, found: str) -> None:
    with pytest.raises(ValueError, match=found):
        marks_of(face, turn, bowl, units="mm")
