"""How is a table of words laid out in plain text that reads at 80 columns and in a log?"""

from __future__ import annotations

import unicodedata
from collections.abc import Sequence


def table(headings: Sequence[str], rows: Sequence[Sequence[str]], *, left: int = 1) -> str:
    """Return rows under headings, the first ``left`` columns to the left and the rest to the right.

    Examples
    --------
    >>> print(table(["place", "mm"], [["a", "10.0"], ["long", "9.5"]]))
      place    mm
      a      10.0
      long    9.5
    """
    cells = [list(headings), *[list(r) for r in rows]]
    width = [max(_columns(row[k]) for row in cells) for k in range(len(headings))]
    lines = []
    for row in cells:
        out = [
            cell + " " * (w - _columns(cell)) if k < left else " " * (w - _columns(cell)) + cell
            for k, (cell, w) in enumerate(zip(row, width, strict=True))
        ]
        lines.append(("  " + "  ".join(out)).rstrip())
    return "\n".join(lines)


def _columns(text: str) -> int:
    """Return how many columns of a terminal a text takes."""
    return sum(0 if unicodedata.combining(c) else 1 + (unicodedata.east_asian_width(c) in "WF") for c in text)
