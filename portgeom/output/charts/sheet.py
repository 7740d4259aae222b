"""What is a drawing made of, before it becomes a page's SVG, a file or a printed figure?

A sheet is a list of marks in points (1/72 in), x to the right and y down, later marks over earlier ones. Every
writer draws the same marks, so that a chart is drawn once whatever it is written to.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Literal, TypeAlias

import numpy as np

from portgeom.geometry.arrays import F64, frozen
from portgeom.output.charts.chart_style import Bytes
from portgeom.output.words.names import harmless

Anchor: TypeAlias = Literal["start", "middle", "end"]
Shape: TypeAlias = Literal["dot", "diamond", "plus", "tick"]

LETTER = 0.58
"""Mean width of a letter as a share of its size, in the fonts named; a little wide, so that words never meet."""

WIDTH = 648.0
"""Width of a whole chart: 9 in."""


@dataclass(frozen=True, slots=True)
class Stroke:
    """How a line is drawn: colour as ``#rrggbb``, width in points, dashes and gaps in points."""

    colour: str
    width: float = 1.2
    dashes: tuple[float, ...] = ()
    opacity: float = 1.0


@dataclass(frozen=True, slots=True)
class Curve:
    """A line through points (k, 2)."""

    points: F64
    stroke: Stroke


@dataclass(frozen=True, slots=True)
class Region:
    """A filled ring of points (k, 2) without a repeated end; ``fill`` is None where only its edge is drawn."""

    points: F64
    fill: str | None
    edge: Stroke | None = None
    opacity: float = 1.0


@dataclass(frozen=True, slots=True)
class Spot:
    """A mark at a place (2,), ``size`` points wide."""

    at: F64
    shape: Shape
    size: float
    colour: str
    edge: str | None = None


@dataclass(frozen=True, slots=True)
class Words:
    """A line of text whose middle height is at a place (2,)."""

    at: F64
    text: str
    size: float
    colour: str
    anchor: Anchor = "middle"
    bold: bool = False
    turned: bool = False
    ground: str | None = None

    @property
    def width(self) -> float:
        """Return about how wide it is."""
        return words_width(self.text, self.size)

    def meets(self, other: Words) -> bool:
        """Return whether it and other words, both lying, would touch."""
        (left, right), (low, high) = self.reach()
        (other_left, other_right), (other_low, other_high) = other.reach()
        return left < other_right and other_left < right and low < other_high and other_low < high

    def covers(self, points: F64) -> bool:
        """Return whether it, lying, would cover any of some points (k, 2)."""
        across, down = self.reach()
        x, y = points[:, 0], points[:, 1]
        return bool(((x > across[0]) & (x < across[1]) & (y > down[0]) & (y < down[1])).any())

    def reach(self) -> tuple[tuple[float, float], tuple[float, float]]:
        """Return from where to where it lies across and down, with a little room round it."""
        x, y = float(self.at[0]), float(self.at[1])
        before = {"start": 0.0, "middle": 0.5, "end": 1.0}[self.anchor] * self.width
        tall = 0.6 * self.size
        return (x - before - 1.5, x - before + self.width + 1.5), (y - tall, y + tall)


@dataclass(frozen=True, slots=True)
class Painting:
    """An image of points (h, w, 3) of red, green and blue, between two corners (2,), cut off outside a ring (k, 2).

    A ``photo`` may lose what no eye sees.
    """

    low: F64
    high: F64
    pixels: Bytes
    ring: F64 | None = None
    photo: bool = False


Mark: TypeAlias = Curve | Region | Spot | Words | Painting


@dataclass(frozen=True, slots=True)
class Sheet:
    """A drawing: its size in points, its marks, and where on it each distance along the path lies.

    Attributes
    ----------
    cursor : (k, 5) float
        Rows of distance in the units shown and the two ends (x, y, x, y) of the line that stands for it; between
        rows it runs linearly. Empty where the drawing has no distance.
    """

    width: float
    height: float
    marks: tuple[Mark, ...]
    cursor: F64


def sheet(width: float, height: float, marks: Sequence[Mark], cursor: F64 | None = None) -> Sheet:
    """Return a drawing."""
    return Sheet(width, height, tuple(marks), frozen(np.empty((0, 5)) if cursor is None else cursor))


def words_width(words: str, size: float) -> float:
    """Return about how wide a line of text is, in points."""
    return LETTER * size * len(words)


def place(x: float, y: float) -> F64:
    """Return a place (2,)."""
    return np.array([x, y], dtype=np.float64)


def line(x0: float, y0: float, x1: float, y1: float, stroke: Stroke) -> Curve:
    """Return a straight line."""
    return Curve(np.array([[x0, y0], [x1, y1]], dtype=np.float64), stroke)


def box(x0: float, y0: float, x1: float, y1: float, fill: str | None, edge: Stroke | None = None) -> Region:
    """Return a rectangle."""
    return Region(np.array([[x0, y0], [x1, y0], [x1, y1], [x0, y1]], dtype=np.float64), fill, edge)


def lines_of_words(
    x: float, y: float, text: str, size: float, colour: str, *, anchor: Anchor = "middle", ground: str | None = None
) -> list[Words]:
    """Return text of several lines, its middle at a place."""
    rows = harmless(text.replace("\n", "\v")).replace("\\x0b", "\v").split("\v")
    step = 1.25 * size
    first = y - 0.5 * step * (len(rows) - 1)
    return [Words(place(x, first + k * step), row, size, colour, anchor, ground=ground) for k, row in enumerate(rows)]


def name_room(names: Iterable[str], size: float) -> float:
    """Return how far apart the middles of names side by side have to stand at least, in points."""
    return max((words_width(name, size) for name in names), default=0.0) + 0.6 * size


def spaced(places: F64, gap: float) -> list[int]:
    """Return which of some places (n,) or (n, 2) to name so that no two names stand closer than ``gap``.

    Examples
    --------
    >>> spaced(np.array([0.0, 1.0, 4.0, 4.5]), 2.0)
    [0, 2]
    """
    points = places.reshape(len(places), -1)
    kept: list[int] = []
    for k, point in enumerate(points):
        if all(np.linalg.norm(point - points[j]) >= gap for j in kept):
            kept.append(k)
    return kept
