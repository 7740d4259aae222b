"""The line of a key is the line a person finds it on."""

from __future__ import annotations

import tomllib

import pytest

from portgeom.job.lines import key_lines, line_of, overlong_key

TEXT = '''\
title = "a # b = [c"   # [[port]] = no
text = """
[[port]]
name = 'not a key'
"""

[[port]]
name = "1"
line = [
  [0.0, 1.0],  # x = 1
  [2.0, 3.0],
]
after = {a = 1, b = [1,
  2]}
  [port.walls]
  left = 'x'
  [[port.stage]]
  name = "cast"
  [[port.stage]]
  "quoted" = 1
[[port]]
name = "2"
  [[port.stage]]
  name = "cast"
[limits]
dotted.deep = 1
'''


@pytest.mark.parametrize(
    ("path", "row"),
    [
        (("title",), 1),
        (("text",), 2),
        (("port",), 7),
        (("port", 0), 7),
        (("port", 0, "name"), 8),
        (("port", 0, "line"), 9),
        (("port", 0, "after"), 13),
        (("port", 0, "walls"), 15),
        (("port", 0, "walls", "left"), 16),
        (("port", 0, "stage", 0, "name"), 18),
        (("port", 0, "stage", 1), 19),
        (("port", 0, "stage", 1, "quoted"), 20),
        (("port", 1, "name"), 22),
        (("port", 1, "stage", 0, "name"), 24),
        (("limits", "dotted", "deep"), 26),
    ],
)
def test_a_key_is_found_on_its_line(path: tuple[str | int, ...], row: int) -> None:
    tomllib.loads(TEXT)
    assert line_of(path, key_lines(TEXT)) == row


def test_a_missing_key_is_told_at_the_table_round_it() -> None:
    lines = key_lines(TEXT)
    assert line_of(("port", 1, "kind"), lines) == 21
    assert line_of(("port", 0, "after", "c"), lines) == 13
    assert line_of(("units",), lines) is None


def test_nothing_within_a_string_or_a_list_is_taken_for_a_key() -> None:
    top = {path[0] for path in key_lines(TEXT)}
    assert top == {"title", "text", "port", "limits"}


def test_a_key_of_too_many_dots_is_found_before_the_text_is_parsed() -> None:
    assert overlong_key(TEXT, most_dots=1) is None
    assert overlong_key("a = 1\nb.c.d = 1\n", most_dots=1) == 2
    assert overlong_key("x = { a . 'b' . \"c\" = 1 }", most_dots=1) == 1
    assert overlong_key('x = "a.b.c"  # a.b.c\ny = [1.0, 2.0, 3.0]\n', most_dots=1) is None


@pytest.mark.parametrize("crumb", ['"""\n\\', "'\n", '"', "'''", '\\"', "[", '"""', "\\"])
def test_any_text_is_gone_over_once(crumb: str) -> None:
    # time in proportion to the square would be minutes here; in proportion it is some hundredths of a second
    assert overlong_key(crumb * 200_000, most_dots=1) is None
