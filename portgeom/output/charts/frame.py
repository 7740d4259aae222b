"""Where in a drawing does a value fall, and how are its axes, grid, legend and colour bar drawn?"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np

from portgeom.geometry.arrays import F64
from portgeom.output.charts.chart_style import STYLE, Ramp, Style
from portgeom.output.charts.sheet import (
    Curve,
    Mark,
    Painting,
    Region,
    Stroke,
    Words,
    box,
    line,
    place,
    words_width,
)
from portgeom.output.words.names import harmless

TICKS_APART = 55.0
"""Ticks along an axis stand about so many points apart."""

KEY_WIDE, KEY_GAP = 24.0, 16.0
"""Length of a line in the legend, and the gap to the next entry."""

ROW = 14.0
"""Height of a row of the legend."""


@dataclass(frozen=True, slots=True)
class Frame:
    """A rectangle of a drawing in points, and the values at its sides.

    Attributes
    ----------
    left, top, right, bottom : float
    x0, x1 : float
        Values at the left and the right side.
    y0, y1 : float
        Values at the bottom and the top side.
    """

    left: float
    top: float
    right: float
    bottom: float
    x0: float
    x1: float
    y0: float
    y1: float

    @property
    def wide(self) -> float:
        """Return its width in points."""
        return self.right - self.left

    @property
    def tall(self) -> float:
        """Return its height in points."""
        return self.bottom - self.top

    def x(self, value: float) -> float:
        """Return where a value falls along it."""
        return self.left + (value - self.x0) / (self.x1 - self.x0) * self.wide

    def y(self, value: float) -> float:
        """Return where a value falls down it."""
        return self.bottom - (value - self.y0) / (self.y1 - self.y0) * self.tall

    def points(self, values: F64) -> F64:
        """Return where values (k, 2) fall."""
        low, high = np.array([self.x0, self.y0]), np.array([self.x1, self.y1])
        share = (values - low) / (high - low)
        return np.column_stack([self.left + share[:, 0] * self.wide, self.bottom - share[:, 1] * self.tall])

    def curve(self, x: F64, y: F64, stroke: Stroke) -> Curve:
        """Return a curve through values."""
        return Curve(self.points(np.column_stack([x, y])), stroke)

    def upright(self, low: float, high: float) -> F64:
        """Return the cursor rows of a drawing whose distance runs along it, between two distances."""
        return np.array([[s, self.x(s), self.top, self.x(s), self.bottom] for s in (low, high)])


def ticks(low: float, high: float, room: float, *, apart: float = TICKS_APART) -> list[float]:
    """Return round values between two values, about ``apart`` points from each other where ``room`` points hold all.

    Examples
    --------
    >>> ticks(-2.0, 103.0, 500.0)
    [0.0, 20.0, 40.0, 60.0, 80.0, 100.0]
    """
    raw = (high - low) * apart / room
    power = 10.0 ** np.floor(np.log10(raw))
    step = float(next(m * power for m in (1.0, 2.0, 5.0, 10.0) if m * power >= 0.8 * raw))
    first, last = int(np.ceil(low / step - 1e-9)), int(np.floor(high / step + 1e-9))
    return [round(k * step, 10) for k in range(first, last + 1)]


def axes(
    frame: Frame,
    below: str,
    beside: str,
    *,
    grid_x: bool = False,
    grid_y: bool = True,
    unsigned: bool = False,
    upright: bool = True,
    style: Style = STYLE,
) -> list[Mark]:
    """Return grid, ticks and names of both axes; ``unsigned`` leaves off the minus beside the upright one.

    Without ``upright`` that axis is left to the drawing itself.
    """
    marks: list[Mark] = []
    grid, thin = Stroke(style.faint, style.thin_width), Stroke(style.quiet, style.thin_width)
    for value in ticks(frame.x0, frame.x1, frame.wide):
        x = frame.x(value)
        marks += [line(x, frame.top, x, frame.bottom, grid)] if grid_x else []
        marks.append(line(x, frame.bottom, x, frame.bottom + 3.0, thin))
        marks.append(Words(place(x, frame.bottom + 10.0), f"{value:g}", style.font_size, style.ink))
    for value in ticks(frame.y0, frame.y1, frame.tall, apart=38.0) if upright else ():
        y = frame.y(value)
        marks += [line(frame.left, y, frame.right, y, grid)] if grid_y else []
        marks.append(line(frame.left - 3.0, y, frame.left, y, thin))
        told = f"{abs(value) if unsigned else value:g}"
        marks.append(Words(place(frame.left - 5.0, y), told, style.font_size, style.ink, "end"))
    marks.append(line(frame.left, frame.top, frame.left, frame.bottom, thin))
    marks.append(line(frame.left, frame.bottom, frame.right, frame.bottom, thin))
    middle = 0.5 * (frame.left + frame.right)
    marks.append(Words(place(middle, frame.bottom + 24.0), below, style.font_size, style.ink))
    if beside:
        down = 0.5 * (frame.top + frame.bottom)
        marks.append(Words(place(frame.left - 44.0, down), beside, style.font_size, style.ink, turned=True))
    return marks


@dataclass(frozen=True, slots=True)
class Key:
    """An entry of a legend: its words, and the line or the filled box that they stand beside."""

    words: str
    stroke: Stroke | None = None
    fill: str | None = None


def legend_rows(keys: Sequence[Key], wide: float, style: Style = STYLE) -> list[list[Key]]:
    """Return the entries of a legend in rows no wider than ``wide`` points."""
    rows: list[list[Key]] = [[]]
    used = 0.0
    for key in keys:
        need = KEY_WIDE + 6.0 + words_width(key.words, style.small_size) + KEY_GAP
        if rows[-1] and used + need > wide:
            rows.append([])
            used = 0.0
        rows[-1].append(key)
        used += need
    return rows


def legend(rows: Sequence[Sequence[Key]], left: float, top: float, style: Style = STYLE) -> list[Mark]:
    """Return a legend of entries in rows, from a corner on."""
    marks: list[Mark] = []
    for k, row in enumerate(rows):
        x, y = left, top + (k + 0.5) * ROW
        for key in row:
            if key.fill is not None or key.stroke is None:
                edge = None if key.stroke is None else replace(key.stroke, width=1.0)
                marks.append(box(x, y - 4.0, x + KEY_WIDE, y + 4.0, key.fill, edge))
            else:
                marks.append(line(x, y, x + KEY_WIDE, y, key.stroke))
            words = Words(place(x + KEY_WIDE + 6.0, y), harmless(key.words), style.small_size, style.ink, "start")
            marks.append(words)
            x += KEY_WIDE + 6.0 + words.width + KEY_GAP
    return marks


def colour_bar(
    left: float,
    top: float,
    right: float,
    ramp: Ramp,
    marks: Sequence[float],
    words: str,
    ends: tuple[str, str],
    style: Style = STYLE,
) -> list[Mark]:
    """Return a lying colour bar with its marks, what it shows, and what its ends mean."""
    high = top + 9.0
    share = np.linspace(0.0, 1.0, 256)
    pixels = ramp.rgb(ramp.low + share * (ramp.high - ramp.low))[None]
    made: list[Mark] = [
        Painting(place(left, top), place(right, high), np.ascontiguousarray(pixels)),
        box(left, top, right, high, None, Stroke(style.quiet, 0.5)),
    ]
    at = [left + (mark - ramp.low) / (ramp.high - ramp.low) * (right - left) for mark in marks]
    told = _apart(at, marks, style.small_size)
    for x, mark in zip(at, marks, strict=True):
        made.append(line(x, high, x, high + 3.0, Stroke(style.quiet, style.thin_width)))
        if mark in told:
            made.append(Words(place(x, high + 10.0), f"{mark:g}", style.small_size, style.ink))
    middle = 0.5 * (top + high)
    made.append(Words(place(0.5 * (left + right), high + 22.0), words, style.font_size, style.ink))
    made.append(Words(place(left - 6.0, middle), ends[0], style.small_size, style.ink, "end"))
    made.append(Words(place(right + 6.0, middle), ends[1], style.small_size, style.ink, "start"))
    return made


def _apart(at: Sequence[float], marks: Sequence[float], size: float) -> list[float]:
    """Return the marks that have room for their numbers: all, or every second, fifth or tenth counted from 0."""
    widest = max((words_width(f"{mark:g}", size) for mark in marks), default=0.0) + 0.5 * size
    closest = min((b - a for a, b in pairwise(at)), default=widest)
    stride = next((k for k in (1, 2, 5) if k * closest >= widest), 10)
    first = marks.index(0.0) if 0.0 in marks else 0
    return [mark for k, mark in enumerate(marks) if (k - first) % stride == 0]


def equal_frame(
    low: F64, high: F64, *, across: float, tallest: float, left: float = 56.0, right: float = 10.0, head: float = 32.0
) -> Frame:
    """Return a frame from ``low`` to ``high`` (2,) at one scale both ways, in a drawing ``across`` points wide."""
    size = high - low
    scale = min((across - left - right) / float(size[0]), tallest / float(size[1]))
    wide, tall = float(size[0]) * scale, float(size[1]) * scale
    start = left + 0.5 * (across - left - right - wide)
    ends = float(low[0]), float(high[0]), float(low[1]), float(high[1])
    return Frame(start, head, start + wide, head + tall, *ends)


def ring_of(frame: Frame, values: F64, fill: str | None, edge: Stroke | None = None) -> Region:
    """Return a filled ring of values (k, 2)."""
    return Region(frame.points(values), fill, edge)
