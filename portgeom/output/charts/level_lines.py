"""Where do lines of equal value run over a grid, and where on them are their values written?"""

from __future__ import annotations

from collections.abc import Callable, Sequence

import numpy as np

from portgeom.geometry.arrays import F64
from portgeom.output.charts.chart_style import STYLE, Style
from portgeom.output.charts.sheet import Curve, Mark, Stroke, Words, place

NAMED_AT = (0.5, 0.42, 0.58, 0.34, 0.66, 0.25, 0.75, 0.16, 0.84, 0.08, 0.92)
"""Shares of its length at which a line may be told its value, the best first."""

NAMED_FROM = 36.0
"""A line is told its value where it is at least so many points long."""


def level_lines(
    x: F64,
    y: F64,
    values: F64,
    levels: Sequence[float],
    to_points: Callable[[F64], F64],
    stroke: Stroke,
    *,
    named: bool = False,
    clear_of: Sequence[Words] = (),
    style: Style = STYLE,
) -> list[Mark]:
    """Return lines of equal value over a grid.

    Parameters
    ----------
    x, y : (m,), (n,) float
    values : (n, m) float
        NaN where there is nothing.
    to_points : function
        From values (k, 2) along x and y to points of the drawing.
    named : bool
        Whether the value is written on each line that has room for it.
    clear_of : sequence of Words
        What is written there besides, and must stay legible.
    """
    from contourpy import contour_generator

    made = contour_generator(x, y, np.ma.masked_invalid(values))
    marks: list[Mark] = []
    names: list[Words] = []
    for level in levels:
        for piece in made.lines(level):
            points = to_points(np.asarray(piece, dtype=np.float64))
            marks.append(Curve(points, stroke))
            step = np.linalg.norm(np.diff(points, axis=0), axis=1)
            if named and float(step.sum()) >= NAMED_FROM:
                names += _name(f"{level:g}", points, np.cumsum(step), [*clear_of, *names], style)
    return [*marks, *names]


def _name(told: str, points: F64, run: F64, taken: Sequence[Words], style: Style) -> list[Words]:
    """Return the value as near the middle of a line as it keeps clear of other words; nothing where it nowhere does."""
    for share in NAMED_AT:
        at = points[int(np.searchsorted(run, share * run[-1]))]
        words = Words(place(*at), told, style.small_size - 0.5, style.ink, ground=style.paper)
        if not any(words.meets(other) for other in taken):
            return [words]
    return []
