"""How do words from anywhere become letters that can be printed: measured, broken, and in the order they are read?

A letter that the printing font has not becomes a box, never a hole; text of right-to-left scripts is put in the
order in which it is read.
"""

from __future__ import annotations

import re
import unicodedata
from functools import cache
from importlib.util import find_spec
from pathlib import Path as FilePath
from typing import Any

from portgeom.output.words.names import harmless

PLAIN, BOLD = "portgeom", "portgeom-bold"
"""Fonts that are put into the file: they hold more scripts than those every printer has."""

MISSING = "□"
"""Stands for a letter that the font has not."""

JOINERS = frozenset("\u200b\u200c\u200d\u2060\ufe0e\ufe0f\ufeff")
"""Characters that only tell how their neighbours are drawn."""

LINE = 1.35
"""Lines stand this many times the letters' size apart."""


def register_fonts() -> None:
    """Make the two fonts known to the PDF library, once."""
    from reportlab.pdfbase.pdfmetrics import getRegisteredFontNames, registerFont, registerFontFamily
    from reportlab.pdfbase.ttfonts import TTFont

    if PLAIN in getRegisteredFontNames():
        return
    spec = find_spec("matplotlib")  # its fonts lie beside it; it need not be imported for them
    assert spec is not None
    assert spec.origin is not None
    folder = FilePath(spec.origin).parent / "mpl-data" / "fonts" / "ttf"
    registerFont(TTFont(PLAIN, str(folder / "DejaVuSans.ttf")))
    registerFont(TTFont(BOLD, str(folder / "DejaVuSans-Bold.ttf")))
    registerFontFamily(PLAIN, normal=PLAIN, bold=BOLD, italic=PLAIN, boldItalic=BOLD)


def printable(words: str) -> str:
    """Return words in one line, harmless, with a box for every letter that cannot be printed.

    Examples
    --------
    >>> printable("port\\n2 \\U0001f9ff")
    'port 2 □'
    """
    plain = harmless(" ".join(words.split()))
    known = _glyphs()
    shown = "".join(c if ord(c) in known else MISSING for c in plain if c not in JOINERS)
    return _as_read(shown)


@cache
def _glyphs() -> frozenset[int]:
    """Return the characters that both fonts have."""
    from reportlab.pdfbase.pdfmetrics import getFont

    register_fonts()
    faces: list[Any] = [getFont(name).face for name in (PLAIN, BOLD)]
    return frozenset(faces[0].charToGlyph) & frozenset(faces[1].charToGlyph)


def _as_read(words: str) -> str:
    """Return words with runs of right-to-left letters turned round; numbers in them keep their own order."""
    kinds = [unicodedata.bidirectional(c) for c in words]
    if not any(kind in ("R", "AL") for kind in kinds):
        return words
    sorts = {"R": "R", "AL": "R", "NSM": "R", "EN": "N", "AN": "N", "L": "L"}
    shape = "".join(sorts.get(k, " ") for k in kinds)
    parts, done = [], 0
    for run in re.finditer(r"R(?:[RN ]*R)?", shape):
        parts += [words[done : run.start()], _turned(words[run.start() : run.end()])]
        done = run.end()
    return "".join([*parts, words[done:]])


def _turned(run: str) -> str:
    return re.sub(r"\d+(?:[.,]\d+)*", lambda number: number.group(0)[::-1], run)[::-1]


def width(text: str, size: float, *, bold: bool = False) -> float:
    """Return how wide printable words are, in the unit of ``size``."""
    from reportlab.pdfbase.pdfmetrics import stringWidth

    register_fonts()
    return float(stringWidth(text, BOLD if bold else PLAIN, size))


def fitted(text: str, size: float, most: float, *, bold: bool = False) -> str:
    """Return printable words cut to a width, with an ellipsis where something was cut."""
    if width(text, size, bold=bold) <= most:
        return text
    low, high = 0, len(text)
    while low < high:
        middle = (low + high + 1) // 2
        if width(text[:middle].rstrip() + "…", size, bold=bold) <= most:
            low = middle
        else:
            high = middle - 1
    return text[:low].rstrip() + "…" if low else ""


def wrapped(text: str, size: float, wide: float, *, bold: bool = False, most_lines: int = 1000) -> list[str]:
    """Return printable words broken into lines of a width, also inside a word that is wider than a line.

    What does not fit ``most_lines`` is cut, with an ellipsis.
    """
    lines: list[str] = [""]
    for word in text.split():
        joined = f"{lines[-1]} {word}".strip()
        if width(joined, size, bold=bold) <= wide:
            lines[-1] = joined
            continue
        if lines[-1]:
            lines.append("")
        while width(word, size, bold=bold) > wide:
            head = fitted(word, size, wide, bold=bold).removesuffix("…") or word[:1]
            lines[-1] = head
            lines.append("")
            word = word[len(head) :]
        lines[-1] = word
    lines = [line for line in lines if line]
    if len(lines) > most_lines:
        lines = [*lines[: most_lines - 1], fitted(" ".join(lines[most_lines - 1 :]), size, wide, bold=bold)]
    return lines
