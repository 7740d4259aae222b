"""On which line of job.toml does a key stand?

The TOML reader of the standard library does not say. This looks the text over once more for headers and
keys only; it is asked about text that has already been read without a fault, so it need not judge it.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import TypeAlias

KeyPath: TypeAlias = tuple[str | int, ...]
"""Keys from the top down; a number is the place in an array of tables, from 0."""

_TOKEN = re.compile(  # a string that is never closed runs to its end, so that no text is gone over twice
    r'"""(?:\\.|[^\\])*?(?:"{3,5}|\\?\Z)'
    r"|'''.*?(?:'{3,5}|\Z)"
    r'|"(?:\\.|[^"\\\n])*"?'
    r"|'[^'\n]*'?"
    r"|#[^\n]*"
    r"|\n"
    r"|[\[\]{}=.,]"
    r"|[^\s\"'#\[\]{}=.,]+",
    re.DOTALL,
)


def key_lines(text: str) -> dict[KeyPath, int]:
    """Return the line, from 1, of every header and key outside inline tables."""
    found: dict[KeyPath, int] = {}
    for path, line, _ in _paths(text):
        for n in range(1, len(path) + 1):
            found.setdefault(path[:n], line)
    return found


def header_lines(text: str) -> tuple[tuple[int, KeyPath], ...]:
    """Return the line, from 1, and the path of every header, from the top down."""
    return tuple((line, path) for path, line, header in _paths(text) if header)


def line_of(path: KeyPath, lines: dict[KeyPath, int]) -> int | None:
    """Return the line of a key, else that of the nearest table round it, else None."""
    for n in range(len(path), 0, -1):
        if path[:n] in lines:
            return lines[path[:n]]
    return None


def overlong_key(text: str, *, most_dots: int) -> int | None:
    """Return the line of the first key or header with more dots than ``most_dots``, or None.

    It may be asked about any text, and takes time in proportion to it. The standard library's reader takes
    time in proportion to the square of a key's dots, so this is asked first.
    """
    line, dots = 1, 0
    for match in _TOKEN.finditer(text):
        token = match.group()
        if token == ".":
            dots += 1
            if dots > most_dots:
                return line
        elif token[0] in "[]{}=,#\n":
            dots = 0
        line += token.count("\n")
    return None


def _paths(text: str) -> Iterator[tuple[KeyPath, int, bool]]:
    """Yield the path and line of every header and key, and whether it is a header."""
    counts: dict[KeyPath, int] = {}
    here: KeyPath = ()
    for statement, line in _statements(text):
        header = statement[0] == "["
        if not header:
            path = (*here, *_names(statement))
        elif statement[1:2] == ["["]:
            *outer, last = _names(statement)
            array = (*_inside_latest(outer, counts), last)
            counts[array] = counts.get(array, -1) + 1
            path = here = (*array, counts[array])
        else:
            path = here = _inside_latest(_names(statement), counts)
        yield path, line, header


def _statements(text: str) -> Iterator[tuple[list[str], int]]:
    """Yield the tokens of every header, and of every key up to its equals sign, with their line."""
    line, start, depth = 1, 1, 0
    tokens: list[str] = []
    in_value = False
    for match in _TOKEN.finditer(text):
        token = match.group()
        if token == "\n":
            if depth == 0 or not in_value:
                if tokens and not in_value:
                    yield tokens, start
                tokens, in_value, depth = [], False, 0
        elif in_value:
            depth += (token in "[{") - (token in "]}")
        elif token == "=":
            if tokens:
                yield tokens, start
            tokens, in_value = [], True
        elif not token.startswith("#"):
            start = start if tokens else line
            tokens.append(token)
        line += token.count("\n")
    if tokens and not in_value:
        yield tokens, start


def _names(tokens: list[str]) -> list[str]:
    return [t[1:-1] if t[0] in "\"'" else t for t in tokens if t not in "[].{},"]


def _inside_latest(names: list[str], counts: dict[KeyPath, int]) -> KeyPath:
    """Return a header's path, going into the latest entry of every array of tables on the way."""
    path: KeyPath = ()
    for name in names:
        path = (*path, name)
        if path in counts:
            path = (*path, counts[path])
    return path
