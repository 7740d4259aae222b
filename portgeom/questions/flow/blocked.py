"""How much of each section do the valve's stem and the guide's boss stand in?"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from portgeom.geometry.arrays import F64, Int, frozen
from portgeom.geometry.surface import Surface
from portgeom.job.values import Valve
from portgeom.model.lofted import LoftedPort

SIDES = 129
"""Points along the cut through a rod: its area is within 0.02 percent."""

LEVEL = 1e-12
"""A slope as small as this is none."""

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
    import shapely

    points = np.ascontiguousarray(surface.points_mm)
    for rod in rods:
        cuts = rod_sections(surface, rod)
        sections = shapely.polygons(points[cuts.slab])
        crossed = np.flatnonzero(~shapely.is_valid(sections))
        sections[crossed] = shapely.buffer(sections[crossed], 0.0)
        taken[cuts.slab] += shapely.area(shapely.intersection(sections, shapely.polygons(cuts.points_mm)))
    return taken * (surface.flow_area_mm2 / surface.area_mm2)


@dataclass(frozen=True, slots=True)
class RodSections:
    """Where a rod cuts section planes: slabs (k,), and the cuts (k, n, 2) in points of their planes."""

    slab: Int
    points_mm: F64


def rod_sections(surface: Surface, rod: Rod) -> RodSections:
    """Return where a rod cuts the planes of slabs.

    Along the rod's own direction in the plane a point is x, across it y. Its distance from the rod's axis is
    then hypot(k + c x, y - y0), with c the cosine between axis and normal, and its place along the rod t0 + m x.
    """
    planes = surface.chart.planes
    away = planes.origin_mm - rod.start_mm
    lean = np.column_stack([planes.right @ rod.axis, planes.up @ rod.axis])
    m, c = np.linalg.norm(lean, axis=1), np.abs(planes.normal @ rod.axis)
    leans = m[:, None] > 0.0
    along = np.divide(lean, m[:, None], out=np.tile([1.0, 0.0], (len(m), 1)), where=leans)
    aside = np.column_stack([-along[:, 1], along[:, 0]])
    along_3d, aside_3d = (way[:, :1] * planes.right + way[:, 1:] * planes.up for way in (along, aside))
    third = np.cross(aside_3d, rod.axis)
    third /= np.copysign(np.linalg.norm(third, axis=1), np.vecdot(third, along_3d))[:, None]
    k, y0, t0 = np.vecdot(away, third), -np.vecdot(away, aside_3d), away @ rod.axis
    radius = 0.5 * rod.diameter_mm
    (inside, past), (start, end) = _between(k, c, -radius, radius), _between(t0, m, 0.0, rod.length_mm)
    low, high = np.maximum(inside, start), np.minimum(past, end)
    slab = np.flatnonzero((low < high) & np.isfinite(low) & np.isfinite(high))
    low, high, k, c, y0 = (x[slab, None] for x in (low, high, k, c, y0))
    x = 0.5 * (low + high) - 0.5 * (high - low) * np.cos(np.linspace(0.0, np.pi, SIDES))
    half = np.sqrt(np.maximum(0.0, radius**2 - (k + c * x) ** 2))
    x, y = np.concatenate([x, x[:, ::-1]], axis=1), np.concatenate([y0 - half, (y0 + half)[:, ::-1]], axis=1)
    return RodSections(slab, x[..., None] * along[slab, None] + y[..., None] * aside[slab, None])


def _between(start: F64, slope: F64, low: float, high: float) -> F64:
    """Return from where to where (2, m) x may go for ``start + slope x`` to lie between two values.

    Slopes are never negative; where one is nothing x may be anything, or nothing if the start lies outside.
    """
    level = slope <= LEVEL
    anywhere = np.where((low <= start) & (start <= high), np.inf, -np.inf)
    rise = np.where(level, 1.0, slope)
    return np.where(level, [-anywhere, anywhere], [(low - start) / rise, (high - start) / rise])
