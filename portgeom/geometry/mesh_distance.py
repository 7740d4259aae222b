"""How far is a point from a triangle mesh, and is it inside?

Exact: the distance to the nearest triangle, not to the nearest corner. Every triangle is covered by small
balls, large ones halved first and long ones sliced, so that a tree of the balls' middles can prove which
triangles may be nearest. The halving changes nothing of the surface.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from typing import Any

import numpy as np

from portgeom.geometry.arrays import F64, Int, frozen

FIRST_ASKED = 4
"""Balls of each size looked at first, for an upper bound."""

PAIRS_AT_ONCE = 400_000
"""Points times balls worked on at once: what stays in a processor's cache pays."""

WIDE = 3.0
"""Widest a triangle is left, and longest a slice of it, in sides of a square of the mean triangle's area."""

FINE_PARTS = 20_000
"""The mean triangle's area is taken as if there were at least so many."""

MOST_PARTS = 400_000
"""Triangles and balls, unless the mesh has more triangles to begin with."""

PIECES = 2.0
"""With more balls than this for a triangle, each triangle is asked once for all of its balls that are near."""

SMALLEST_OCTAVE = -4.0
"""Balls smaller than this power of two of the largest are kept together."""


@dataclass(frozen=True, slots=True)
class Sized:
    """Balls of about one size: the triangle each covers a piece of, a tree of middles, the largest radius."""

    triangle: Int
    tree: Any = field(repr=False, compare=False)
    radius_mm: float


@dataclass(frozen=True, slots=True)
class MeshDistance:
    """A mesh made ready to be asked.

    Attributes
    ----------
    corner, first, second : (t, 3) float
        Of the triangles: one corner and the two edges from it.
    sizes : tuple of Sized
    in_pieces : bool
        Whether many balls cover one triangle.
    normals : (t, 7, 3) float
        Of each: its face, its three edges, its three corners, to tell inside from outside.
    closed : bool
        Whether there is an inside. Without one distances are never negative.
    """

    corner: F64
    first: F64
    second: F64
    sizes: tuple[Sized, ...]
    in_pieces: bool
    normals: F64
    closed: bool

    def distance_mm(self, points_mm: F64) -> F64:
        """Return the distance (n,) of points (n, 3), negative inside where the mesh is closed."""
        out = np.empty(len(points_mm))
        step = PAIRS_AT_ONCE // 100
        for k in range(0, len(points_mm), step):
            points = points_mm[k : k + step]
            out[k : k + step] = self._signed(points, self._nearest(points))
        return out

    def at_least_mm(self, points_mm: F64) -> F64:
        """Return a quick answer (n,) that is never above the distance from outside."""
        return np.min([z.tree.query(points_mm)[0] - z.radius_mm for z in self.sizes], axis=0)

    def _nearest(self, points: F64) -> Int:
        """Return the nearest triangle to each point.

        What lies in a ball whose middle is further off than the nearest known and its radius is not nearer.
        """
        best = np.full(len(points), np.inf)
        nearest = np.zeros(len(points), dtype=np.intp)
        for size in self.sizes:
            count = min(FIRST_ASKED, len(size.triangle))
            _, found = size.tree.query(points, k=count)
            found = np.reshape(found, (len(points), count)).ravel()
            self._improve(points, np.repeat(np.arange(len(points)), count), size.triangle[found], best, nearest)
        for size in self.sizes:
            if len(size.triangle) <= FIRST_ASKED:
                continue
            lists = size.tree.query_ball_point(points, best + size.radius_mm, return_sorted=False)
            counts = np.fromiter(map(len, lists), dtype=np.intp, count=len(points))
            ends = np.cumsum(counts)
            start = 0
            while start < len(points):
                done = ends[start - 1] if start else 0
                stop = max(start + 1, int(np.searchsorted(ends, done + PAIRS_AT_ONCE, side="right")))
                which = size.triangle[np.concatenate(lists[start:stop]).astype(np.intp)]
                row = np.repeat(np.arange(start, stop), counts[start:stop])
                if self.in_pieces:
                    row, which = np.divmod(np.unique(row * len(self.corner) + which), len(self.corner))
                self._improve(points, row, which, best, nearest)
                start = stop
        return nearest

    def _improve(self, points: F64, row: Int, which: Int, best: F64, nearest: Int) -> None:
        """Take the nearest triangle of pairs, in order of their points, where it is nearer than the best known."""
        if len(row) == 0:
            return
        _, _, squared = _closest(points[row] - self.corner[which], self.first[which], self.second[which])
        first = np.flatnonzero(np.diff(row, prepend=-1))
        least = np.minimum.reduceat(squared, first)
        holder = np.repeat(least, np.diff(first, append=len(row)))
        pair = np.flatnonzero(squared == holder)
        away = np.sqrt(np.maximum(squared[pair], 0.0))
        nearer = away < best[row[pair]]
        best[row[pair[nearer]]], nearest[row[pair[nearer]]] = away[nearer], which[pair[nearer]]

    def _signed(self, points: F64, triangle: Int) -> F64:
        from_corner, first, second = points - self.corner[triangle], self.first[triangle], self.second[triangle]
        v, w, _ = _closest(from_corner, first, second)
        offset = from_corner - v[:, None] * first - w[:, None] * second
        distance = np.linalg.norm(offset, axis=1)
        if not self.closed:
            return distance
        u = 1.0 - v - w
        # which of face, edges (opposite corners 0, 1, 2) and corners the nearest place lies on
        at = np.zeros(len(points), dtype=np.intp)
        for k, share in enumerate((u, v, w)):
            at[share <= 0.0] = 1 + k
        for k, share in enumerate((u, v, w)):
            at[share >= 1.0] = 4 + k
        outward = np.einsum("ij,ij->i", offset, self.normals[triangle, at])
        return np.where(outward < 0.0, -distance, distance)


