"""Does a hair or a scratch lie across the edge of a slice, and how does the edge run without it?

No wall of a mould is a spike thinner than six tenths of a millimetre. Where the traced edge runs out along one, or in,
it is cut off at its foot, and every such repair is handed back to be told and drawn.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from portgeom.geometry.arrays import F64

if TYPE_CHECKING:
    from shapely import Polygon
    from shapely.geometry.base import BaseGeometry

HALF_WIDTH_MM = 0.3
"""Half the width of the widest hair."""

FOOT_MM = 0.02
"""How far off the rounded edge a piece must come to be more than a rounded corner."""

REACH_MM = 0.6


@dataclass(frozen=True, slots=True)
class Cleaned:
    """An edge (n, 2) without hairs, and where each hair (m, 2) was."""

    points_mm: F64
    hairs_mm: tuple[F64, ...]


def without_hairs(points_mm: F64) -> Cleaned:
    """Return an edge without hairs; the very same points where there are none."""
    import shapely

    whole = shapely.Polygon(points_mm)
    if not whole.is_valid:
        whole = _largest(whole.buffer(0.0))
    # opening breaks off what sticks out, closing fills what cuts in
    opened = whole.buffer(-HALF_WIDTH_MM).buffer(HALF_WIDTH_MM + FOOT_MM)
    spikes = _hairs(whole.difference(opened), _largest(opened))
    for spike in spikes:
        whole = _largest(whole.difference(spike.buffer(FOOT_MM)))
    closed = whole.buffer(HALF_WIDTH_MM).buffer(-HALF_WIDTH_MM - FOOT_MM)
    notches = _hairs(closed.difference(whole), _largest(closed).exterior)
    for notch in notches:
        whole = _largest(whole.union(notch.buffer(FOOT_MM)))
    if not spikes and not notches:
        return Cleaned(points_mm, ())
    return Cleaned(_ring(whole), tuple(_ring(h) for h in (*spikes, *notches)))


def _hairs(pieces: BaseGeometry, edge: BaseGeometry) -> list[Polygon]:
    import shapely

    found = []
    for piece in getattr(pieces, "geoms", [pieces]):
        if not isinstance(piece, shapely.Polygon) or piece.is_empty:
            continue
        left, low, right, high = piece.bounds
        if max(right - left, high - low) < REACH_MM:
            continue
        ring = shapely.points(np.asarray(piece.exterior.coords))
        if float(shapely.distance(ring, edge).max()) < REACH_MM:
            continue
        found.append(piece)
    return found


def _largest(shape: BaseGeometry) -> Polygon:
    return max(getattr(shape, "geoms", [shape]), key=lambda g: g.area)


def _ring(polygon: Polygon) -> F64:
    import shapely

    upright = shapely.geometry.polygon.orient(polygon)
    return np.asarray(upright.exterior.coords)[:-1]
