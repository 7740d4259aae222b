"""Where do lines of equal value run over a grid, and where on them are their values written?"""

from __future__ import annotations

from collections.abc import Callable, Sequence

import numpy as np

from portgeom.geometry.arrays import F64
from portgeom.output.charts.chart_style import STYLE, Style
from portgeom.output.charts.sheet import Curve, Mark, Stroke, Words, place

NAMED_FROM = 36.0
"""A line is told its value where it is at least so many points long."""

NAMES_APART = 14.0
"""Where lines crowd, as at a step, the first of the values nearer to each other than so many points is told."""


def level_lines(
    x: F64,
    y: F64,
    values: F64,
    levels: Sequence[float],
    to_points: Callable[[F64], F64],
    stroke: Stroke,
    *,
    named: bool = False,
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
        Whether the value is written on each line.
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
                middle = points[int(np.searchsorted(np.cumsum(step), 0.5 * step.sum()))]
                if all(np.abs(middle - other.at).max() > NAMES_APART for other in names):
                    size = style.small_size - 0.5
                    names.append(Words(place(*middle), f"{level:g}", size, style.ink, ground=style.paper))
    return [*marks, *names]
