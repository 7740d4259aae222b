"""What closed mesh has a surface's shape, and how far is it from it?

A solid comes only from the function that proved it closed and outward.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from portgeom.geometry.arrays import F64, Int, frozen
from portgeom.geometry.rays import Rays
from portgeom.geometry.surface import Surface


class SolidError(ValueError):
    """A mesh that is not closed, or not wound outward."""


@dataclass(frozen=True, slots=True)
class Solid:
    """A closed triangle mesh, wound so that its normals point out.

    Attributes
    ----------
    vertices_mm : (n, 3) float
        In the head frame.
    faces : (k, 3) int
    volume_mm3 : float
        Of the mesh itself.
    """

    vertices_mm: F64
    faces: Int
    volume_mm3: float


def solid_of(surface: Surface, *, beyond_mm: float = 0.0) -> Solid:
    """Return the closed mesh of a surface: its slabs and rays, and a flat cap at each end.

    Parameters
    ----------
    beyond_mm : float
        How far it goes straight on beyond its ends, so that no cap lies on that of another solid.

    Raises
    ------
    SolidError
        If the mesh would not be closed, or would be inside out.
    """
    chart, planes = surface.chart, surface.chart.planes
    tips = planes.world_mm(surface.points_mm)
    spine = np.stack([chart.centre_mm - _along(chart.half_mm), chart.centre_mm + _along(chart.half_mm)], axis=1)
    ends = planes.world_mm(spine)[[0, -1]]
    if beyond_mm > 0.0:
        out = beyond_mm * np.stack([-planes.normal[0], planes.normal[-1]])[:, None]
        tips = np.concatenate([tips[:1] + out[0], tips, tips[-1:] + out[1]])
        ends = ends + out
    slabs, base = len(tips), tips.shape[0] * tips.shape[1]
    first = _cap(chart.rays, 0, base, base + 1)
    last = _cap(chart.rays, (slabs - 1) * chart.rays.total, base + 2, base + 3)
    faces = np.concatenate([_sides(slabs, chart.rays.total), first, last[:, ::-1]])
    return closed_mesh(np.concatenate([tips.reshape(-1, 3), ends.reshape(-1, 3)]), faces)


def closed_mesh(vertices_mm: F64, faces: Int) -> Solid:
    """Return a mesh as a solid, once every edge is shared by two faces that run it both ways.

    Raises
    ------
    SolidError
        Naming how many edges are open, or that the mesh is inside out.
    """
    start, end = faces.ravel(), faces[:, [1, 2, 0]].ravel()
    many = len(vertices_mm)
    forward, backward = np.sort(start * many + end), np.sort(end * many + start)
    if (forward[1:] == forward[:-1]).any() or not np.array_equal(forward, backward):
        open_edges = len(np.setdiff1d(forward, backward))
        raise SolidError(f"the mesh is not closed: {open_edges} edges have no partner")
    volume = mesh_volume_mm3(vertices_mm, faces)
    if volume <= 0.0:
        raise SolidError(f"the mesh is inside out: its volume is {volume:.3f} mm3")
    return Solid(frozen(vertices_mm), faces, volume)


def mesh_volume_mm3(vertices_mm: F64, faces: Int) -> float:
    """Return the signed volume of a closed mesh by the divergence theorem."""
    a, b, c = (vertices_mm[faces[:, k]] - vertices_mm.mean(axis=0) for k in range(3))
    return float(np.einsum("ij,ij->", a, np.cross(b, c))) / 6.0


def _along(half: F64) -> F64:
    return np.stack([half, np.zeros_like(half)], axis=-1)


def _sides(slabs: int, rays: int) -> Int:
    """Return two triangles for every cell, the diagonal turning from slab to slab so that errors cancel."""
    i, k = np.meshgrid(np.arange(slabs - 1), np.arange(rays), indexing="ij")
    a, b = i * rays + k, i * rays + (k + 1) % rays
    c, d = a + rays, b + rays
    even = ((i + k) % 2 == 0)[..., None]
    first = np.where(even, np.stack([a, c, b], axis=-1), np.stack([a, c, d], axis=-1))
    second = np.where(even, np.stack([b, c, d], axis=-1), np.stack([a, d, b], axis=-1))
    return np.stack([first, second], axis=2).reshape(-1, 3)


def _cap(rays: Rays, start: int, left: int, right: int) -> Int:
    """Return the triangles of a flat end, wound to face against the flow.

    Fans round the ends of the spine and a strip between the rays that go up and those that go down; all
    of it lies inside the section however it is shaped.
    """
    n, fan, flat = rays.total, rays.fan, rays.flat
    top = [start + k for k in range(fan, fan + flat)]  # from right to left
    bottom = [start + k for k in range(n - 1, n - 1 - flat, -1)]
    round_right = [bottom[1], bottom[0], *range(start, start + fan), top[0], top[1]]
    round_left = [
        top[-2],
        top[-1],
        *range(start + fan + flat, start + 2 * fan + flat),
        bottom[-1],
        bottom[-2],
    ]
    triangles = [(right, a, b) for a, b in pairwise([*round_right, round_right[0]])]
    triangles += [(left, a, b) for a, b in pairwise([*round_left, round_left[0]])]
    for k in range(1, flat - 2):
        triangles += [(top[k], top[k + 1], bottom[k]), (bottom[k], top[k + 1], bottom[k + 1])]
    return np.array(triangles)
