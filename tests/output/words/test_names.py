"""Names from a job cannot turn the page or drive a terminal, and keep their letters."""

from __future__ import annotations

import pytest

from portgeom.output.words.names import harmless, short


@pytest.mark.parametrize("name", ["منفذ", "порт 2", "\N{WRENCH}", "a\N{ZERO WIDTH JOINER}b", "port 2"])
def test_letters_of_every_script_stay(name):
    assert harmless(name) == name


@pytest.mark.parametrize(("name", "told"), [("a\x1b[2Jb", r"a\x1b[2Jb"), ("a\u202eb", r"a\u202eb"), ("a\nb", r"a\nb")])
def test_controls_and_direction_turners_are_spelled_out(name, told):
    assert harmless(name) == told


def test_short_names_are_cut_with_an_ellipsis():
    assert short("abcdef", 6) == "abcdef"
    assert short("abcdefg", 6) == "abcde…"
