"""What outline does a measured shape have: circle, ellipse, radiused rectangle, obround?

Every shape is centred on (0, 0) and measured in closed form, and drawn as a polygon with its corners on the curve.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from portgeom.geometry.arrays import F64
from portgeom.geometry.outline import Outline, OutlineError

CURVE_POINTS = 480
"""Points once round a curved shape: on a 50 mm circle the chords stay within 0.0006 mm of the arc.

The measures do not depend on it: they are closed forms."""

ARC_POINTS = 61
"""Points on a corner's quarter circle: on a 10 mm radius the chords stay within 0.0009 mm."""


ROOT_OF_ROUNDING = 1e-8
"""Where a quadratically convergent mean may stop: its next step is below the rounding of a double."""


@dataclass(frozen=True, slots=True)
class CornerRadii:
    """Corner radii of a rectangle in mm: top left, top right, bottom right, bottom left, looking in."""

    top_left: float
    top_right: float
    bottom_right: float
    bottom_left: float


def circle(diameter_mm: float) -> Outline:
    """Return a circle about (0, 0)."""
    return ellipse(diameter_mm, diameter_mm)


def ellipse(width_mm: float, height_mm: float) -> Outline:
    """Return an ellipse about (0, 0) with its axes along u and v.

    The perimeter is the complete elliptic integral of the second kind by the arithmetic-geometric mean
    (NIST Digital Library of Mathematical Functions, 19.8.6), to full double precision.
    """
    _require_positive(width=width_mm, height=height_mm)
    angle = _whole_turn()
    a, b = 0.5 * width_mm, 0.5 * height_mm
    points = np.column_stack([a * np.cos(angle), b * np.sin(angle)])
    return Outline.curve(points, area_mm2=math.pi * a * b, perimeter_mm=_ellipse_perimeter_mm(a, b))


def rectangle(width_mm: float, height_mm: float, radii_mm: CornerRadii) -> Outline:
    """Return a rectangle about (0, 0) with its own radius on each corner.

    Raises
    ------
    OutlineError
        If two radii together are longer than the side they share.
    """
    _require_positive(width=width_mm, height=height_mm)
    r = radii_mm
    for side, length, first, second in (
        ("top", width_mm, r.top_left, r.top_right),
        ("bottom", width_mm, r.bottom_left, r.bottom_right),
        ("left side", height_mm, r.top_left, r.bottom_left),
        ("right side", height_mm, r.top_right, r.bottom_right),
    ):
        if min(first, second) < 0.0:
            raise OutlineError(f"corner radius {min(first, second):g} is negative; 0 is a sharp corner")
        if first + second > length * (1.0 + 1e-12):
            raise OutlineError(
                f"corner radii {first:g} and {second:g} are longer than the {side}, {length:g}; "
                f"together at most {length:g}"
            )
    half_w, half_h = 0.5 * width_mm, 0.5 * height_mm
    corners = (  # anticlockwise from the right wall's top corner: signs of the corner, radius, start
        (1.0, 1.0, r.top_right, 0.0),
        (-1.0, 1.0, r.top_left, 0.5 * math.pi),
        (-1.0, -1.0, r.bottom_left, math.pi),
        (1.0, -1.0, r.bottom_right, 1.5 * math.pi),
    )
    pieces, area, perimeter = [], width_mm * height_mm, 2.0 * (width_mm + height_mm)
    moment = np.zeros(2)
    for sign_u, sign_v, radius, start in corners:
        centre = np.array([sign_u * (half_w - radius), sign_v * (half_h - radius)])
        pieces.append(_arc(centre, radius, start))
        # the spandrel that the radius takes off a sharp corner: area (1 - pi/4) r2, and its centroid
        # at (10 - 3 pi) / (12 - 3 pi) r from both sides (Machinery's Handbook, 31st ed., p. 80)
        lost = (1.0 - 0.25 * math.pi) * radius * radius
        inset = radius * (10.0 - 3.0 * math.pi) / (12.0 - 3.0 * math.pi)
        area -= lost
        perimeter -= (2.0 - 0.5 * math.pi) * radius
        moment -= lost * np.array([sign_u * (half_w - inset), sign_v * (half_h - inset)])
    points = _without_repeats(np.vstack(pieces))
    return Outline.curve(points, area_mm2=area, perimeter_mm=perimeter, centroid_mm=moment / area)


def obround(width_mm: float, height_mm: float) -> Outline:
    """Return two half circles joined by straight sides; a circle when width and height are equal."""
    _require_positive(width=width_mm, height=height_mm)
    radius = 0.5 * min(width_mm, height_mm)
    return rectangle(width_mm, height_mm, CornerRadii(radius, radius, radius, radius))


def _whole_turn() -> F64:
    return np.linspace(0.0, 2.0 * math.pi, CURVE_POINTS, endpoint=False)


def _arc(centre: F64, radius: float, start: float) -> F64:
    if radius == 0.0:
        return centre[None, :]
    angle = start + np.linspace(0.0, 0.5 * math.pi, ARC_POINTS)
    return centre + radius * np.column_stack([np.cos(angle), np.sin(angle)])


def _without_repeats(points: F64) -> F64:
    """Return the points without neighbours that fall together where a side has no straight part."""
    step = np.hypot(*(points - np.roll(points, 1, axis=0)).T)
    return points[step > 1e-9 * np.ptp(points)]


def _ellipse_perimeter_mm(a: float, b: float) -> float:
    """Return the perimeter of an ellipse by Gauss's arithmetic-geometric mean."""
    larger, smaller = max(a, b), min(a, b)
    mean, root = larger, smaller
    total, power = 0.5 * (larger * larger - smaller * smaller), 1.0
    squares = larger * larger - total
    gap = mean
    while gap > ROOT_OF_ROUNDING * mean:  # each gap is of the order of the square of the one before
        gap = 0.5 * (mean - root)
        mean, root = 0.5 * (mean + root), math.sqrt(mean * root)
        squares -= power * gap * gap
        power *= 2.0
    return 2.0 * math.pi * squares / mean


def _require_positive(**lengths: float) -> None:
    for name, value in lengths.items():
        if not (math.isfinite(value) and value > 0.0):
            raise OutlineError(f"{name} {value:g} is not above zero")
