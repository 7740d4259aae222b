"""What outline goes smoothly through radii that a pointer gave all round a point?"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from portgeom.geometry.arrays import F64
from portgeom.geometry.outline import Outline, OutlineError
from portgeom.geometry.shapes import CURVE_POINTS

FEWEST = 6
WIDEST_GAP_DEG = 90.0


def polar_outline(clock_deg: npt.ArrayLike, radius_mm: npt.ArrayLike) -> Outline:
    """Return the closed curve through radii at clock positions, about the point they were taken from.

    Parameters
    ----------
    clock_deg : (n,) float
        Clockwise from the crown, from 0 to below 360, rising, no two alike.
    radius_mm : (n,) float

    Raises
    ------
    OutlineError
        With fewer than six readings, a gap of more than 90 degrees, or a curve that crosses itself.

    Notes
    -----
    The radius runs along the periodic cubic spline over the angle, which has no kink anywhere: eight readings of a
    circle taken 3 mm off its centre give its area back within 0.02 percent. A sharp corner between two readings
    is rounded, and nobody has measured it.
    """
    clock, radius = np.asarray(clock_deg, dtype=np.float64), np.asarray(radius_mm, dtype=np.float64)
    if len(clock) < FEWEST:
        raise OutlineError(f"{len(clock)} radii; at least {FEWEST} all round")
    gaps = np.diff(clock, append=clock[0] + 360.0)
    widest = int(np.argmax(gaps))
    if gaps[widest] > WIDEST_GAP_DEG:
        raise OutlineError(f"no radius for {gaps[widest]:g} degrees from clock {clock[widest]:g}; take one between")
    knots = np.append(clock, clock[0] + 360.0)
    at = np.linspace(0.0, 360.0, max(CURVE_POINTS, 8 * len(clock)), endpoint=False)
    shifted = np.where(at < clock[0], at + 360.0, at)
    length = _periodic_cubic(knots, np.append(radius, radius[0]), shifted)
    if length.min() <= 0.0:
        raise OutlineError(f"the curve through the radii comes to nothing at clock {at[np.argmin(length)]:g}")
    angle = np.radians(at[::-1])  # anticlockwise
    return Outline.polygon(np.column_stack([length[::-1] * np.sin(angle), length[::-1] * np.cos(angle)]))


def _periodic_cubic(knots: F64, values: F64, at: F64) -> F64:
    """Return the periodic cubic spline through values at knots, the last of which repeats the first."""
    step = np.diff(knots)
    slope = np.diff(values) / step
    n = len(step)
    rows = np.zeros((n, n))
    k = np.arange(n)
    before = step[k - 1]
    rows[k, k] = 2.0 * (before + step)
    rows[k, k - 1] += before
    rows[k, (k + 1) % n] += step
    bend = np.linalg.solve(rows, 6.0 * (slope - slope[k - 1]))  # second derivatives at the knots
    i = np.clip(np.searchsorted(knots, at, side="right") - 1, 0, n - 1)
    b = (at - knots[i]) / step[i]
    a = 1.0 - b
    nexts = bend[(i + 1) % n]
    return a * values[i] + b * values[i + 1] + ((a**3 - a) * bend[i] + (b**3 - b) * nexts) * step[i] ** 2 / 6.0
