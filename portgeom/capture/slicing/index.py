"""Which triangles of a large mesh may a plane meet?

Triangles are sorted into small boxes once; a plane then looks at the boxes it passes through, whichever way it
stands.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from portgeom.geometry.arrays import F64, Int

TRIANGLES_A_BOX = 48
MOST_BOXES_ALONG = 40
"""So that a box's number fits 16 bits, which sort fastest: 40 x 40 x 40 is under 65536."""


@dataclass(frozen=True, slots=True)
class MeshIndex:
    """A mesh with its triangles sorted into boxes.

    Attributes
    ----------
    vertices_mm : (n, 3) float
    faces : (k, 3) int
        The mesh's triangles, those of one box together.
    first, count : (b,) int
        Where each box's triangles begin, and how many there are.
    middle_mm, half_mm : (b, 3) float
        The box that its triangles fill: middle and half sizes.
    low_mm, high_mm : (3,) float
        The whole mesh's.
    """

    vertices_mm: F64
    faces: Int
    first: Int
    count: Int
    middle_mm: F64
    half_mm: F64
    low_mm: F64
    high_mm: F64

    @property
    def size_mm(self) -> float:
        """Return the diagonal of the box round the mesh."""
        return float(np.linalg.norm(self.high_mm - self.low_mm))

    def near(self, origin_mm: F64, normal: F64) -> Int:
        """Return the triangles (j, 3) of every box that a plane passes through."""
        off = np.abs((self.middle_mm - origin_mm) @ normal)
        return self._of(np.flatnonzero(off <= self.half_mm @ np.abs(normal)))

    def within(self, low_mm: F64, high_mm: F64) -> Int:
        """Return the triangles (j, 3) of every box that reaches between two corners."""
        apart = (self.middle_mm - self.half_mm > high_mm) | (self.middle_mm + self.half_mm < low_mm)
        return self._of(np.flatnonzero(~apart.any(axis=1)))

    def _of(self, boxes: Int) -> Int:
        count = self.count[boxes]
        total = int(count.sum())
        start = np.repeat(self.first[boxes] - np.concatenate([[0], np.cumsum(count)[:-1]]), count)
        return self.faces.take(start + np.arange(total), axis=0)


def indexed(vertices_mm: F64, faces: Int) -> MeshIndex:
    """Return a mesh sorted into boxes of about TRIANGLES_A_BOX triangles."""
    low, high = vertices_mm.min(axis=0), vertices_mm.max(axis=0)
    extent = np.maximum(high - low, np.finfo(np.float64).tiny)
    # a surface fills about n^2 of n^3 boxes
    wanted = max(1.0, len(faces) / TRIANGLES_A_BOX)
    edge = float(extent.max()) / max(1.0, np.sqrt(wanted / 3.0))
    along = np.clip(np.ceil(extent / edge), 1, MOST_BOXES_ALONG).astype(np.intp)
    corner = faces[:, 0]
    box = np.zeros(len(faces), dtype=np.uint16)
    for axis in range(3):
        place = vertices_mm[:, axis] - low[axis]
        place *= along[axis] / extent[axis]
        step = np.minimum(place.astype(np.uint16), along[axis] - 1).astype(np.uint16)
        box *= np.uint16(along[axis])
        box += step[corner]
    order = np.argsort(box, kind="stable")  # 16 bits: counted, not compared
    box = box[order]
    first = np.flatnonzero(np.concatenate([[True], box[1:] != box[:-1]]))
    faces = faces[order]
    del order, box
    least, most = np.empty((len(first), 3)), np.empty((len(first), 3))
    for axis in range(3):
        place = vertices_mm[:, axis]
        corners = [place[faces[:, k]] for k in range(2)]
        smaller, larger = np.minimum(*corners), np.maximum(*corners)
        del corners
        third = place[faces[:, 2]]
        least[:, axis] = np.minimum.reduceat(np.minimum(smaller, third, out=smaller), first)
        most[:, axis] = np.maximum.reduceat(np.maximum(larger, third, out=larger), first)
    return MeshIndex(
        vertices_mm=vertices_mm,
        faces=faces,
        first=first,
        count=np.diff(np.concatenate([first, [len(faces)]])),
        middle_mm=0.5 * (least + most),
        half_mm=0.5 * (most - least) * (1.0 + 1e-12) + np.finfo(np.float64).tiny,
        low_mm=low,
        high_mm=high,
    )
