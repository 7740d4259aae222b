"""Which slice is which: by where it lies on the sheet, or by the marks laid beside it?"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from portgeom.capture.images.unsure import Unsure
from portgeom.capture.tracing.find import Coarse, Patch
from portgeom.geometry.arrays import F64

FURTHEST_MM = 15.0
"""A mark lies no further from its slice."""

CLEARLY = 1.5
"""The next slice is at least so many times further from the mark."""

BAR_RATIO = 2.5
BAR_COUNTS = 5


@dataclass(frozen=True, slots=True)
class Marks:
    """The marks beside one slice: where, in mm (n, 2), and which of them are bars rather than dots."""

    places_mm: F64
    bars: tuple[bool, ...]

    @property
    def tally(self) -> int:
        """Return the number they spell: a dot counts one, a bar five.

        Examples
        --------
        >>> Marks(np.zeros((3, 2)), (True, False, False)).tally
        7
        """
        return sum(BAR_COUNTS if bar else 1 for bar in self.bars)


def reading_order(middles: F64, heights: F64) -> list[int]:
    """Return the order of slices (n, 2), y downwards: row by row from the top, each row from the left.

    A slice is in the row of the topmost one left if its middle lies within half that one's height of its middle.

    Examples
    --------
    >>> reading_order(np.array([[90.0, 12.0], [10.0, 15.0], [50.0, 80.0]]), np.array([40.0, 40.0, 40.0]))
    [1, 0, 2]
    """
    left = sorted(range(len(middles)), key=lambda k: float(middles[k, 1]))
    order: list[int] = []
    while left:
        first = left[0]
        reach = float(middles[first, 1] + 0.5 * heights[first])
        row = [k for k in left if middles[k, 1] <= reach]
        order += sorted(row, key=lambda k: float(middles[k, 0]))
        left = [k for k in left if k not in row]
    return order


def marks_beside(edges_mm: list[F64], places_mm: F64, bars: list[bool]) -> list[Marks]:
    """Return the marks (m, 2) that belong to each slice edge.

    Raises
    ------
    Unsure
        If a mark lies between two slices. One far from every slice belongs to none.
    """
    owners: list[list[int]] = [[] for _ in edges_mm]
    for k, place in enumerate(places_mm):
        gaps = [float(np.hypot(*(edge - place).T).min()) for edge in edges_mm]
        order = np.argsort(gaps)
        if gaps[order[0]] > FURTHEST_MM:
            continue
        if len(order) > 1 and gaps[order[1]] < CLEARLY * gaps[order[0]]:
            raise Unsure(
                f"a mark lies {gaps[order[0]]:.1f} mm from one slice and {gaps[order[1]]:.1f} mm from another",
                "lay every mark close to its own slice",
                about="marks",
            )
        owners[int(order[0])].append(k)
    return [Marks(places_mm[own].reshape(-1, 2), tuple(bars[k] for k in own)) for own in owners]


def is_bar(coarse: Coarse, patch: Patch) -> bool:
    """Return whether a mark is long rather than round, by its second moments."""
    left, top, right, bottom = patch.box
    rows, columns = np.nonzero(coarse.labels[top:bottom, left:right] == patch.label)
    if len(rows) < 3:
        return False
    # a pixel is no point: its own second moment is a twelfth
    spread = np.cov(np.vstack([columns, rows])) + np.eye(2) / 12.0
    low, high = np.linalg.eigvalsh(spread)
    return bool(high > BAR_RATIO**2 * low)