def mesh_distance(vertices_mm: F64, faces: Int, *, closed: bool) -> MeshDistance:
    """Return a mesh ready to be asked.

    Parameters
    ----------
    vertices_mm : (n, 3) float
    faces : (t, 3) int
        Of a closed mesh: every edge shared by two faces that run it both ways, normals outward.
    closed : bool

    Notes
    -----
    Inside is told by angle-weighted pseudonormals: J. A. Baerentzen and H. Aanaes, IEEE Transactions on
    Visualization and Computer Graphics 11 (2005) 243.
    """
    triangles = vertices_mm[faces]
    cross = np.cross(triangles[:, 1] - triangles[:, 0], triangles[:, 2] - triangles[:, 0])
    area = 0.5 * float(np.linalg.norm(cross, axis=1).sum())
    wide = WIDE * math.sqrt(area / max(len(triangles), FINE_PARTS))
    parts, parent = _halved(triangles, wide)
    middle, radius, part = _balls(parts, wide)
    return MeshDistance(
        corner=frozen(triangles[:, 0]),
        first=frozen(triangles[:, 1] - triangles[:, 0]),
        second=frozen(triangles[:, 2] - triangles[:, 0]),
        sizes=_by_size(middle, radius, parent[part]),
        in_pieces=len(middle) > PIECES * len(triangles),
        normals=frozen(_pseudonormals(vertices_mm, faces)) if closed else frozen(np.empty((0, 7, 3))),
        closed=closed,
    )


def _balls(parts: F64, long_mm: float) -> tuple[F64, F64, Int]:
    """Return middles, radii and triangles of balls that cover triangles, sliced across their longest edges."""
    edge = np.linalg.norm(parts[:, [1, 2, 0]] - parts, axis=2)
    longest = np.argmax(edge, axis=1)
    a, b, c = np.moveaxis(np.take_along_axis(parts, ((longest[:, None] + np.arange(3)) % 3)[..., None], axis=1), 1, 0)
    length = edge.max(axis=1)
    count = np.maximum(1, np.ceil(length / max(long_mm, float(length.sum()) / MOST_PARTS)).astype(np.intp))
    part = np.repeat(np.arange(len(parts)), count)
    place = np.arange(len(part)) - np.repeat(np.cumsum(count) - count, count)
    low, high = (place / count[part])[:, None], ((place + 1) / count[part])[:, None]
    along = b - a
    apex = np.einsum("ij,ij->i", c - a, along) / np.where(length > 0.0, length, 1.0) ** 2
    apex = np.clip(apex, 0.0, 1.0)[part, None]
    a, c, along = a[part], c[part], along[part]

    def top(t: F64) -> F64:
        rise = np.minimum(
            np.divide(t, apex, out=np.ones_like(t), where=apex > t),
            np.divide(1.0 - t, 1.0 - apex, out=np.ones_like(t), where=apex < t),
        )
        return a + t * along + rise * (c - a - apex * along)

    corners = np.stack([a + low * along, a + high * along, top(low), top(high), top(np.clip(apex, low, high))], axis=1)
    middle = 0.5 * (corners.min(axis=1) + corners.max(axis=1))
    return middle, np.linalg.norm(corners - middle[:, None], axis=2).max(axis=1), part


def _by_size(middle: F64, radius: F64, triangle: Int) -> tuple[Sized, ...]:
    """Return balls sorted by size, each size up to twice the one before."""
    from scipy.spatial import cKDTree

    octave = np.log2(radius / radius.max(), out=np.full(len(radius), -np.inf), where=radius > 0.0)
    octave = np.maximum(np.ceil(octave), SMALLEST_OCTAVE)
    sizes = []
    for k in np.unique(octave):
        chosen = np.flatnonzero(octave == k)
        sizes.append(Sized(triangle[chosen], cKDTree(middle[chosen]), float(radius[chosen].max())))
    return tuple(sizes)


