"""What outline does a section become: with few points, none of them far from the wall, and sound?"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from portgeom.capture.slicing.section import NoSection
from portgeom.geometry.arrays import F64
from portgeom.geometry.moments import polygon_moments
from portgeom.geometry.outline import Outline, OutlineError

STEP_MM = 0.0001
"""Points are given to a ten-thousandth of a millimetre."""

MOST_POINTS = 5000
MOST_MENDED = 0.005
"""Area that untangling may change, as a share of the section."""


@dataclass(frozen=True, slots=True)
class Traced:
    """An outline, how far at most its points were thinned, and what untangling changed of its area."""

    outline: Outline
    within_mm: float
    untangled_mm2: float


def traced(points_mm: F64, within_mm: float) -> Traced:
    """Return the outline of a loop (n, 2), anticlockwise, with points left out that are not needed.

    No point left out is further than ``within_mm`` from the outline. Where noise makes the loop cross itself the
    small loops are cut off. It starts at the corner nearest to straight right of the middle.

    Raises
    ------
    NoSection
        If untangling changes more than half a percent of the area, or too many points are needed.
    """
    import shapely

    ring = shapely.Polygon(points_mm)
    before = float(ring.area)
    untangled = 0.0
    if not ring.is_valid:
        ring = _largest(shapely.make_valid(ring))
        untangled = abs(float(ring.area) - float(polygon_moments(points_mm).area_mm2))
    thin = _largest(ring.simplify(within_mm, preserve_topology=True))
    if untangled > MOST_MENDED * before:
        raise NoSection(f"its loop crosses itself; untangling it would change {untangled:.2f} mm2")
    points = np.array(thin.exterior.coords)[:-1]
    if not thin.exterior.is_ccw:
        points = points[::-1]
    points = STEP_MM * np.round(points / STEP_MM)
    points = points[(points != np.roll(points, 1, axis=0)).any(axis=1)]
    if len(points) > MOST_POINTS:
        raise NoSection(f"its outline needs {len(points)} points; give a larger error")
    middle = polygon_moments(points)
    off = points - middle.first_mm3 / middle.area_mm2
    start = int(np.argmin(np.abs(np.arctan2(off[:, 1], off[:, 0]))))
    try:
        return Traced(Outline.polygon(np.roll(points, -start, axis=0)), within_mm, untangled)
    except OutlineError as error:
        raise NoSection(f"its outline {error}") from error


def _largest(shape: Any) -> Any:
    """Return the polygon of a shape that has most of the area, without its holes."""
    import shapely

    parts = [p for p in getattr(shape, "geoms", [shape]) if p.geom_type in ("Polygon", "MultiPolygon")]
    parts = [q for p in parts for q in getattr(p, "geoms", [p])]
    if not parts:
        raise NoSection("its loop holds no area")
    return shapely.Polygon(max(parts, key=lambda p: p.area).exterior)
