"""How is a table of words laid out in plain text that reads at 80 columns and in a log?"""

from __future__ import annotations

import unicodedata
from collections.abc import Sequence

WIDE = 80
"""Columns of a terminal that a table keeps to, where its numbers let it."""

INDENT, GAP = 2, 2


def table(headings: Sequence[str], rows: Sequence[Sequence[str]], *, left: int = 1, wide: int = WIDE) -> str:
    """Return rows under headings, the first ``left`` columns to the left and the rest to the right.

    Where that is wider than ``wide``, headings are broken at their spaces, then the columns stand nearer together,
    then the words of the left columns are broken, the widest first, in the end inside a word. Numbers never are; a
    range of two goes on to a second line.

    Examples
    --------
    >>> print(table(["place", "mm"], [["a", "10.0"], ["long", "9.5"]]))
      place    mm
      a      10.0
      long    9.5
    """
    cells = [list(headings), *[list(r) for r in rows]]
    count = len(headings)
    whole = [max(_columns(row[k]) for row in cells) for k in range(count)]
    gap = GAP
    if _total(whole, gap) <= wide:
        return "\n".join(_lines([[c] for c in row], whole, left, gap) for row in cells)
    widths = [max([_word(headings[k]), *(_columns(row[k]) for row in cells[1:])]) for k in range(count)]
    spare = wide - _total(widths, gap)
    if spare < 0:
        gap = 1
        spare = wide - _total(widths, gap)
    least = [LEAST if k < left else max(_word(row[k]) for row in cells) for k in range(count)]
    while spare < 0:
        broken = [k for k in range(count) if widths[k] > least[k]]
        if not broken:
            break
        # words of the left columns give way before ranges of numbers do
        widest = max(broken, key=lambda k: (k < left, widths[k]))
        widths[widest] -= 1
        spare += 1
    for k in range(count):  # what is left over goes to the headings
        more = min(max(0, spare), max(0, whole[k] - widths[k]))
        widths[k] += more
        spare -= more
    head, *body = ([_broken(cell, w) for cell, w in zip(row, widths, strict=True)] for row in cells)
    tall = max(len(cell) for cell in head)
    head = [[""] * (tall - len(cell)) + cell for cell in head]  # headings stand on their columns
    return "\n".join(_lines(row, widths, left, gap) for row in [head, *body])


LEAST = 8
"""A column of words is made no narrower than this."""


def _total(widths: Sequence[int], gap: int) -> int:
    return INDENT + sum(widths) + gap * (len(widths) - 1)


def _word(text: str) -> int:
    return max((_columns(word) for word in text.split()), default=0)


def _broken(cell: str, width: int) -> list[str]:
    """Return a cell in lines of a width, broken at spaces, or inside a word that is wider."""
    if _columns(cell) <= width:
        return [cell]
    lines = [""]
    for word in cell.split():
        if lines[-1] and _columns(lines[-1]) + 1 + _columns(word) <= width:
            lines[-1] += f" {word}"
            continue
        if lines[-1]:
            lines.append("")
        for letter in word:
            if _columns(lines[-1] + letter) > width:
                lines.append("")
            lines[-1] += letter
    return lines


def _lines(cells: Sequence[Sequence[str]], widths: Sequence[int], left: int, gap: int) -> str:
    """Return one row, every cell in lines from its top."""
    tall = max(len(cell) for cell in cells)
    out = []
    for n in range(tall):
        parts = []
        for k, (cell, width) in enumerate(zip(cells, widths, strict=True)):
            text = cell[n] if n < len(cell) else ""
            pad = " " * (width - _columns(text))
            parts.append(text + pad if k < left else pad + text)
        out.append((" " * INDENT + (" " * gap).join(parts)).rstrip())
    return "\n".join(out)


def _columns(text: str) -> int:
    """Return how many columns of a terminal a text takes."""
    return sum(0 if unicodedata.combining(c) else 1 + (unicodedata.east_asian_width(c) in "WF") for c in text)
