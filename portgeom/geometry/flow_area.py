"""How large is a section square to the flow?"""

from __future__ import annotations

import numpy as np

from portgeom.geometry.arrays import F64
from portgeom.geometry.chart import Chart
from portgeom.geometry.interpolate import straight_between
from portgeom.geometry.moments import Moments

DRIFT_MM = 5.0
"""Half the stretch over which it is taken how the middles of the sections drift across the path."""


def flow_area_mm2(chart: Chart, moments: Moments) -> F64:
    """Return the area square to the flow (..., m): A |n . t|, t along the curve through the centroids.

    The path's own direction is taken where the plane stands, so it is exact on arcs and where one ends. How the
    centroids drift across the path is a mean over DRIFT_MM to both sides, so that a step in the wall, where the
    centroid jumps, does not pass for a flow that runs sideways.
    """
    planes, s = chart.planes, chart.distance_mm
    c = moments.first_mm3 / moments.area_mm2[..., None]
    drift = _drift(s, c)
    turn = [np.einsum("...j,...j->...", side, planes.turning_per_mm) for side in (planes.right, planes.up)]
    ahead = np.einsum("...j,...j->...", planes.velocity, planes.normal) - turn[0] * c[..., 0] - turn[1] * c[..., 1]
    roll = _roll(s, planes.right, planes.up)
    right = np.einsum("...j,...j->...", planes.velocity, planes.right) + drift[..., 0] - roll * c[..., 1]
    up = np.einsum("...j,...j->...", planes.velocity, planes.up) + drift[..., 1] + roll * c[..., 0]
    return moments.area_mm2 * np.abs(ahead) / np.sqrt(ahead**2 + right**2 + up**2)


def _drift(s: F64, c: F64) -> F64:
    """Return how far the centroids (..., m, 2) move across the path on a millimetre of it.

    Where there is no such stretch to one side, the slope is that of the parabola through the nearest one's ends
    and middle.
    """
    first, last = s[..., :1], s[..., -1:]
    half = np.minimum(DRIFT_MM, 0.5 * (last - first))
    middle = np.clip(s, first + half, last - half)
    before, here, after = (straight_between(s, c, place) for place in (middle - half, middle, middle + half))
    half = half[..., None]
    bent = (s - middle)[..., None] / half**2 * (after - 2.0 * here + before)
    slope: F64 = (after - before) / (2.0 * half) + bent
    return slope


def _roll(s: F64, right: F64, up: F64) -> F64:
    """Return how much the planes (..., m, 3) roll on a millimetre of the path, in radians."""
    ahead = np.concatenate([right[..., 1:, :], right[..., -1:, :]], axis=-2)
    behind = np.concatenate([right[..., :1, :], right[..., :-1, :]], axis=-2)
    run = np.concatenate([s[..., 1:], s[..., -1:]], axis=-1) - np.concatenate([s[..., :1], s[..., :-1]], axis=-1)
    return np.asarray(np.einsum("...j,...j->...", ahead - behind, up) / run)
