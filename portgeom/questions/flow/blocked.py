"""How much of each section do the valve's stem and the guide's boss stand in?"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from portgeom.geometry.arrays import F64, frozen
from portgeom.geometry.surface import Surface
from portgeom.job.values import Valve
from portgeom.model.lofted import LoftedPort

if TYPE_CHECKING:
    from shapely import Polygon

SIDES = 129
"""Points along the cut through a rod: its area is within 0.02 percent."""

REACH = 4.0
"""How far a stem is followed either way, in diameters of the throat."""


@dataclass(frozen=True, slots=True)
class Rod:
    """A round bar in the head frame, from ``start_mm`` (3,) along a unit ``axis`` (3,)."""

    start_mm: F64
    axis: F64
    length_mm: float
    diameter_mm: float


@dataclass(frozen=True, slots=True)
class Blocked:
    """What stands in the passage.

    Attributes
    ----------
    area_mm2 : (m,) float
        At every slab, square to the flow like the flow area it is to be taken from.
    stem, boss : bool
        Whether each was counted.
    assumed : bool
        Whether the stem's place was guessed as the throat's own axis, since the job gives no guide.
    """

    area_mm2: F64
    stem: bool
    boss: bool
    assumed: bool


def blocked(port: LoftedPort, surface: Surface, valve: Valve | None) -> Blocked:
    """Return what stem and guide boss take of every section; nothing where the job gives neither.

    Only what lies inside a section counts, so a boss that the section was measured round is not taken twice.
    """
    guide = port.port.guide
    rods: list[Rod] = []
    if guide is not None:
        run = guide.axis_mm[1] - guide.axis_mm[0]
        axis = run / np.linalg.norm(run)
        rods.append(Rod(guide.axis_mm[0], axis, guide.length_mm, guide.boss_diameter_mm))
        if valve is not None:
            end = guide.axis_mm[0] + guide.length_mm * axis
            rods.append(Rod(end, axis, 2.0 * REACH * valve.throat_diameter_mm, valve.stem_diameter_mm))
    elif valve is not None:
        rods.append(_on_throat_axis(port, surface, valve))
    return Blocked(
        area_mm2=frozen(_taken_mm2(surface, rods)),
        stem=valve is not None,
        boss=guide is not None,
        assumed=guide is None and valve is not None,
    )


def _on_throat_axis(port: LoftedPort, surface: Surface, valve: Valve) -> Rod:
    planes, slab = port.chart.planes, port.chart.slab_at(port.throat_mm)
    u, v = surface.centroid_mm[slab]
    middle = planes.origin_mm[slab] + u * planes.right[slab] + v * planes.up[slab]
    axis, reach = planes.normal[slab], REACH * valve.throat_diameter_mm
    return Rod(middle - reach * axis, axis, 2.0 * reach, valve.stem_diameter_mm)


def _taken_mm2(surface: Surface, rods: Sequence[Rod]) -> F64:
    taken = np.zeros(len(surface.area_mm2))
    if not rods:
        return taken
    from shapely import Polygon

    points = surface.points_mm
    square = surface.flow_area_mm2 / surface.area_mm2
    for slab in range(len(taken)):
        cuts = [cut for rod in rods if (cut := rod_section(surface, slab, rod)) is not None]
        if cuts:
            section = _sound(Polygon(points[slab]))
            taken[slab] = square[slab] * sum(section.intersection(Polygon(cut)).area for cut in cuts)
    return taken


def _sound(polygon: Polygon) -> Polygon:
    return polygon if polygon.is_valid else polygon.buffer(0.0)


def rod_section(surface: Surface, slab: int, rod: Rod) -> F64 | None:
    """Return where a rod cuts the plane of a slab, as points (k, 2) of the section plane, or None where it does not.

    Along the rod's own direction in the plane a point is x, across it y. Its distance from the rod's axis is
    then hypot(k + c x, y - y0), with c the cosine between axis and normal, and its place along the rod t0 + m x.
    """
    planes = surface.chart.planes
    right, up, normal = planes.right[slab], planes.up[slab], planes.normal[slab]
    away = planes.origin_mm[slab] - rod.start_mm
    lean = np.array([right @ rod.axis, up @ rod.axis])
    m, c = float(np.linalg.norm(lean)), abs(float(normal @ rod.axis))
    along = lean / m if m > 0.0 else np.array([1.0, 0.0])
    aside = np.array([-along[1], along[0]])
    aside_3d = aside[0] * right + aside[1] * up
    along_3d = along[0] * right + along[1] * up
    third = np.cross(aside_3d, rod.axis)
    third /= np.linalg.norm(third)
    if third @ along_3d < 0.0:
        third = -third
    k, y0, t0 = float(away @ third), -float(away @ aside_3d), float(away @ rod.axis)
    radius = 0.5 * rod.diameter_mm
    low, high = _between(k, c, -radius, radius)
    first, last = _between(t0, m, 0.0, rod.length_mm)
    low, high = max(low, first), min(high, last)
    if not low < high or not np.isfinite(low) or not np.isfinite(high):
        return None
    x = 0.5 * (low + high) - 0.5 * (high - low) * np.cos(np.linspace(0.0, np.pi, SIDES))
    half = np.sqrt(np.maximum(0.0, radius**2 - (k + c * x) ** 2))
    there = np.outer(x, along) + np.outer(y0 - half, aside)
    back = (np.outer(x, along) + np.outer(y0 + half, aside))[::-1]
    return np.concatenate([there, back])


def _between(start: float, slope: float, low: float, high: float) -> tuple[float, float]:
    """Return the range of x in which ``start + slope x`` lies between two values; slopes are never negative."""
    if slope <= 1e-12:
        return (-np.inf, np.inf) if low <= start <= high else (np.inf, -np.inf)
    return (low - start) / slope, (high - start) / slope
