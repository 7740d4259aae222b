"""Along which lines does a plane cut a mesh?

A vertex on the plane counts as above it, so a cut never runs along an edge twice. The lines are followed from
triangle to triangle by the edges they share, not by how close their ends are.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from portgeom.capture.slicing.index import MeshIndex
from portgeom.geometry.arrays import F64, Bool, Int


@dataclass(frozen=True, slots=True)
class Plane:
    """A plane with its axes: ``origin_mm``, ``right`` (u), ``normal`` (d, the way in) and ``up`` (v)."""

    origin_mm: F64
    right: F64
    normal: F64
    up: F64

    def flat_mm(self, points_mm: F64) -> F64:
        """Return points (n, 3) in the plane's own u and v, (n, 2)."""
        return (points_mm - self.origin_mm) @ np.column_stack([self.right, self.up])

    def solid_mm(self, flat_mm: F64) -> F64:
        """Return points (n, 2) of the plane in space, (n, 3)."""
        return self.origin_mm + flat_mm @ np.stack([self.right, self.up])

    def moved(self, by_mm: float) -> Plane:
        """Return the plane further in along its normal."""
        return Plane(self.origin_mm + by_mm * self.normal, self.right, self.normal, self.up)


def plane_at(origin_mm: F64, normal: F64, up: F64) -> Plane:
    """Return the plane square to ``normal`` (3,) whose v is as near ``up`` (3,) as it can be."""
    d = normal / np.linalg.norm(normal)
    v = up - (up @ d) * d
    v /= np.linalg.norm(v)
    return Plane(origin_mm, np.cross(d, v), d, v)


@dataclass(frozen=True, slots=True)
class Line:
    """One line that a plane cuts.

    Attributes
    ----------
    points_mm : (n, 2) float
        In the plane's u and v. A closed line does not repeat its first point.
    closed : bool
    outward_share : float
        Share of its length along which the triangles' own front is on the right of the line as listed.
    """

    points_mm: F64
    closed: bool
    outward_share: float

    @property
    def length_mm(self) -> float:
        """Return how long it is."""
        step = np.diff(self.points_mm, axis=0, append=self.points_mm[:1] if self.closed else self.points_mm[-1:])
        return float(np.hypot(step[:, 0], step[:, 1]).sum())


@dataclass(frozen=True, slots=True)
class Cut:
    """What a plane cuts: its lines, and how many of the mesh's vertices lie on the plane itself."""

    lines: tuple[Line, ...]
    on_plane: int


def cut(index: MeshIndex, plane: Plane, *, near_mm: float) -> Cut:
    """Return the lines along which a plane cuts a mesh.

    ``near_mm`` is how close to the plane a vertex counts as on it.
    """
    faces = index.near(plane.origin_mm, plane.normal)
    corners = index.vertices_mm.take(faces.ravel(), axis=0)
    height = (corners @ plane.normal - float(plane.origin_mm @ plane.normal)).reshape(-1, 3)
    del corners
    above = height >= 0.0
    bits = above.view(np.int8)
    number = bits[:, 0] + bits[:, 1] + bits[:, 2]  # far quicker than a sum along rows of three
    crossed = (number == 1) | (number == 2)
    faces, height, above = faces[crossed], height[crossed], above[crossed]
    if not len(faces):
        return Cut((), 0)
    on_plane = len(np.unique(faces[np.abs(height) <= near_mm]))
    lone_above = number[crossed] == 1
    lone = np.argmax(above == lone_above[:, None], axis=1)
    rows = np.arange(len(faces))
    corner = [faces[rows, (lone + k) % 3] for k in range(3)]
    high = [height[rows, (lone + k) % 3] for k in range(3)]
    many = len(index.vertices_mm)
    edges = np.stack([_edge(corner[0], corner[1], many), _edge(corner[0], corner[2], many)], axis=1)
    # with the lone corner above, the front is on the right from the first edge to the second
    edges = np.where(lone_above[:, None], edges[:, ::-1], edges)
    heights = np.stack([_ordered(corner, high, 1), _ordered(corner, high, 2)], axis=1)
    heights = np.where(lone_above[:, None, None], heights[:, ::-1], heights)
    keys, where, ends = np.unique(edges, return_index=True, return_inverse=True)
    ends = ends.reshape(-1, 2)
    height_at = heights.reshape(-1, 2)[where]
    low, top = index.vertices_mm[keys // many], index.vertices_mm[keys % many]
    share = height_at[:, 0] / (height_at[:, 0] - height_at[:, 1])
    points = plane.flat_mm(low + share[:, None] * (top - low))
    return Cut(tuple(_followed(points, ends)), on_plane)


def _edge(a: Int, b: Int, many: int) -> Int:
    return np.minimum(a, b) * many + np.maximum(a, b)


def _ordered(corner: list[Int], high: list[F64], k: int) -> F64:
    """Return the heights (n, 2) of an edge's ends, the smaller corner number first as in its key."""
    swap = corner[0] > corner[k]
    return np.stack([np.where(swap, high[k], high[0]), np.where(swap, high[0], high[k])], axis=-1)


def _followed(points: F64, ends: Int) -> list[Line]:
    """Return the lines that pieces (k, 2) between numbered points make when followed end to end."""
    coded = np.minimum(ends[:, 0], ends[:, 1]) * len(points) + np.maximum(ends[:, 0], ends[:, 1])
    _, once = np.unique(coded, return_index=True)
    ends = ends[once] if len(once) < len(ends) else ends
    degree = np.bincount(ends.ravel(), minlength=len(points))
    onward = _onward(ends, degree, len(points))
    start, end = ends[:, 0].tolist(), ends[:, 1].tolist()
    left = [True] * len(start)
    lines = []
    for closed in (False, True):
        # lines with ends first: what is left then runs round
        firsts = range(len(start)) if closed else np.flatnonzero((degree[ends] != 2).any(axis=1)).tolist()
        for piece in firsts:
            if not left[piece]:
                continue
            backward = not closed and degree[start[piece]] == 2
            at = end[piece] if backward else start[piece]
            order, pieces, forward = [at], [], []
            while piece >= 0 and left[piece]:
                left[piece] = False
                ahead = start[piece] == at
                at = end[piece] if ahead else start[piece]
                order.append(at)
                pieces.append(piece)
                forward.append(ahead)
                pair = onward[at]
                piece = pair[1] if pair[0] == piece else pair[0]
            round_it = order[0] == order[-1] and len(order) > 2
            lines.append(_line(points[order], np.array(forward), closed=round_it))
    return lines


def _onward(ends: Int, degree: Int, count: int) -> list[list[int]]:
    """Return the two pieces that meet at each point, -1 where not exactly two do."""
    order = np.argsort(ends.ravel(), kind="stable")
    piece = order // 2
    first = np.concatenate([[0], np.cumsum(degree)[:-1]])
    through = degree == 2
    pair = np.full((count, 2), -1, dtype=np.intp)
    pair[through, 0] = piece[first[through]]
    pair[through, 1] = piece[first[through] + 1]
    return pair.tolist()


def _line(points: F64, forward: Bool, *, closed: bool) -> Line:
    step = np.diff(points, axis=0)
    length = np.hypot(step[:, 0], step[:, 1])
    total = float(length.sum())
    share = float(length[forward].sum()) / total if total > 0.0 else 0.5
    return Line(points[:-1] if closed else points, closed, share)
