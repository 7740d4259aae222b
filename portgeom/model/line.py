"""At what height above the path does a target's roof line run at every slab?"""

from __future__ import annotations

import numpy as np

from portgeom.geometry.arrays import F64
from portgeom.geometry.chart import Chart
from portgeom.geometry.interpolate import straight_between
from portgeom.geometry.path import Planes
from portgeom.job.values import Line, Target

FLATTEST_UP = 0.2
"""Least upward part of a plane's v for which a height over the deck still means a height in the plane."""


def along(line: Line, distance_mm: F64) -> F64:
    """Return the line's value at every distance (..., m), NaN outside its own range; one row holds everywhere."""
    rows = line.rows
    if len(rows) == 1:
        return np.full(distance_mm.shape, rows[0, 1])
    return np.interp(distance_mm, rows[:, 0], rows[:, 1], left=np.nan, right=np.nan)


def roof_heights_mm(target: Target, chart: Chart, crown_mm: F64) -> F64:
    """Return the roof line's height above the path (..., m) of a chart, NaN where the target has no roof line.

    Parameters
    ----------
    crown_mm : (m,) float
        Height of the roof as cast, for a line given as a rise over it.

    Notes
    -----
    A height over the deck is carried along the distance as such and then turned into the plane's own
    height. A straight line in space runs between the places that its points have in the head frame.
    A plane that lies too flat for a height over the deck gives NaN.
    """
    if target.roof is None:
        return np.full(chart.distance_mm.shape, np.nan)
    if target.roof_straight:
        return _straight(target, chart, crown_mm)
    return _as_height(target, chart.planes, crown_mm, along(target.roof, chart.distance_mm))


def _as_height(target: Target, planes: Planes, crown: F64, value: F64) -> F64:
    if target.roof_kind == "roof_line":
        return value
    if target.roof_kind == "roof_raise":
        return crown + value
    rise = planes.up[..., 2]
    steep = rise >= FLATTEST_UP
    return np.where(steep, (value - planes.origin_mm[..., 2]) / np.where(steep, rise, 1.0), np.nan)


def _straight(target: Target, chart: Chart, crown: F64) -> F64:
    assert target.roof is not None
    rows, s = target.roof.rows, chart.distance_mm
    first = chart.path.distance_mm.reshape(-1, chart.path.distance_mm.shape[-1])[0]
    interval = np.clip(np.searchsorted(first, rows[:, 0], side="right") - 1, 0, len(first) - 2)
    planes = chart.path.planes(rows[:, 0], interval)
    crowns = straight_between(s, np.broadcast_to(crown, s.shape)[..., None], rows[:, 0])[..., 0]
    at_points = _as_height(target, planes, crowns, rows[:, 1])
    points = planes.origin_mm + at_points[..., None] * planes.up
    height = np.full(s.shape, np.nan)
    origin, normal, up = chart.planes.origin_mm, chart.planes.normal, chart.planes.up
    near = chart.tolerance.length_mm
    for k in range(len(rows) - 1):
        start, end = points[..., k, None, :], points[..., k + 1, None, :]
        ahead = np.einsum("...j,...j->...", origin - start, normal)
        share = ahead / np.einsum("...j,...j->...", np.broadcast_to(end - start, normal.shape), normal)
        place = start + share[..., None] * (end - start)
        here = (s >= rows[k, 0] - near) & (s <= rows[k + 1, 0] + near)
        height = np.where(here, np.einsum("...j,...j->...", place - origin, up), height)
    return height
