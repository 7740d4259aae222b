"""How is one section's polygon changed: roof moved and bridged, corners recut, walls moved out?

Every function takes an anticlockwise polygon (n, 2) and returns another; a floor is a roof upside down.
"""

from __future__ import annotations

import numpy as np

from portgeom.geometry.arrays import F64
from portgeom.model.edge import between, bridged_across, recut_corners, side_walls, upper_edge, widest


def roofed(polygon: F64, height: float, radius: float, level: float) -> F64:
    """Return a section with its roof bridged across, its corners recut and its crown at a height.

    A height of NaN leaves the crown where it is, a radius of NaN leaves the corners.
    """
    right, left = widest(polygon)
    edge = bridged_across(upper_edge(polygon))
    rise = 0.0 if np.isnan(height) else height - edge.crown_mm
    if np.isnan(radius):
        roof = np.column_stack([edge.u_mm, edge.v_mm])[::-1]
        rest = between(polygon, left, right)
    else:
        roof = recut_corners(edge, side_walls(polygon, level), radius)
        rest = _below(polygon, level)
        rise = 0.0 if np.isnan(height) else height - float(roof[:, 1].max())
    return np.concatenate([roof + (0.0, rise), rest])


def _below(polygon: F64, level: float) -> F64:
    """Return the corners under a level, anticlockwise from the left wall to the right wall."""
    under = polygon[:, 1] < level
    start = np.flatnonzero(under & ~np.roll(under, 1))
    first = int(min(start, key=lambda i: polygon[i, 0]))
    order = (first + np.arange(len(polygon))) % len(polygon)
    return polygon[order][under[order]]


def lifted(polygon: F64, across_mm: F64, lift_mm: F64) -> F64:
    """Return a section with its upper boundary raised by a lift over columns (k,); its ends are carried on."""
    if not lift_mm.any():
        return polygon
    right, left = widest(polygon)
    edge = upper_edge(polygon)
    inside = (across_mm > edge.u_mm[0]) & (across_mm < edge.u_mm[-1])
    u = np.union1d(edge.u_mm, across_mm[inside])
    v = edge.height_mm(u) + np.interp(u, across_mm, lift_mm)
    return np.concatenate([np.column_stack([u, v])[::-1], between(polygon, left, right)])


def upside_down(polygon: F64) -> F64:
    """Return a section with roof and floor swapped, again anticlockwise."""
    return polygon[::-1] * (1.0, -1.0)


def widened(polygon: F64, left: float, right: float) -> F64:
    """Return a section parted at crown and lowest point, its halves moved outwards as they are."""
    top, bottom = int(np.argmax(polygon[:, 1])), int(np.argmin(polygon[:, 1]))
    left_half = between(polygon, top, bottom) - (left, 0.0)
    right_half = between(polygon, bottom, top) + (right, 0.0)
    return np.concatenate([left_half, right_half])
