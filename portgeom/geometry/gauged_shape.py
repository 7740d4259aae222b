"""What outline has a section of which widths, heights and corner radii were gauged?

Three widths, three floor-to-roof heights and four corner radii, as calipers and radius gauges give them. The
floor is straight and level, the roof is the parabola through the three heights, the side walls are parabolas
through the three widths, alike left and right, and every corner is an arc that touches both its sides.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

import numpy as np

from portgeom.geometry.arrays import F64
from portgeom.geometry.outline import Outline, OutlineError
from portgeom.geometry.shapes import CornerRadii

QUARTERS = np.array([0.25, 0.5, 0.75])
"""Where widths are gauged, as parts of the middle height from the floor up, and heights, as parts of the
middle width from the left."""

SIDE_POINTS = 33
ARC_POINTS = 91
"""Points on a corner: on a 10 mm radius the chords stay within 0.0004 mm."""

TOUCH_ROUNDS = 12
"""Rounds in which a corner's arc is brought to touch curved sides; each leaves the radius over the side's own
radius of what was wrong, a tenth or less in a port."""

FIT_ROUNDS = 20
FIT_STEP = 1e-4
FIT_ENOUGH = 1e-8
"""Step of the slopes, and the change at which the search is over, as parts of the section's size."""

DAMPING = 1e-4
STRAIGHT_PULL = 0.1
"""A bend of ten in a side, where corners hide it, costs as much as a reading missed by one."""

WEIGHTS = np.array([1.0, 3.0, 1.0, 1.0, 3.0, 1.0])
"""A reading in the middle, which no corner reaches, counts for more than one that may lie on a corner."""

MOST_SWING = 1.5
"""How much wider or higher than every reading the section they make may be."""

OVERLAP = 1e-3
"""Of the section's size: two corner radii that share a whole side may be longer than it by so much."""

NAMES = ("width_low", "width", "width_high", "height_left", "height", "height_right")


@dataclass(frozen=True, slots=True)
class Gauged:
    """Readings of one section, in mm.

    Attributes
    ----------
    widths_mm : (3,) float
        A quarter, half and three quarters of the middle height above the floor.
    heights_mm : (3,) float
        Floor to roof, a quarter, half and three quarters of the middle width from the left.
    radii_mm : CornerRadii
    """

    widths_mm: F64
    heights_mm: F64
    radii_mm: CornerRadii


@dataclass(frozen=True, slots=True)
class GaugedOutline:
    """The outline about the middle of the section, and how far its widths and heights miss the readings.

    ``misses_mm`` (6,) are the outline's less the readings, in the order of NAMES: not zero only where a
    reading was taken on a corner and does not suit the corner's radius.
    """

    outline: Outline
    misses_mm: F64


def gauged_outline(readings: Gauged) -> GaugedOutline:
    """Return the outline that shows the readings again when it is gauged at the same places.

    Raises
    ------
    OutlineError
        If corner radii are longer than the side they share, or the readings make no section at all.

    Notes
    -----
    A width gauged within a corner's arc is not the wall's own. So the walls and the roof are sought, by
    least squares, whose outline with its corners cut has the readings; where no reading lies on a corner the
    readings are the sides' own and nothing is sought.
    """
    wanted = np.concatenate([readings.widths_mm, readings.heights_mm])
    if min(wanted) <= 0.0:
        raise OutlineError("a width or a height is not above zero")
    radii = np.array(  # anticlockwise, as the sides meet: right wall, roof, left wall, floor
        [readings.radii_mm.top_right, readings.radii_mm.top_left, readings.radii_mm.bottom_left,
         readings.radii_mm.bottom_right]
    )  # fmt: skip
    middle = wanted[[1, 4]]
    try:
        sides, misses = wanted, _misses(wanted, wanted, middle, radii)
        if np.abs(misses).max() > 1e-7 * middle.max():
            sides = _sought(wanted, middle, radii)
            misses = _misses(sides, wanted, middle, radii)
        _refuse_long(sides, middle, radii)
    except (ZeroDivisionError, np.linalg.LinAlgError) as error:
        raise OutlineError("these widths and heights make no section; gauge them again") from error
    points = _section(sides, middle, radii)
    if (np.ptp(points, axis=0) > MOST_SWING * np.array([wanted[:3].max(), wanted[3:].max()])).any():
        raise OutlineError("these widths and heights differ too much among themselves; gauge them again")
    step = np.hypot(*(points - np.roll(points, 1, axis=0)).T)
    return GaugedOutline(Outline.polygon(points[step > 1e-9 * middle.max()]), misses)


def _sought(wanted: F64, middle: F64, radii: F64) -> F64:
    """Return widths and heights of the sides before their corners are cut (Levenberg and Marquardt).

    Begun from straight sides and pulled back to them a little, so that readings which do not suit the corner
    radii are missed instead of chased.
    """
    sides = middle[[0, 0, 0, 1, 1, 1]]
    bend = STRAIGHT_PULL * np.kron(np.eye(2), [[1.0, -2.0, 1.0]])
    size = float(middle.max())

    def left_over(at: F64) -> F64:
        return np.concatenate([WEIGHTS * _misses(at, wanted, middle, radii), bend @ at])

    left, damping = left_over(sides), DAMPING
    for _ in range(FIT_ROUNDS):
        slopes = np.column_stack([(left_over(sides + FIT_STEP * size * unit) - left) for unit in np.eye(6)])
        slopes /= FIT_STEP * size
        while damping < 1.0 / DAMPING:
            change = np.linalg.solve(slopes.T @ slopes + damping * np.eye(6), -slopes.T @ left)
            tried = left_over(sides + change)
            if tried @ tried < left @ left:
                break
            damping *= 10.0
        else:
            return sides
        sides, left, damping = sides + change, tried, 0.1 * damping
        if float(np.abs(change).max()) < FIT_ENOUGH * size:
            break
    return sides


