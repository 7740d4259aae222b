"""Which cells of a grid hang together?"""

from __future__ import annotations

import numpy as np

from portgeom.geometry.arrays import Bool, Int


def hanging_together(cells: Bool, *, corners: bool = False, closed: bool = False) -> Int:
    """Return the number of the patch that each cell of a grid belongs to, from 1 on; 0 off all patches.

    Parameters
    ----------
    cells : (m, n) bool
        Which belong to a patch.
    corners : bool
        Whether cells that touch at a corner alone hang together too, besides those that share a side.
    closed : bool
        Whether the last column lies beside the first.
    """
    number = np.arange(cells.size).reshape(cells.shape)
    if closed:
        cells, number = (np.concatenate([a, a[:, :1]], axis=1) for a in (cells, number))
    ways = [np.s_[:, :-1], np.s_[:, 1:]], [np.s_[:-1], np.s_[1:]]
    across = [np.s_[:-1, :-1], np.s_[1:, 1:]], [np.s_[1:, :-1], np.s_[:-1, 1:]]
    one, other = [], []
    for here, beside in (*ways, *across) if corners else ways:
        both = cells[here] & cells[beside]
        one.append(number[here][both])
        other.append(number[beside][both])
    least = _least(number.max(initial=-1) + 1, np.concatenate(one), np.concatenate(other))
    patch = np.zeros(len(least), dtype=np.intp)
    own = np.unique(number[cells])
    patch[own] = np.unique(least[own], return_inverse=True)[1] + 1
    return patch[number[:, :-1] if closed else number]


def _least(count: int, one: Int, other: Int) -> Int:
    """Return the least number that each of so many hangs together with, where pairs of them do."""
    least = np.arange(count)
    while True:
        low, high = np.sort([least[one], least[other]], axis=0)
        if (low == high).all():
            return least
        np.minimum.at(least, high, low)
        while (least[least] != least).any():
            least = least[least]
