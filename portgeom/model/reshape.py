"""How are sections' polygons changed: roofs moved and bridged, corners recut, walls moved out?

Every function takes anticlockwise polygons (n, 2) and returns as many others, each value (m,) for one of them; a
floor is a roof upside down.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from portgeom.geometry.arrays import F64
from portgeom.model.corners import Corners
from portgeom.model.edge import bridged_edges, edges_between, wall_tops
from portgeom.model.recut import recut_corners, side_walls


def roofed(polygons: Sequence[F64], height: F64, radius: F64, level: F64) -> list[F64]:
    """Return sections with their roofs bridged across, their corners recut and their crowns at a height.

    A height of NaN leaves the crown where it is, a radius of NaN leaves the corners. Walls are taken at ``level``.
    """
    sections = Corners.of(polygons)
    tops = wall_tops(sections)
    edges = bridged_edges(edges_between(sections, tops))
    roofs = [np.column_stack([edge.u_mm, edge.v_mm])[::-1] for edge in edges]
    rests = sections.between(tops.left, tops.right).apart()
    new = np.flatnonzero(~np.isnan(radius))
    if len(new):
        some = sections.chosen(new)
        recut = recut_corners([edges[k] for k in new], side_walls(some, level[new]), radius[new])
        for k, roof, rest in zip(new, recut, _below(some, level[new]), strict=True):
            roofs[k], rests[k] = roof, rest
    crown = np.array([roof[:, 1].max() for roof in roofs])
    rise = np.where(np.isnan(height), 0.0, height - crown)
    return [np.concatenate([roof + (0.0, up), rest]) for roof, rest, up in zip(roofs, rests, rise, strict=True)]


def _below(sections: Corners, level: F64) -> list[F64]:
    """Return the corners under a level, anticlockwise from the left wall to the right wall."""
    under = sections.v_mm < level[:, None]
    start = under & ~np.roll(under, 1, axis=1)
    first = np.argmin(np.where(start, sections.u_mm, np.inf), axis=1)
    round_it = sections.between(first, (first - 1) % sections.count).apart()
    return [points[points[:, 1] < at] for points, at in zip(round_it, level, strict=True)]


def lifted(polygons: Sequence[F64], across_mm: F64, lift_mm: F64) -> list[F64]:
    """Return sections with their upper boundaries raised by lifts over columns (m, k); ends are carried on."""
    sections = Corners.of(polygons)
    tops = wall_tops(sections)
    rests = sections.between(tops.left, tops.right).apart()
    raised = []
    for edge, rest, across, lift in zip(edges_between(sections, tops), rests, across_mm, lift_mm, strict=True):
        inside = (across > edge.u_mm[0]) & (across < edge.u_mm[-1])
        u = np.union1d(edge.u_mm, across[inside])
        v = edge.height_mm(u) + np.interp(u, across, lift)
        raised.append(np.concatenate([np.column_stack([u, v])[::-1], rest]))
    return raised


def upside_down(polygons: Sequence[F64]) -> list[F64]:
    """Return sections with roof and floor swapped, again anticlockwise."""
    return [polygon[::-1] * (1.0, -1.0) for polygon in polygons]


def widened(polygons: Sequence[F64], left: F64, right: F64) -> list[F64]:
    """Return sections parted at crown and lowest point, their halves moved outwards as they are."""
    sections = Corners.of(polygons)
    top, bottom = np.argmax(sections.v_mm, axis=1), np.argmin(sections.v_mm, axis=1)
    left_halves, right_halves = sections.between(top, bottom).apart(), sections.between(bottom, top).apart()
    return [
        np.concatenate([half - (out, 0.0), other + (further, 0.0)])
        for half, other, out, further in zip(left_halves, right_halves, left, right, strict=True)
    ]
