"""Does a point lie inside the passage?"""

from __future__ import annotations

import numpy as np

from portgeom.geometry.arrays import F64, Bool
from portgeom.geometry.surface import Surface


def inside_passage(surface: Surface, points_mm: F64) -> Bool:
    """Return which points (k, 3) of the head frame lie in the passage, between its first and last plane.

    A point lies in it if it lies in the section of a plane that sweeps over it, slab by slab.
    """
    chart = surface.chart
    planes = chart.planes
    offset = points_mm[None] - planes.origin_mm[:, None]
    height = np.einsum("mkj,mj->mk", offset, planes.normal)
    slab, point = np.nonzero((height[:-1] >= 0.0) != (height[1:] >= 0.0))
    inside = np.zeros(len(points_mm), dtype=bool)
    if len(slab) == 0:
        return inside
    share = height[slab, point] / (height[slab, point] - height[slab + 1, point])
    ends = []
    for j in (slab, slab + 1):
        away = offset[j, point]
        ends.append(np.stack([np.einsum("ij,ij->i", away, axis[j]) for axis in (planes.right, planes.up)], axis=1))
    place = ends[0] + share[:, None] * (ends[1] - ends[0])
    before, after = (
        chart.rays.tips_mm(chart.centre_mm[j], chart.half_mm[j], surface.rho_mm[j]) for j in (slab, slab + 1)
    )
    outline = before + share[:, None, None] * (after - before)
    held = _in_polygons(outline, place)
    inside[point[held]] = True
    return inside


def _in_polygons(outline: F64, place: F64) -> Bool:
    """Return whether each place (k, 2) is in its own polygon (k, n, 2), by crossings to the right."""
    start, end = outline, np.roll(outline, -1, axis=1)
    v = place[:, None, 1]
    spans = (start[..., 1] <= v) != (end[..., 1] <= v)
    rise = np.where(spans, end[..., 1] - start[..., 1], 1.0)
    u = start[..., 0] + (v - start[..., 1]) / rise * (end[..., 0] - start[..., 0])
    return np.count_nonzero(spans & (u > place[:, None, 0]), axis=1) % 2 == 1