def _misses(sides: F64, wanted: F64, middle: F64, radii: F64) -> F64:
    """Return what the outline of these sides shows at the gauging places, less the readings (6,)."""
    points = _section(sides, middle, radii)
    quarter = len(points) // 4
    right, roof, left, floor = (np.roll(points, ARC_POINTS // 2, axis=0)[k * quarter :][:quarter] for k in range(4))
    v = (QUARTERS - 0.5) * middle[1]
    u = (QUARTERS - 0.5) * middle[0]
    wide = np.interp(v, right[:, 1], right[:, 0]) - np.interp(v, left[::-1, 1], left[::-1, 0])
    high = np.interp(u, roof[::-1, 0], roof[::-1, 1]) - np.interp(u, floor[:, 0], floor[:, 1])
    return np.concatenate([wide, high]) - wanted


def _section(sides: F64, middle: F64, radii: F64) -> F64:
    """Return the section (n, 2), anticlockwise from the right wall's foot: each side, then its corner's arc."""
    start, end, centres = _touches(sides, middle, radii)
    for k in range(4):
        if start[k] > end[k]:  # corners that share the whole side meet in its middle
            start[k] = end[k] = 0.5 * (start[k] + end[k])
    parts = []
    for k in range(4):
        after = (k + 1) % 4
        parts.append(_points(k, np.linspace(start[k], end[k], SIDE_POINTS), sides, middle))
        centre = np.array(centres[k])
        first = parts[-1][-1] - centre
        last = _points(after, np.array([start[after]]), sides, middle)[0] - centre
        sweep = np.arctan2(first[0] * last[1] - first[1] * last[0], float(first @ last))
        angle = np.arctan2(first[1], first[0]) + np.linspace(0.0, sweep, ARC_POINTS)
        parts.append(centre + radii[k] * np.column_stack([np.cos(angle), np.sin(angle)]))
    return np.vstack(parts)


def _points(k: int, t: F64, sides: F64, middle: F64) -> F64:
    """Return points (n, 2) of a side."""
    x, y, _, _ = _side(k, t, sides.tolist(), middle.tolist())
    return np.column_stack(np.broadcast_arrays(x, y))


def _touches(sides: F64, middle: F64, radii: F64) -> tuple[list[float], list[float], list[tuple[float, float]]]:
    """Return where each side starts and ends, by its own parameter, and the corners' centres.

    In plain numbers: arrays of two would spend all the time on being arrays.
    """
    shape, mid = sides.tolist(), middle.tolist()
    start = [-0.5 * mid[(k + 1) % 2] for k in range(4)]
    end = [-t for t in start]
    centres = [(0.0, 0.0)] * 4
    for _ in range(TOUCH_ROUNDS):
        most = 0.0
        for k, radius in enumerate(radii.tolist()):
            after = (k + 1) % 4
            ax, ay, atx, aty = _side(k, end[k], shape, mid)
            bx, by, btx, bty = _side(after, start[after], shape, mid)
            a, b = radius / math.hypot(atx, aty), radius / math.hypot(btx, bty)
            ax, ay, bx, by = ax - a * aty, ay + a * atx, bx - b * bty, by + b * btx  # both moved inwards
            cross = atx * bty - aty * btx
            s = ((bx - ax) * bty - (by - ay) * btx) / cross
            q = ((bx - ax) * aty - (by - ay) * atx) / cross
            end[k] += s
            start[after] += q
            centres[k] = (ax + s * atx, ay + s * aty)
            most = max(most, abs(s), abs(q))
        if most < 1e-12 * mid[1]:
            break
    return start, end, centres


def _side(k: int, t: Any, sides: list[float], middle: list[float]) -> tuple[Any, Any, Any, Any]:
    """Return place and tangent of a side, of one parameter or many: right wall up, roof to the left, left, floor."""
    if k == 3:
        return t, -0.5 * middle[1], 1.0, 0.0
    if k == 1:
        height, slope = _parabola(-t, sides[3:], middle[0])
        return -t, height - 0.5 * middle[1], -1.0, -slope
    sign = 1.0 if k == 0 else -1.0
    width, slope = _parabola(sign * t, sides[:3], middle[1])
    return 0.5 * sign * width, sign * t, 0.5 * slope, sign


def _parabola(at: Any, values: list[float], span: float) -> tuple[Any, Any]:
    """Return value and slope of the parabola through values a quarter of the span apart about 0."""
    w = at / (0.25 * span)
    bend, rise = values[0] - 2.0 * values[1] + values[2], values[2] - values[0]
    return values[1] + 0.5 * w * (rise + w * bend), (0.5 * rise + w * bend) / (0.25 * span)


def _refuse_long(sides: F64, middle: F64, radii: F64) -> None:
    start, end, _ = _touches(sides, middle, radii)
    names = ("right wall", "roof", "left wall", "floor")
    for k in range(4):
        over = start[k] - end[k]
        if over > OVERLAP * float(middle.max()):
            before, after = radii[k - 1], radii[k]
            raise OutlineError(
                f"corner radii {before:g} and {after:g} are longer than the {names[k]} they share; "
                f"together at most {before + after - over:.4g}"
            )
