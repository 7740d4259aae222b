"""What does a page to read and sign consist of, whatever it is written as: HTML, PDF or plain text?

A part without anything in it is no part: nothing that was not measured leaves a heading behind.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TypeAlias

from portgeom.output.words.tables import table as text_table


@dataclass(frozen=True, slots=True)
class Facts:
    """What is so, by name: rows of a name and what it is."""

    rows: tuple[tuple[str, str], ...]


@dataclass(frozen=True, slots=True)
class Grid:
    """A table; the first ``left`` columns are words, the others figures."""

    headings: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    left: int = 1


@dataclass(frozen=True, slots=True)
class Lines:
    """Sentences, one a line."""

    lines: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Sign:
    """Places to sign: what each signature says."""

    fields: tuple[str, ...]


Block: TypeAlias = Facts | Grid | Lines | Sign


@dataclass(frozen=True, slots=True)
class Part:
    """A part of a page under its title."""

    title: str
    blocks: tuple[Block, ...]

    @property
    def filled(self) -> tuple[Block, ...]:
        """Return the blocks that hold anything."""
        return tuple(b for b in self.blocks if _holds(b))


@dataclass(frozen=True, slots=True)
class Link:
    """Where more is to be found: the words, and the place they lead to."""

    words: str
    href: str


@dataclass(frozen=True, slots=True)
class Leaf:
    """A page: its title, what stands under it, its parts, and where more is to be found."""

    title: str
    under: tuple[str, ...]
    parts: tuple[Part, ...]
    link: Link | None = None

    @property
    def filled(self) -> tuple[Part, ...]:
        """Return the parts that hold anything."""
        return tuple(p for p in self.parts if p.filled)


def grid(headings: Sequence[str], rows: Sequence[Sequence[str]], *, left: int = 1) -> Grid:
    """Return a table."""
    return Grid(tuple(headings), tuple(tuple(r) for r in rows), left)


def facts(*rows: tuple[str, str]) -> Facts:
    """Return facts, those without anything said left out."""
    return Facts(tuple(r for r in rows if r[1]))


def _holds(block: Block) -> bool:
    if isinstance(block, Lines):
        return bool(block.lines)
    return bool(block.fields) if isinstance(block, Sign) else bool(block.rows)


def leaf_text(leaf: Leaf) -> str:
    """Return a page as plain text; places to sign are left out."""
    lines = [leaf.title, *(f"  {u}" for u in leaf.under)]
    for part in leaf.filled:
        body = [_text(b) for b in part.filled if not isinstance(b, Sign)]
        if body:
            lines += ["", f"{part.title}:", *body]
    return "\n".join(lines)


def _text(block: Block) -> str:
    if isinstance(block, Facts):
        return "\n".join(f"  {name}: {words}" for name, words in block.rows)
    if isinstance(block, Grid):
        return text_table(block.headings, block.rows, left=block.left)
    return "\n".join(f"  {line}" for line in block.lines) if isinstance(block, Lines) else ""
