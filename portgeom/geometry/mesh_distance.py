"""How far is a point from a triangle mesh, and is it inside?

Exact: the distance to the nearest triangle, not to the nearest corner. Long triangles are halved until all
are of a size, so that a tree of their middles can prove which ones may be nearest. The halving changes
nothing of the surface.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import Any

import numpy as np

from portgeom.geometry.arrays import F64, Bool, Int, frozen

FIRST_ASKED = 8
"""Triangles looked at for every point before it is known whether that was enough."""

PAIRS_AT_ONCE = 400_000
"""Points times triangles worked on at once: what stays in a processor's cache pays."""

MOST_PARTS = 400_000
"""Triangles after halving."""

FINE_PARTS = 20_000
"""A mesh is halved as if its area were spread over at least so many triangles."""


@dataclass(frozen=True, slots=True)
class MeshDistance:
    """A mesh made ready to be asked.

    Attributes
    ----------
    corner, first, second : (k, 3) float
        Of the triangles after halving: one corner and the two edges from it.
    parent : (k,) int
        The triangle of the mesh that each is part of.
    reach_mm : float
        Furthest that any of them goes from its middle.
    triangles_mm : (t, 3, 3) float
        Of the mesh itself.
    normals : (t, 7, 3) float
        Of each: its face, its three edges, its three corners, to tell inside from outside.
    closed : bool
        Whether there is an inside. Without one distances are never negative.
    """

    corner: F64
    first: F64
    second: F64
    parent: Int
    reach_mm: float
    triangles_mm: F64
    normals: F64
    closed: bool
    tree: Any = field(repr=False, compare=False)

    def distance_mm(self, points_mm: F64) -> F64:
        """Return the distance (n,) of points (n, 3), negative inside where the mesh is closed."""
        nearest = np.empty(len(points_mm), dtype=np.intp)
        waiting = np.arange(len(points_mm))
        asked = min(FIRST_ASKED, len(self.corner))
        while len(waiting):
            proven = np.zeros(len(waiting), dtype=bool)
            for part in _blocks(len(waiting), asked):
                nearest[waiting[part]], proven[part] = self._nearest(points_mm[waiting[part]], asked)
            waiting = waiting[~proven]
            asked = min(4 * asked, len(self.corner))
        return self._signed(points_mm, self.parent[nearest])

    def _nearest(self, points: F64, asked: int) -> tuple[Int, Bool]:
        """Return the nearest of the triangles whose middles are nearest, and whether it is proven so."""
        away, which = self.tree.query(points, k=asked)
        away, which = np.reshape(away, (len(points), asked)), np.reshape(which, (len(points), asked))
        from_corner = points[:, None] - self.corner[which]
        v, w, squared = _closest(from_corner, self.first[which], self.second[which])
        best = np.argmin(squared, axis=1)
        rows = np.arange(len(points))
        if asked == len(self.corner):
            return which[rows, best], np.ones(len(points), dtype=bool)
        # a triangle not asked has its middle further than the last one asked
        return which[rows, best], away[:, -1] - self.reach_mm >= np.sqrt(np.maximum(squared[rows, best], 0.0))

    def _signed(self, points: F64, parent: Int) -> F64:
        corners = self.triangles_mm[parent]
        first, second = corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0]
        v, w, _ = _closest(points - corners[:, 0], first, second)
        offset = points - corners[:, 0] - v[:, None] * first - w[:, None] * second
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
        outward = np.einsum("ij,ij->i", offset, self.normals[parent, at])
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
    from scipy.spatial import cKDTree

    triangles = vertices_mm[faces]
    parts, parent = _halved(triangles)
    middle = parts.mean(axis=1)
    reach = float(np.linalg.norm(parts - middle[:, None], axis=2).max())
    return MeshDistance(
        corner=frozen(parts[:, 0]),
        first=frozen(parts[:, 1] - parts[:, 0]),
        second=frozen(parts[:, 2] - parts[:, 0]),
        parent=parent,
        reach_mm=reach,
        triangles_mm=frozen(triangles),
        normals=frozen(_pseudonormals(vertices_mm, faces)) if closed else frozen(np.empty((0, 7, 3))),
        closed=closed,
        tree=cKDTree(middle),
    )


def _blocks(count: int, asked: int) -> Iterator[slice]:
    step = max(1, PAIRS_AT_ONCE // asked)
    return (slice(k, k + step) for k in range(0, count, step))


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


def _halved(triangles: F64) -> tuple[F64, Int]:
    """Return triangles halved across their longest edges until none is long for the mesh's area."""
    cross = np.cross(triangles[:, 1] - triangles[:, 0], triangles[:, 2] - triangles[:, 0])
    area = 0.5 * float(np.linalg.norm(cross, axis=1).sum())
    long = 3.0 * np.sqrt(area / max(len(triangles), FINE_PARTS))
    parent = np.arange(len(triangles))
    parts = triangles
    while len(parts) < MOST_PARTS:
        edge = np.linalg.norm(parts[:, [1, 2, 0]] - parts, axis=2)
        over = edge.max(axis=1) > long
        if not over.any() or len(parts) + int(over.sum()) > MOST_PARTS:
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
