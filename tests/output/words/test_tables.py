"""Tables of words keep to 80 columns without losing a letter or breaking a number."""

from __future__ import annotations

import pytest

from portgeom.output.words.tables import WIDE, table

WALLS = ["behind the wall", "surface", "least mm", "limit mm", "thin mm2", "open mm2", "verdict"]


def squeezed(words: str) -> str:
    return "".join(words.split())


@pytest.mark.parametrize(
    "name", ["bolt hole", "a rather long name of a water space behind the wall", "x" * 300, "水" * 30]
)
def test_a_table_keeps_to_the_width_and_loses_no_letter(name: str) -> None:
    rows = [[name, f"after {name}", "4.7", "3.0", "160", "0", "enough"], ["a", "b", "1234.5", "3.0", "0", "0", "thin"]]
    made = table(WALLS, rows, left=2)
    lines = made.split("\n")
    assert max(sum(2 if c == "水" else 1 for c in line) for line in lines) <= WIDE
    for cell in ("4.7", "160", "1234.5", "enough"):
        assert any(cell in line.split() for line in lines)
    assert squeezed(made).count(name[0]) >= 2 * name.count(name[0])


def test_a_table_that_fits_is_laid_out_plainly() -> None:
    assert table(["station", "mm"], [["1", "10.0"], ["12", "9.5"]]) == (
        "  station    mm\n  1        10.0\n  12        9.5"
    )


def test_headings_are_broken_before_words_and_stand_on_their_columns() -> None:
    heads = ["name", *(f"a long heading {k}" for k in range(6))]
    made = table(heads, [["some words", *["123.4"] * 6]]).split("\n")
    assert len(made) > 2
    assert made[-1].split() == ["some", "words", *["123.4"] * 6]
    assert made[-2].split()[0] == "name"
    assert max(map(len, made)) <= WIDE


def test_numbers_are_never_broken_even_where_they_do_not_fit() -> None:
    made = table(["n", *"abcdefghijklmnop"], [["x", *["123456.78"] * 16]])
    assert made.split("\n")[1].split() == ["x", *["123456.78"] * 16]


def test_ranges_go_on_to_a_second_line_whole_number_by_number() -> None:
    heads = ["o'clock", *(f"within {k}" for k in range(6))]
    made = table(heads, [["12", *["-0.56 to +0.21"] * 6]])
    assert max(map(len, made.split("\n"))) <= WIDE
    assert made.split().count("-0.56") == made.split().count("+0.21") == 6
