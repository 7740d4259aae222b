"""Where are the wanted section's corners tighter than a cutter can leave?"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from portgeom.geometry.arrays import F64, Int
from portgeom.geometry.surface import Surface
from portgeom.questions.shape.places import clocks_deg

TURN_RAD = 0.25 * np.pi
"""A corner is what turns by so much: its radius is the arc this takes, divided by it."""

SURE_MM = 0.1
"""How much a corner must be tighter than a cutter before it is told: the rays read no finer."""

JOIN_MM = 3.0
"""Runs with less than so much between them are one."""


@dataclass(frozen=True, slots=True)
class Corners:
    """The tightest corner to be cut in each quarter of every section.

    Attributes
    ----------
    distance_mm : (m,) float
    radius_mm : (m, 4) float
        Upper right, lower right, lower left, upper left; infinite where no corner is cut.
    clock_deg : (m, 4) float
        Where on the section it is.
    """

    distance_mm: F64
    radius_mm: F64
    clock_deg: F64


@dataclass(frozen=True, slots=True)
class TightCorner:
    """A run of sections whose corner is tighter than a cutter: the least radius, and where that is."""

    from_mm: float
    to_mm: float
    radius_mm: float
    distance_mm: float
    clock_deg: float


def corners_to_cut(present: Surface, after: Surface) -> Corners:
    """Return the corners of a port once cut, where metal comes off.

    Notes
    -----
    An arc reads its own radius, since it turns by an eighth of a whole turn over an eighth of its circle. A
    sharp corner reads less than the rays stand apart.
    """
    chart = after.chart
    cut = after.rho_mm - present.rho_mm > chart.tolerance.length_mm
    radius = np.full((len(chart.distance_mm), 4), np.inf)
    clock = np.full_like(radius, np.nan)
    some = np.flatnonzero(cut.any(axis=1))
    if not len(some):
        return Corners(chart.distance_mm, radius, clock)
    points, centre, row = after.points_mm[some], chart.centre_mm[some], np.arange(len(some))
    reading, place = _radii_mm(points)
    at = np.take_along_axis(points, place[..., None], axis=1)
    right, above = at[..., 0] >= centre[:, None, 0], at[..., 1] >= centre[:, None, 1]
    quarter = np.where(right, np.where(above, 0, 1), np.where(above, 3, 2))
    reading = np.where(np.take_along_axis(cut[some], place, axis=1), reading, np.inf)
    for q in range(4):
        its = np.where(quarter == q, reading, np.inf)
        least = np.argmin(its, axis=1)
        radius[some, q] = its[row, least]
        clock[some, q] = np.where(np.isfinite(its[row, least]), clocks_deg(at[row, least], centre), np.nan)
    return Corners(chart.distance_mm, radius, clock)


def tight_corners(corners: Corners, cutter_radius_mm: float) -> tuple[TightCorner, ...]:
    """Return the runs along the port over which a corner is tighter than a cutter, by quarter and place."""
    s, tight = corners.distance_mm, corners.radius_mm < cutter_radius_mm - SURE_MM
    runs = []
    for q in range(4):
        found = np.flatnonzero(tight[:, q])
        for run in np.split(found, np.flatnonzero(np.diff(s[found]) > JOIN_MM) + 1):
            if len(run):
                least = run[np.argmin(corners.radius_mm[run, q])]
                radius, clock = float(corners.radius_mm[least, q]), float(corners.clock_deg[least, q])
                runs.append(TightCorner(float(s[run[0]]), float(s[run[-1]]), radius, float(s[least]), clock))
    return tuple(runs)


def _radii_mm(points: F64) -> tuple[F64, Int]:
    """Return the radius of what turns from every edge of polygons (m, n, 2) on, and the point half way round it."""
    n = points.shape[1]
    edge = np.roll(points, -1, axis=1) - points
    length = np.hypot(edge[..., 0], edge[..., 1])
    heading = np.unwrap(np.arctan2(edge[..., 1], edge[..., 0]))
    start = np.concatenate([np.zeros((len(points), 1)), np.cumsum(length, axis=1)], axis=1)
    middle, whole = 0.5 * (start[:, :-1] + start[:, 1:]), start[:, -1:]
    # once more round, so that a corner across the first point is seen too; what turns back counts for nothing
    turned = np.maximum.accumulate(np.concatenate([heading, heading + 2.0 * np.pi], axis=1), axis=1)
    along = np.concatenate([middle, middle + whole], axis=1)
    arc = _interpolated(turned[:, :n] + TURN_RAD, turned, along) - middle
    twice = np.concatenate([start, start[:, 1:] + whole], axis=1)
    place = np.rint(_interpolated(middle + 0.5 * arc, twice, np.broadcast_to(np.arange(2.0 * n + 1.0), twice.shape)))
    return arc / TURN_RAD, place.astype(np.intp) % n


def _interpolated(at: F64, x: F64, y: F64) -> F64:
    """Return what runs through (x, y) at places, row by row (m, k); every place lies within its row's x."""
    # one row after the other, each moved clear of the one before
    shift = (x[:, -1:] - x[:, :1]).max() + 1.0
    moved = shift * np.arange(len(x))[:, None] - x[:, :1]
    return np.interp((at + moved).ravel(), (x + moved).ravel(), y.ravel()).reshape(at.shape)
