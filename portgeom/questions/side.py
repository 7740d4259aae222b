"""How is a side of a port looked at as if it were the roof?

A pass works on roof, floor, left or right. Turned in its plane so that the side is up, each is a roof: a
height ``up`` over a place ``along`` the side.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from portgeom.geometry.arrays import F64, frozen
from portgeom.geometry.chart import Chart
from portgeom.job.values import Side
from portgeom.model.edge import Edge, bridged_across, roof_span_mm, upper_edge

STEP_MM = 0.5
"""Step of a side's grid along the side."""

NEARLY_LEVEL_RAD = np.radians(10.0)
"""A corner has ended where the side leans no more than this."""

TURN: dict[Side, F64] = {
    "roof": frozen([[1.0, 0.0], [0.0, 1.0]]),
    "floor": frozen([[-1.0, 0.0], [0.0, -1.0]]),
    "left": frozen([[0.0, 1.0], [-1.0, 0.0]]),
    "right": frozen([[0.0, -1.0], [1.0, 0.0]]),
}
"""Rows: what is along and what is up, in (u, v)."""


@dataclass(frozen=True, slots=True)
class SideGrid:
    """The height of one side over distance and place along it.

    Attributes
    ----------
    side : Side
    along_mm : (k,) float
        Places along the side, STEP_MM apart.
    height_mm : (m, k) float
        Height of the metal, NaN where there is none.
    span_mm : (m, 2) float
        Where along the side each section is this side and not the next: its two ends.
    walls_mm : (m, 2) float
        The section's extent along the side.
    corner_mm : (m, 2) float
        Radius of the corner at each end, as it would be if the corner were an arc.
    """

    side: Side
    along_mm: F64
    height_mm: F64
    span_mm: F64
    walls_mm: F64
    corner_mm: F64

    def at(self, along_mm: F64) -> F64:
        """Return the height (m,) at one place along the side for every slab; NaN where there is none."""
        return np.array([np.interp(a, self.along_mm, h) for a, h in zip(along_mm, self.height_mm, strict=True)])


def turned(points_mm: F64, side: Side) -> F64:
    """Return section points (..., 2) with a side up."""
    return points_mm @ TURN[side].T


def grid_lines_mm(sections_mm: Sequence[F64], side: Side) -> F64:
    """Return places along a side that cover every section, on whole steps."""
    along = [turned(p, side)[:, 0] for p in sections_mm]
    low, high = min(a.min() for a in along), max(a.max() for a in along)
    return STEP_MM * np.arange(np.ceil(low / STEP_MM), np.floor(high / STEP_MM) + 1.0)


def side_grid(sections_mm: Sequence[F64], side: Side, along_mm: F64) -> SideGrid:
    """Return the height of one side of every section (n, 2) over places along it."""
    edges: list[Edge] = [upper_edge(turned(p, side)) for p in sections_mm]
    return SideGrid(
        side,
        along_mm,
        np.array([e.height_mm(along_mm) for e in edges]),
        np.array([roof_span_mm(bridged_across(e)) for e in edges]),
        np.array([(e.u_mm[0], e.u_mm[-1]) for e in edges]),
        np.array([_corner_radii_mm(e) for e in edges]),
    )


def _corner_radii_mm(edge: Edge) -> tuple[float, float]:
    """Return the radii of the arcs that would lean as much as the corners do, left and right.

    An arc that starts upright at the wall has turned to 10 degrees from level r (1 - sin 10) further in.
    """
    whole = bridged_across(edge)
    flat = np.flatnonzero(np.abs(np.diff(whole.v_mm) / np.diff(whole.u_mm)) <= np.tan(NEARLY_LEVEL_RAD))
    if not len(flat):
        half = 0.5 * float(np.ptp(edge.u_mm))
        return half, half
    share = 1.0 - np.sin(NEARLY_LEVEL_RAD)
    left = float(whole.u_mm[flat[0]] - whole.u_mm[0])
    right = float(whole.u_mm[-1] - whole.u_mm[flat[-1] + 1])
    return left / share, right / share


@dataclass(frozen=True, slots=True)
class SideAxes:
    """Unit vectors (m, 3) of every slab's plane with a side up."""

    along: F64
    up: F64


def side_axes(chart: Chart, side: Side) -> SideAxes:
    """Return which way along and up point in the head frame at every slab."""
    (a, b), (c, d) = TURN[side]
    right, up = chart.planes.right, chart.planes.up
    return SideAxes(a * right + b * up, c * right + d * up)
