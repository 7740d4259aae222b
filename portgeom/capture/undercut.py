"""How much of an outline lies behind its own wall, and what is left when that is cut off?

A surface through sections is drawn along rays from each section's middle to the first wall met, so a job refuses a
section of which more than a trifle lies behind that wall. Where a slice or a scan has a pocket under a lip, the pocket
is cut off along the rays that pass the lip, and told.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from portgeom.capture.clock import clock_words
from portgeom.geometry.arrays import F64, frozen
from portgeom.geometry.moments import polygon_moments
from portgeom.geometry.outline import Outline
from portgeom.geometry.rays import SPINE_HALF, Rays, Reading, read_outlines
from portgeom.geometry.surface import HIDDEN_SHARE

RAYS = 256
"""As many as a job's surface has, so that the two agree on what is hidden."""

FINE_RAYS = 2048
THIN_MM = 0.01
LEAST_SHARE = 1e-4
"""Slivers between rays, thinner than twice this, and corners between them, less than this share of the area, are no
pockets."""

GRID_MM = 0.001
"""What is cut is given to a micron, so that writing it in tenths of one makes no crossing."""

MOST_SHARE = 0.1
"""With more than this hidden the section is no pocket under a lip, but a wrong plane or a wrong shape."""

CLEAR_SHARE = 0.02
"""How far the middle keeps from the wall, as a share of the width."""

CUT_OFF = "cut off and not counted: a job holds what is seen from a section's middle; tilt the plane to see it all"

ROUNDS = 4
"""Cutting a pocket off may move the middle, from which another is hidden."""


@dataclass(frozen=True, slots=True)
class Open:
    """An outline that is seen whole from its middle.

    Attributes
    ----------
    outline : Outline
        What was given, where nothing of it was hidden.
    pockets_mm : tuple of (n, 2) float
        What was cut off.
    cut_mm2 : float
        The area of it.
    """

    outline: Outline
    pockets_mm: tuple[F64, ...]
    cut_mm2: float

    @property
    def found(self) -> str:
        """Return in words what was hidden and where; empty where nothing was."""
        if not self.pockets_mm:
            return ""
        largest = max(self.pockets_mm, key=lambda p: abs(float(polygon_moments(p).area_mm2)))
        where = clock_words(largest.mean(axis=0) - self.outline.centroid_mm)
        share = 100.0 * self.cut_mm2 / (self.outline.area_mm2 + self.cut_mm2)
        return f"{share:.1f} percent of it, {self.cut_mm2:.1f} mm2 at {where}, lies behind its own wall"


class Hidden(Exception):  # noqa: N818 - an answer about one outline, not a failure of the program
    """An outline that no cutting off of pockets would open. ``found`` says why."""

    def __init__(self, found: str) -> None:
        self.found = found
        super().__init__(found)


def opened(outline: Outline) -> Open:
    """Return an outline without what lies behind its own wall.

    Raises
    ------
    Hidden
        If its middle is not inside it, or more than ``MOST_SHARE`` of it is hidden.
    """
    pockets: list[F64] = []
    now = outline
    for _ in range(ROUNDS):
        reading = _read(now, RAYS)
        if not (reading.inside[0] and _holds_spine(now)):
            raise Hidden("its middle lies outside it")
        if reading.hidden_mm2[0] <= HIDDEN_SHARE * now.area_mm2:
            return Open(now, tuple(pockets), outline.area_mm2 - now.area_mm2)
        if outline.area_mm2 - now.area_mm2 + reading.hidden_mm2[0] > MOST_SHARE * outline.area_mm2:
            break
        now, more = _without_pockets(now)
        pockets += more
    share = 100.0 * (1.0 - (now.area_mm2 - float(_read(now, RAYS).hidden_mm2[0])) / outline.area_mm2)
    raise Hidden(f"{share:.0f} percent of it lies behind its own wall")


def _holds_spine(outline: Outline) -> bool:
    """Return whether the segment that rays leave from lies inside, and not just."""
    import shapely

    (left, low), (right, high) = outline.low_mm, outline.high_mm
    u, v, half = 0.5 * (left + right), 0.5 * (low + high), SPINE_HALF * (right - left)
    spine = shapely.LineString([(u - half, v), (u + half, v)])
    whole = shapely.Polygon(outline.points_mm)
    return bool(whole.contains(spine) and whole.exterior.distance(spine) > CLEAR_SHARE * (right - left))


def _read(outline: Outline, rays: int) -> Reading:
    """Return how far the outline is along rays from its own spine, as a job would have it."""
    low, high = outline.low_mm, outline.high_mm
    centre, half = 0.5 * (low + high), SPINE_HALF * (high[0] - low[0])
    fan = Rays.count(rays, tall=float((high - low)[1] / (high - low)[0]))
    return read_outlines(fan, outline.points_mm[None], centre[None], np.array([half]))


def _without_pockets(outline: Outline) -> tuple[Outline, list[F64]]:
    import shapely

    low, high = outline.low_mm, outline.high_mm
    centre, half = 0.5 * (low + high), np.array(SPINE_HALF * (high[0] - low[0]))
    fan = Rays.count(FINE_RAYS, tall=float((high - low)[1] / (high - low)[0]))
    reading = read_outlines(fan, outline.points_mm[None], centre[None], half[None])
    whole = shapely.Polygon(outline.points_mm)
    seen = shapely.make_valid(shapely.Polygon(fan.tips_mm(centre, half, reading.rho_mm[0])))
    # thinner and thicker again: what is left are pockets, without the slivers between rays
    thick = whole.difference(seen).buffer(-THIN_MM, join_style="mitre").buffer(THIN_MM, join_style="mitre")
    parts = [p for p in getattr(thick, "geoms", [thick]) if p.area >= LEAST_SHARE * whole.area]
    left = shapely.set_precision(whole.difference(shapely.union_all(parts)), GRID_MM)
    kept = max(getattr(left, "geoms", [left]), key=lambda p: float(p.area))
    gone = whole.difference(kept)
    least = 0.1 * LEAST_SHARE * whole.area  # what rounding leaves is no pocket either
    pockets = [p for p in getattr(gone, "geoms", [gone]) if p.geom_type == "Polygon" and p.area >= least]
    points = shapely.get_coordinates(shapely.Polygon(kept.exterior).normalize().exterior)[:-1]
    ring = points if shapely.is_ccw(shapely.LinearRing(points)) else points[::-1]
    return Outline.polygon(ring), [frozen(shapely.get_coordinates(p.exterior)[:-1]) for p in pockets]
