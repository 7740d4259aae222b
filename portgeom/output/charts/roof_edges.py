"""Between which places across the port is each row of a roof map drawn?

The map's columns are half a millimetre apart, so its edge goes in steps and flickers by a column from row
to row. Drawn as it is that looks like torn metal. Only drawing uses the edges made here.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from portgeom.geometry.arrays import F64

OVER_ROWS = 9
"""The drawn edge is a running median over this many rows, some 4 mm of path."""


@dataclass(frozen=True, slots=True)
class RoofEdges:
    """The left and the right edge (j,) of a roof map's rows; both NaN where a row holds no roof."""

    left: F64
    right: F64


def roof_edges(distance: F64, across: F64, height: F64) -> RoofEdges:
    """Return the drawn edges of a map of heights (j, k) that is NaN where there is no roof."""
    inside = np.isfinite(height)
    some = inside.any(axis=1)
    first, last = inside.argmax(axis=1), inside.shape[1] - 1 - inside[:, ::-1].argmax(axis=1)
    left, right = np.full(len(distance), np.nan), np.full(len(distance), np.nan)
    if some.any():
        left[some] = _eased(distance[some], across[first[some]])
        right[some] = _eased(distance[some], across[last[some]])
    return RoofEdges(left, right)


def _eased(distance: F64, edge: F64) -> F64:
    """Return an edge without flicker and without steps: straight between the middles of level runs."""
    padded = np.pad(edge, OVER_ROWS // 2, mode="edge")
    calm = np.median(np.lib.stride_tricks.sliding_window_view(padded, OVER_ROWS), axis=1)
    turn = np.flatnonzero(np.diff(calm)) + 1
    starts, ends = np.concatenate([[0], turn]), np.concatenate([turn, [len(calm)]]) - 1
    return np.interp(distance, 0.5 * (distance[starts] + distance[ends]), calm[starts])
