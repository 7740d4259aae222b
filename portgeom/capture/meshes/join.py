"""How do the loose triangles of a file become one mesh, and in what state is it?

Corners at the same place, bit for bit, become one. Nothing is moved, filled or turned; what is odd is counted.
"""

from __future__ import annotations

from typing import Any

import numpy as np
import numpy.typing as npt

from portgeom.capture.meshes.values import Condition, Facets, MeshError, Rim, ScanMesh
from portgeom.geometry.arrays import F64, Int, frozen

MOST_RIM_EDGES = 200_000
"""A mesh with more open edges than this has no rims worth following."""

_MIX = (np.uint64(0x9E3779B97F4A7C15), np.uint64(0xC2B2AE3D27D4EB4F), np.uint64(0x165667B19E3779F9))
"""Odd numbers with their bits well spread, to make one number of three."""


def joined(facets: Facets, mm_per_unit: float) -> ScanMesh:
    """Return the mesh of a file's triangles, in mm.

    Raises
    ------
    MeshError
        If there is no triangle, a coordinate is no number, or a corner does not exist.
    """
    points, faces = facets.points, facets.faces
    if len(faces) == 0:
        raise MeshError("holds no triangles", "save a mesh of triangles, not points or lines alone")
    if int(faces.min()) < 0 or int(faces.max()) >= len(points):
        raise MeshError("has a triangle with a corner that does not exist", "save it again from its program")
    bad = np.flatnonzero(~np.isfinite(points).all(axis=1))
    if len(bad):
        raise MeshError(f"holds coordinates that are no numbers, the first at corner {bad[0] + 1}", "save it again")
    first, which = _places(points)
    faces = which[faces]
    vertices = points[first].astype(np.float64) * mm_per_unit
    del points, which, facets
    whole = (faces[:, 0] != faces[:, 1]) & (faces[:, 1] != faces[:, 2]) & (faces[:, 2] != faces[:, 0])
    empty = int(len(faces) - whole.sum())
    faces = faces[whole] if empty else faces
    kept = _once(faces)
    doubled = 0 if kept is None else len(faces) - len(kept)
    faces = faces if kept is None else faces[kept]
    if len(faces) == 0:
        raise MeshError("holds only triangles of no area", "save a mesh of triangles")
    open_edges, crowded, turned = _edges(faces, len(vertices))
    islands, apart = _islands(faces, len(vertices))
    closed = not len(open_edges) and not crowded and not turned
    condition = Condition(
        doubled=doubled,
        empty=empty,
        open_edges=len(open_edges),
        crowded_edges=crowded,
        turned_edges=turned,
        islands=islands,
        island_share=apart,
        volume_mm3=_volume_mm3(vertices, faces) if closed else None,
    )
    rims = _rims(vertices, open_edges) if len(open_edges) <= MOST_RIM_EDGES else ()
    faces.setflags(write=False)
    vertices.setflags(write=False)
    return ScanMesh(vertices, faces, condition, rims)


def _mixed(rows: npt.NDArray[np.uint64]) -> npt.NDArray[np.uint64]:
    """Return one number (n,) for each row of three that is the same where the rows are, and seldom else."""
    mixed = np.zeros(len(rows), dtype=np.uint64)
    for column, odd in zip(rows.T, _MIX, strict=True):
        mixed = (mixed ^ column.astype(np.uint64, copy=False)) * odd
        mixed ^= mixed >> np.uint64(29)
    return mixed


def _places(points: npt.NDArray[Any]) -> tuple[Int, Int]:
    """Return which points are the first at their place, and for each point the number of its place."""
    plain = np.ascontiguousarray(points + 0.0)  # minus zero becomes zero
    bits: npt.NDArray[Any] = plain.view(np.uint32 if plain.dtype.itemsize == 4 else np.uint64)
    mixed = _mixed(bits.reshape(-1, 3))
    order = np.argsort(mixed, kind="stable")
    mixed = mixed[order]
    new = np.concatenate([[True], mixed[1:] != mixed[:-1]])
    first = order[new]
    rank = np.empty(len(first), dtype=np.intp)
    in_order = np.argsort(first)
    rank[in_order] = np.arange(len(first))
    which = np.empty(len(points), dtype=np.intp)
    which[order] = rank[np.cumsum(new) - 1]
    first = first[in_order]
    del mixed, order, new, in_order, rank
    if not all((plain[first, k][which] == plain[:, k]).all() for k in range(3)):  # two places made the same number
        _, first, which = np.unique(plain, axis=0, return_index=True, return_inverse=True)
        which = which.reshape(-1)
    return first, which


