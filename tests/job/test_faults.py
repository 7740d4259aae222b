"""Faults are gathered once each, in order, and told as harmless lines."""

from __future__ import annotations

import pytest

from portgeom.job.faults import Gathered, JobError, Spot, line, nearest, shown
from portgeom.job.values import Note


def test_a_line_holds_file_row_field_fault_and_mend() -> None:
    note = Note("cast.csv", 4, "width", "-3 is out of range", "give a number of at least 0.001 mm")
    assert line(note) == "cast.csv: row 4: width: -3 is out of range; give a number of at least 0.001 mm"


def test_a_line_without_a_row_leaves_it_out() -> None:
    assert line(Note("job.toml", None, "title", "is missing", "give it")) == "job.toml: title: is missing; give it"


def test_the_error_carries_every_fault_and_shows_one_a_line() -> None:
    notes = [Note("a.csv", i, "u", "is blank", "fill it") for i in (2, 3)]
    with pytest.raises(JobError, match=r"^a\.csv: row 2: .*\na\.csv: row 3: ") as caught:
        raise JobError(notes)
    assert caught.value.faults == tuple(notes)


def test_a_fault_met_twice_is_kept_once_and_order_is_kept() -> None:
    gathered = Gathered()
    spot = Spot(gathered, "a.csv", 2, "u")
    for field in ("u", "v", "u"):
        spot.cell(2, field).fault("is blank", "fill it")
    assert [f.field for f in gathered.faults] == ["u", "v"]
    assert gathered.count == 2


def test_notes_alone_refuse_nothing() -> None:
    gathered = Gathered()
    Spot(gathered, "a.csv", 2, "u").note("was turned", "list it anticlockwise")
    gathered.refuse()
    assert len(gathered.notes) == 1


@pytest.mark.parametrize(
    ("value", "text"),
    [
        ("a\x1b[31m\nb", r'"a\x1b[31m\nb"'),
        ("x" * 61, '"' + "x" * 60 + '..."'),
        (True, "true"),
        ([1, 2], "a list of 2"),
        ({}, "a table"),
        (10**61, "a whole number of more than 60 digits"),
        (1.5, "1.5"),
    ],
)
def test_a_persons_value_is_shown_short_on_one_line_and_without_control_codes(value: object, text: str) -> None:
    assert shown(value) == text


def test_an_unlike_word_gets_the_whole_choice() -> None:
    assert nearest("zzz", ["width", "height"], what="column") == "known are width, height"


def test_what_follows_from_a_wrong_name_is_counted_but_not_told() -> None:
    gathered = Gathered()
    whole = Spot(gathered, "a.csv", None, "rows")
    whole.cell(1, "widht").fault("is not a column", "mend it")
    gathered.mistake("a.csv", "width")
    for file in ("a.csv", "b.csv"):
        Spot(gathered, file, 2, "width").fault("is blank", "fill it")
    assert gathered.count == 3
    assert [(f.file, f.field) for f in gathered.faults] == [("a.csv", "widht"), ("b.csv", "width")]
    with pytest.raises(JobError) as caught:
        gathered.refuse()
    assert caught.value.faults == gathered.faults
