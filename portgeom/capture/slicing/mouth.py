"""What is the section at a mouth, where a scan is seldom whole to its very edge?

The nearest whole section inside is taken and drawn on to the plane of the mouth as the wall runs between it and
one further in.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from portgeom.capture.slicing.cut import Plane
from portgeom.capture.slicing.index import MeshIndex
from portgeom.capture.slicing.section import Expected, GapLimits, NoSection, Section, section
from portgeom.capture.slicing.wall import wall_between_mm, wall_mm
from portgeom.geometry.arrays import F64
from portgeom.geometry.moments import polygon_moments, polygon_perimeter_mm

INSETS_MM = (0.0, 0.001, 0.01, 0.05, 0.1, 0.2, 0.3, 0.5, 0.75, 1.0, 1.25, 1.5, 1.75, 2.0, 2.5, 3.0, 3.5, 4.0)
"""How far inside a mouth a whole section is looked for."""

INSET_SHARE = 0.1
"""No further inside than this share of the diameter."""

SOUND_WITHIN = 0.1
"""At a mouth a section counts as whole when its area is within this share of the area further in."""

WHOLE_SHARE = 0.01
"""A ragged mouth is gone into until no more than this share of the loop is open."""

DRAWN_FROM_MM = 0.1
"""A section found nearer to the mouth than this is taken for it as it is."""

DEEPER = 2.0
"""How many times the inset apart the two sections are that say how the wall runs, so that noise does not grow."""

DEEPER_SHARE = 0.08
"""And no nearer together than this share of the diameter."""


@dataclass(frozen=True, slots=True)
class Mouth:
    """An end of the passage: its section, and how far inside the nearest whole section was found."""

    section: Section
    inset_mm: float


def mouth_at(index: MeshIndex, plane: Plane, limits: GapLimits, *, inward: float = 1.0, area_mm2: float = 0.0) -> Mouth:
    """Return the section at a mouth.

    Parameters
    ----------
    inward : float
        1 where the plane's normal points into the port, -1 where it points out.
    area_mm2 : float
        About the area there, if it is known; else that of a section further in.

    Raises
    ------
    NoSection
        If there is none.
    """
    reference = _further_in(index, plane, limits, inward, area_mm2)
    diameter = diameter_mm(reference)
    last: NoSection | None = None
    best: Mouth | None = None
    for inset in INSETS_MM:
        if inset > INSET_SHARE * diameter:
            break
        inside = plane.moved(inward * inset)
        expected = Expected(inside.flat_mm(reference.centroid_mm[None])[0], reference.loop.area_mm2)
        try:
            found = section(index, inside, expected, limits)
        except NoSection as error:
            last = error
            continue
        if abs(found.loop.area_mm2 / reference.loop.area_mm2 - 1.0) > SOUND_WITHIN:
            continue
        if best is None or found.loop.gap_mm < best.section.loop.gap_mm:
            best = Mouth(found, inset)
        if found.loop.gap_mm <= WHOLE_SHARE * found.loop.length_mm:
            break
    if best is None:
        why = f": {last.found}" if last is not None else ""
        raise NoSection(f"there is no whole section within {INSET_SHARE * diameter:.1f} mm of the mouth{why}")
    if best.inset_mm <= DRAWN_FROM_MM:
        return Mouth(best.section.carried(plane), best.inset_mm)
    apart = max(DEEPER * best.inset_mm, DEEPER_SHARE * diameter)
    deeper = plane.moved(inward * (best.inset_mm + apart))
    try:
        further = section(index, deeper, Expected(best.section.loop.centroid_mm, best.section.loop.area_mm2), limits)
    except NoSection:
        return Mouth(best.section.carried(plane), best.inset_mm)
    return Mouth(_drawn_on(best.section, further, plane, best.inset_mm / apart), best.inset_mm)


def diameter_mm(found: Section) -> float:
    """Return the diameter of a circle of a section's area."""
    return 2.0 * float(np.sqrt(found.loop.area_mm2 / np.pi))


def _further_in(index: MeshIndex, plane: Plane, limits: GapLimits, inward: float, area: float) -> Section:
    """Return a section a little inside a mouth, whose area the mouth's own is held against."""
    if area > 0.0:
        steps = np.array([0.04, 0.08, 0.14, 0.2]) * 2.0 * np.sqrt(area / np.pi)
    else:
        steps = np.array([0.004, 0.008, 0.015, 0.03]) * index.size_mm
    last: NoSection | None = None
    for step in steps:
        try:
            return section(index, plane.moved(inward * float(step)), Expected(np.zeros(2), area), limits)
        except NoSection as error:
            last = error
    assert last is not None
    raise last


def _drawn_on(near: Section, further: Section, plane: Plane, share: float) -> Section:
    """Return the section where the wall from ``further`` to ``near`` comes to when drawn on by ``share`` of that way.

    Middle and wall go on in a straight line, the wall in each direction by itself.
    """
    here, there = near.loop.centroid_mm, further.loop.centroid_mm
    off = near.loop.points_mm - here
    wall = wall_mm(off)
    on = wall + share * (wall - wall_mm(further.loop.points_mm - there))
    ratio: F64 = wall_between_mm(on, off) / wall_between_mm(wall, off)
    middle = here + share * (here - there)
    points = middle + off * ratio[:, None]
    moments = polygon_moments(points)
    area = float(moments.area_mm2)
    loop = replace(
        near.loop,
        points_mm=points,
        area_mm2=area,
        centroid_mm=moments.first_mm3 / area,
        length_mm=float(polygon_perimeter_mm(points)),
    )
    return replace(near, plane=plane, loop=loop)
