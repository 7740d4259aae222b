"""Where on the sheets does each piece go, and into which tiles falls one that is larger than a sheet?"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import ceil

import numpy as np

from portgeom.geometry.arrays import F64
from portgeom.output.paper.template_drawing import Drawn

OVERLAP_MM = 12.0
"""How much of a piece two tiles that join both show."""


@dataclass(frozen=True, slots=True)
class Tile:
    """What one sheet shows of a piece that needs several.

    Attributes
    ----------
    column, row, columns, rows : int
        From the left and from the top.
    low, high : (2,) float
        The window, in the piece's own mm.
    joins_mm : (k, 2) float
        Crosses that it shares with its neighbours, in the piece's own mm.
    join_names : tuple of str
        The same name on both sheets.
    """

    column: int
    row: int
    columns: int
    rows: int
    low: F64
    high: F64
    joins_mm: F64
    join_names: tuple[str, ...]


def shelves(pieces: Sequence[Drawn], wide: float, tall: float) -> list[list[Drawn]]:
    """Return pieces laid out in rows from the upper left corner of sheets, y downwards from 0 to ``-tall``.

    Parameters
    ----------
    wide, tall : float
        Room on a sheet, mm; no piece may be larger.

    Returns
    -------
    list of list of Drawn
        Moved to their places, a list for each sheet.
    """
    sheets: list[list[Drawn]] = [[]]
    x = y = row = 0.0
    for piece in pieces:
        across, up = (float(size) for size in piece.size_mm)
        if x and x + across > wide:
            x, y, row = 0.0, y + row, 0.0
        if y + up > tall and sheets[-1]:
            sheets.append([])
            x = y = row = 0.0
        sheets[-1].append(piece.moved(np.array([x - piece.low[0], -y - piece.high[1]])))
        x, row = x + across, max(row, up)
    return sheets


def fits(piece: Drawn, wide: float, tall: float) -> bool:
    """Return whether a piece goes on one sheet."""
    return bool(piece.size_mm[0] <= wide and piece.size_mm[1] <= tall)


def tiles(piece: Drawn, wide: float, tall: float) -> list[Tile]:
    """Return the tiles of a piece, row by row from the top; two that join overlap by 12 mm."""
    step = np.array([wide, tall]) - OVERLAP_MM
    columns, rows = (max(1, ceil((size - OVERLAP_MM) / s)) for size, s in zip(piece.size_mm, step, strict=True))
    top = float(piece.high[1])
    found = []
    for row in range(rows):
        for column in range(columns):
            low = np.array([piece.low[0] + column * step[0], top - row * step[1] - tall])
            high = low + (wide, tall)
            joins, names = _joins(piece, column, row, columns, rows, low, high)
            found.append(Tile(column, row, columns, rows, low, high, joins, names))
    return found


def _joins(
    piece: Drawn, column: int, row: int, columns: int, rows: int, low: F64, high: F64
) -> tuple[F64, tuple[str, ...]]:
    """Return the crosses in the middle of each overlap of one tile: two on each side that joins."""
    places, names = [], []
    half = 0.5 * OVERLAP_MM
    # crosses stand where the piece is, not on the empty rest of the last sheet
    bottom, right = max(float(low[1]), float(piece.low[1])), min(float(high[0]), float(piece.high[0]))
    heights = [bottom + share * (high[1] - bottom) for share in (0.85, 0.15)]
    acrosses = [low[0] + share * (right - low[0]) for share in (0.15, 0.85)]
    for seam, u in ((column - 1, low[0] + half), (column, high[0] - half)):
        if 0 <= seam < columns - 1:
            places += [(u, v) for v in heights]
            names += [f"{chr(65 + seam)}{row + 1}{'ab'[k]}" for k in range(2)]
    for seam, v in ((row - 1, high[1] - half), (row, low[1] + half)):
        if 0 <= seam < rows - 1:
            places += [(u, v) for u in acrosses]
            names += [f"{chr(97 + seam)}{column + 1}{'AB'[k]}" for k in range(2)]
    return np.array(places).reshape(-1, 2), tuple(names)
