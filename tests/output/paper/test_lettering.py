"""Letters on paper: a box for what the font has not, right-to-left words in the order they are read, no cut words."""

from __future__ import annotations

import pytest

from portgeom.output.paper.lettering import MISSING, fitted, printable, width, wrapped


def test_a_letter_that_the_font_has_not_is_a_box() -> None:
    assert printable("a\U0001f9ffb") == f"a{MISSING}b"
    assert printable("日本") == MISSING * 2


def test_what_only_joins_letters_leaves_no_box() -> None:
    assert printable("☺\ufe0f") == "☺"


def test_right_to_left_words_are_turned_round_and_numbers_in_them_are_not() -> None:
    # UAX 9, rules L2 and W: within a right-to-left run digits keep their order
    assert printable("port \u05d0\u05d1 12.5 \u05d2 end") == "port \u05d2 12.5 \u05d1\u05d0 end"


def test_control_characters_and_turners_are_spelled_out() -> None:
    assert printable("a\x1bb\u202ec") == "a\\x1bb\\u202ec"
    assert printable("a\tb\nc") == "a b c"


@pytest.mark.parametrize("text", ["x" * 300, "short words in a row " * 20, "one " + "y" * 90, ""])
def test_lines_are_as_wide_as_asked_and_lose_no_letter(text: str) -> None:
    lines = wrapped(text, 2.4, 30.0)
    assert all(width(line, 2.4) <= 30.0 for line in lines)
    assert "".join(lines).replace(" ", "") == text.replace(" ", "")


def test_what_does_not_fit_ends_in_an_ellipsis() -> None:
    assert fitted("hello", 3.0, 100.0) == "hello"
    cut = fitted("hello " * 20, 3.0, 30.0)
    assert cut.endswith("…")
    assert width(cut, 3.0) <= 30.0
    lines = wrapped("word " * 100, 2.4, 30.0, most_lines=3)
    assert len(lines) == 3
    assert lines[-1].endswith("…")
