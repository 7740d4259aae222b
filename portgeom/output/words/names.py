"""How is a name from a job made harmless and short enough to show?"""

from __future__ import annotations

import unicodedata

TURNERS = frozenset("\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069")
"""Characters that turn the direction of all text after them."""


def harmless(words: str) -> str:
    """Return text whose control characters and direction turners are spelled out instead of obeyed.

    Letters of every script, right-to-left ones among them, and emoji stay as they are.

    Examples
    --------
    >>> harmless("port\\x07 2")
    'port\\\\x07 2'
    """
    if words.isprintable():  # no character of those kinds is
        return words
    return "".join(_spelled(c) if c in TURNERS or unicodedata.category(c) in ("Cc", "Cs") else c for c in words)


def _spelled(character: str) -> str:
    return character.encode("unicode_escape").decode("ascii")


def short(name: str, most: int = 6) -> str:
    """Return a harmless name of at most ``most`` characters, to stand beside a mark.

    Examples
    --------
    >>> short("entrance", 6)
    'entra…'
    """
    name = harmless(name)
    return name if len(name) <= most else name[: most - 1] + "…"