def _closest(from_corner: F64, first: F64, second: F64) -> tuple[F64, F64, F64]:
    """Return the place on triangles nearest to points: shares of the two edges, and the squared distance.

    All (..., 3), points and edges from the same corner. A place on an edge or corner has shares that are
    exactly 0 or add up to exactly 1.
    """
    e, f, g = (np.einsum("...j,...j->...", a, b) for a, b in ((first, first), (first, second), (second, second)))
    d, h = np.einsum("...j,...j->...", first, from_corner), np.einsum("...j,...j->...", second, from_corner)
    zero = np.zeros_like(d)

    def squared(v: F64, w: F64) -> F64:
        return v * (v * e - 2.0 * d) + w * (w * g - 2.0 * h) + 2.0 * v * w * f

    def share(top: F64, bottom: F64) -> F64:
        return np.clip(np.divide(top, bottom, out=np.zeros_like(top), where=bottom > 0.0), 0.0, 1.0)

    on_first, on_second = share(d, e), share(h, g)
    on_third = share(h - d + e - f, e - 2.0 * f + g)  # from the end of the first edge to that of the second
    v, w, best = on_first, zero, squared(on_first, zero)
    for vv, ww in ((zero, on_second), (1.0 - on_third, on_third)):
        other = squared(vv, ww)
        nearer = other < best
        v, w, best = np.where(nearer, vv, v), np.where(nearer, ww, w), np.where(nearer, other, best)
    spread = e * g - f * f
    flat_v, flat_w = g * d - f * h, e * h - f * d
    over = (flat_v > 0.0) & (flat_w > 0.0) & (flat_v + flat_w < spread)
    safe = np.where(over, spread, 1.0)
    v, w = np.where(over, flat_v / safe, v), np.where(over, flat_w / safe, w)
    best = np.where(over, squared(v, w), best)
    return v, w, best + np.einsum("...j,...j->...", from_corner, from_corner)


def _halved(triangles: F64, wide_mm: float) -> tuple[F64, Int]:
    """Return triangles halved across their longest edges until none is wide, and which each is part of."""
    parent = np.arange(len(triangles))
    parts = triangles
    while len(parts) < MOST_PARTS:
        edge = np.linalg.norm(parts[:, [1, 2, 0]] - parts, axis=2)
        twice_area = np.linalg.norm(np.cross(parts[:, 1] - parts[:, 0], parts[:, 2] - parts[:, 0]), axis=1)
        over = twice_area > wide_mm * edge.max(axis=1)
        if not over.any():
            break
        turned = (np.argmax(edge[over], axis=1)[:, None] + np.arange(3)) % 3
        a, b, c = np.moveaxis(np.take_along_axis(parts[over], turned[..., None], axis=1), 1, 0)
        half = 0.5 * (a + b)
        parts = np.concatenate([parts[~over], np.stack([a, half, c], axis=1), np.stack([half, b, c], axis=1)])
        parent = np.concatenate([parent[~over], parent[over], parent[over]])
    return parts, parent


def _pseudonormals(vertices: F64, faces: Int) -> F64:
    """Return the normals (t, 7, 3) of each triangle's face, of the edges opposite its corners, of its corners."""
    triangles = vertices[faces]
    cross = np.cross(triangles[:, 1] - triangles[:, 0], triangles[:, 2] - triangles[:, 0])
    size = np.linalg.norm(cross, axis=1, keepdims=True)
    face = np.divide(cross, size, out=np.zeros_like(cross), where=size > 0.0)
    side = triangles[:, [1, 2, 0]] - triangles
    length = np.linalg.norm(side, axis=2, keepdims=True)
    side = np.divide(side, length, out=np.zeros_like(side), where=length > 0.0)
    angle = np.arccos(np.clip(-np.einsum("tkj,tkj->tk", side, side[:, [2, 0, 1]]), -1.0, 1.0))
    corner = np.zeros_like(vertices)
    for k in range(3):
        np.add.at(corner, faces[:, k], angle[:, k, None] * face)
    low = np.minimum(faces[:, [1, 2, 0]], faces[:, [2, 0, 1]])
    high = np.maximum(faces[:, [1, 2, 0]], faces[:, [2, 0, 1]])
    _, edge_of = np.unique((low * len(vertices) + high).ravel(), return_inverse=True)
    edge = np.zeros((int(edge_of.max()) + 1, 3))
    np.add.at(edge, edge_of, np.repeat(face, 3, axis=0))
    return np.concatenate([face[:, None], edge[edge_of].reshape(-1, 3, 3), corner[faces]], axis=1)
