"""Cells are read as the spreadsheets of several countries save them."""

from __future__ import annotations

import pytest

from portgeom.job.cells import Sheet, read_sheet
from portgeom.job.faults import Gathered, Spot
from portgeom.job.kinds import length


def sheet(text: str) -> tuple[Sheet | None, Gathered]:
    gathered = Gathered()
    whole = Spot(gathered, "t.csv", None, "rows")
    return read_sheet(text, whole, known=("u", "v", "note"), required=("u", "v"), most_rows=3), gathered


def numbers(text: str) -> list[list[float | None]]:
    read, gathered = sheet(text)
    assert read is not None
    found = [[row.number(c, length(), "mm") for c in ("u", "v")] for row in read.rows]
    assert gathered.faults == ()
    return found


WANTED = [[1.5, -2.0], [300.0, 0.25]]


@pytest.mark.parametrize(
    "text",
    [
        "u,v\n1.5,-2\n3e2,.25\n",
        "u;v\n1.5;-2\n3e2;.25\n",
        "u;v\n1,5;-2\n3e2;0,25\n",
        "u,v\r\n1.5,-2\r\n3e2,.25\r\n",
        "u,v\r1.5,-2\r3e2,.25\r",
        "u,v,,\n1.5,-2,,\n3e2,.25,,\n,,,\n\n",
        " U , V \n 1.5 ,-2 \n3e2,.25",
        "v,u,note\n-2,1.5,first\n.25,300,\n",
        "\n\nu,v\n1.5,-2\n\n3e2,0.25\n",
    ],
    ids=["plain", "semicolon", "decimal comma", "crlf", "cr", "blank cells", "blanks", "order", "blank rows"],
)
def test_the_same_numbers_come_of_every_way_to_save_them(text: str) -> None:
    assert numbers(text) == WANTED


def test_rows_are_numbered_as_a_spreadsheet_numbers_them() -> None:
    read, _ = sheet("\nu,v\n1,2\n\n3,4\n")
    assert read is not None
    assert [row.row for row in read.rows] == [3, 5]


@pytest.mark.parametrize(
    "cell", ["1_000", "0x10", "nan", "inf", "1e", "--1", "1 2", "=1+1", "\u0664", "1,2", "\u22121", "1e9999", "12 mm"]
)
def test_what_is_no_plain_number_is_refused(cell: str) -> None:
    read, gathered = sheet(f'u,v\n"{cell}",1\n')
    assert read is not None
    assert read.rows[0].number("u", length(), "mm") is None
    assert [(f.row, f.field) for f in gathered.faults] == [(2, "u")]


def test_one_row_too_many_is_refused() -> None:
    read, gathered = sheet("u,v\n" + "1,2\n" * 4)
    assert read is None
    assert [(f.row, f.mend) for f in gathered.faults] == [(5, "give at most 3")]


def test_columns_are_bounded_in_number() -> None:
    read, gathered = sheet("u,v" + "," * 99 + "\n1,2\n")
    assert read is None
    assert [(f.row, f.found) for f in gathered.faults] == [(1, "has 101 columns")]


def test_every_fault_of_the_header_is_told() -> None:
    _, gathered = sheet("u,w,u\n1,2,3\n")
    assert [(f.row, f.field) for f in gathered.faults] == [(1, "w"), (1, "u"), (1, "v")]
