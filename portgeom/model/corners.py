"""How are polygons of unlike size gone round all at once?"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Self

import numpy as np

from portgeom.geometry.arrays import F64, Bool, Int, of_rows
from portgeom.geometry.union import padded


@dataclass(frozen=True, slots=True)
class Corners:
    """The corners of many polygons or open chains, one a row.

    Attributes
    ----------
    points_mm : (m, n, 2) float
        The last corner of the shorter is repeated.
    count : (m,) int
        How many corners each has.
    """

    points_mm: F64
    count: Int

    @classmethod
    def of(cls, polygons: Sequence[F64]) -> Self:
        """Return the corners of polygons (n, 2)."""
        return cls(padded(polygons), np.array([len(p) for p in polygons]))

    @property
    def u_mm(self) -> F64:
        """Return u of every corner (m, n)."""
        return self.points_mm[..., 0]

    @property
    def v_mm(self) -> F64:
        """Return v of every corner (m, n)."""
        return self.points_mm[..., 1]

    @property
    def pieces(self) -> Bool:
        """Return which steps (m, n - 1) from corner to corner of a chain are pieces of it and not repeats."""
        return np.arange(1, self.points_mm.shape[1]) < self.count[:, None]

    def between(self, start: Int, end: Int) -> Corners:
        """Return the chains from corners ``start`` (m,) anticlockwise to ``end`` (m,), both included."""
        count = (end - start) % self.count + 1
        place = np.minimum(np.arange(count.max()), count[:, None] - 1)
        at = (start[:, None] + place) % self.count[:, None]
        return Corners(of_rows(self.points_mm, at), count)

    def chosen(self, which: Int) -> Corners:
        """Return some of the rows."""
        return Corners(self.points_mm[which], self.count[which])

    def apart(self) -> list[F64]:
        """Return each row by itself, without what is repeated."""
        return [points[:count] for points, count in zip(self.points_mm, self.count, strict=True)]