def _once(faces: Int) -> Int | None:
    """Return which triangles to keep so that each is there once, or None where all are."""
    mixed = _mixed(np.sort(faces, axis=1).astype(np.uint64))
    mixed.sort()  # far quicker, and in far less memory, than counting what is unique
    if not (mixed[1:] == mixed[:-1]).any():
        return None
    del mixed
    _, kept = np.unique(np.sort(faces, axis=1), axis=0, return_index=True)
    return np.sort(kept)


def _edges(faces: Int, count: int) -> tuple[Int, int, int]:
    """Return the open edges (k, 2), and how many edges are crowded and how many turned."""
    coded = np.empty((len(faces), 3), dtype=np.int64)
    for k in range(3):
        a, b = faces[:, k], faces[:, (k + 1) % 3]
        coded[:, k] = (np.minimum(a, b) * count + np.maximum(a, b)) * 2 + (a > b)
    flat = coded.reshape(-1)
    flat.sort()
    edge = flat >> 1
    start = np.flatnonzero(np.concatenate([[True], edge[1:] != edge[:-1]]))
    users = np.diff(np.concatenate([start, [len(edge)]]))
    single = edge[start[users == 1]]
    backward = flat[start[users == 1]] & 1
    pairs = start[users == 2]
    turned = int(((flat[pairs] & 1) == (flat[pairs + 1] & 1)).sum())
    low, high = single // count, single % count
    ends = np.where((backward == 1)[:, None], np.column_stack([high, low]), np.column_stack([low, high]))
    return ends.astype(np.intp), int((users > 2).sum()), turned


def _islands(faces: Int, count: int) -> tuple[int, float]:
    """Return how many pieces there are, and the share of triangles outside the largest."""
    from scipy.sparse import coo_array
    from scipy.sparse.csgraph import connected_components

    start, end = faces[:, :2].ravel(), faces[:, 1:].ravel()
    graph = coo_array((np.ones(len(start), dtype=np.int8), (start, end)), shape=(count, count))
    _, label = connected_components(graph, directed=False)
    held = np.bincount(label[faces[:, 0]])
    return int((held > 0).sum()), 1.0 - float(held.max()) / len(faces)


def _volume_mm3(vertices: F64, faces: Int) -> float:
    middle = vertices.mean(axis=0)
    total = 0.0
    for piece in np.array_split(faces, max(1, len(faces) // 200_000)):
        a, b, c = (vertices[piece[:, k]] - middle for k in range(3))
        total += float(np.einsum("ij,ij->", a, np.cross(b, c)))
    return total / 6.0


def _rims(vertices: F64, edges: Int) -> tuple[Rim, ...]:
    """Return the open edges joined end to end, the longest first; pieces that do not close are left out.

    Which way the triangles run is not asked, since the winding may be mixed.
    """
    onward: dict[int, list[int]] = {}
    for a, b in edges.tolist():
        onward.setdefault(a, []).append(b)
        onward.setdefault(b, []).append(a)
    rims = []
    for start in onward:
        line, at = [start], start
        while onward[at]:
            after = onward[at].pop()
            onward[after].remove(at)
            at = after
            if at == start:
                break
            line.append(at)
        if at == start and len(line) > 2:
            rims.append(Rim(frozen(vertices[line])))
    return tuple(sorted(rims, key=lambda rim: -_round_mm(rim.points_mm)))


def _round_mm(points: F64) -> float:
    return float(np.linalg.norm(np.diff(points, axis=0, append=points[:1]), axis=1).sum())
