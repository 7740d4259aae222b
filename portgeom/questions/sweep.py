"""What does a cutter cut that is led along a run, and how high may it be led?

A cutter of revolution whose axis runs along the port is a disc in every section plane it crosses.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from portgeom.geometry.arrays import F64, Bool, Int
from portgeom.geometry.chart import Chart
from portgeom.geometry.cutter import CutterBody
from portgeom.questions.side import STEP_MM, SideAxes


@dataclass(frozen=True, slots=True)
class Run:
    """One lead of a cutter along the port.

    Attributes
    ----------
    along_mm, axis_mm : (m,) float
        Place of the cutter's axis along the side, and its height, at every slab.
    active : (m,) bool
        Slabs at which the cutter's widest part is set.
    """

    along_mm: F64
    axis_mm: F64
    active: Bool


def highest_axis_mm(limit_mm: F64, along_grid_mm: F64, distance_mm: F64, along_mm: F64, cutter: CutterBody) -> F64:
    """Return how high (m,) a cutter's axis may be led without any of it passing a limit.

    Parameters
    ----------
    limit_mm : (m, k) float
        Height that nothing may pass; NaN where there is no limit.
    along_grid_mm : (k,) float
    distance_mm : (m,) float
        Of the slabs, along the side itself.
    along_mm : (m,) float
        Where the cutter is led.

    Notes
    -----
    The least over the cutter's own footprint of limit less cutter: an erosion. Led there, the cutter
    follows only what it can, and is never deeper.
    """
    ahead, behind = cutter.widest_mm, cutter.head_mm - cutter.widest_mm
    reach = np.ceil(cutter.radius_mm / STEP_MM)
    offset = STEP_MM * np.arange(-reach, reach + 1.0)
    highest = np.full(len(distance_mm), np.inf)
    for i, (s, a) in enumerate(zip(distance_mm, along_mm, strict=True)):
        first = int(np.searchsorted(distance_mm, s - behind))
        last = int(np.searchsorted(distance_mm, s + ahead, side="right"))
        radius = cutter.radius_at_mm(cutter.widest_mm - (distance_mm[first:last] - s))
        place = a + offset
        near = np.array([np.interp(place, along_grid_mm, row) for row in limit_mm[first:last]])
        square = radius[:, None] ** 2 - offset**2
        touches = (square >= 0.0) & np.isfinite(near)
        room = np.where(touches, near - np.sqrt(np.maximum(square, 0.0)), np.inf)
        highest[i] = room.min(initial=np.inf)
    return highest


def swept_rho_mm(chart: Chart, axes: SideAxes, run: Run, cutter: CutterBody, rho_mm: F64) -> F64:
    """Return distances (m, n) after a run: the greater of those before and the far side of every disc.

    The cutter's axis stands square to the section it is set in; in the planes before and after it, its
    disc has the radius of its profile there.
    """
    rho = rho_mm.copy()
    planes = chart.planes
    places = np.flatnonzero(run.active & np.isfinite(run.axis_mm))
    if not len(places):
        return rho
    centre = planes.origin_mm + run.along_mm[:, None] * axes.along + run.axis_mm[:, None] * axes.up
    length = max(cutter.widest_mm, cutter.head_mm - cutter.widest_mm)
    shortest = float(np.diff(chart.distance_mm).min())
    # planes fan out in a bend, so look further than the cutter is long
    window = int(np.ceil(2.0 * length / shortest)) + 1
    for shift in range(-window, window + 1):
        slab = places + shift
        inside = (slab >= 0) & (slab < len(rho))
        j, c = slab[inside], centre[places[inside]]
        to_plane = np.einsum("ij,ij->i", planes.origin_mm[j] - c, planes.normal[j])
        radius = cutter.radius_at_mm(cutter.widest_mm - to_plane)
        cuts = radius > 0.0
        if not cuts.any():
            continue
        j, c, to_plane, radius = j[cuts], c[cuts], to_plane[cuts], radius[cuts]
        in_plane = c + to_plane[:, None] * planes.normal[j] - planes.origin_mm[j]
        u = np.einsum("ij,ij->i", in_plane, planes.right[j])
        v = np.einsum("ij,ij->i", in_plane, planes.up[j])
        far = _far_side(chart, j, u, v, radius)
        rho[j] = np.fmax(rho[j], far)
    return rho


def _far_side(chart: Chart, slab: Int, u: F64, v: F64, radius: F64) -> F64:
    """Return how far along every ray discs reach; NaN where a ray misses its disc."""
    rays = chart.rays
    from_u = u[:, None] - chart.centre_mm[slab, 0, None] - chart.half_mm[slab, None] * rays.foot
    from_v = (v - chart.centre_mm[slab, 1])[:, None]
    ahead = from_u * rays.direction[:, 0] + from_v * rays.direction[:, 1]
    square = radius[:, None] ** 2 - (from_u**2 + from_v**2 - ahead**2)
    meets = square >= 0.0
    far = ahead + np.sqrt(np.where(meets, square, 0.0))
    return np.where(meets & (far > 0.0), far, np.nan)
