"""What is open through several outlines together, and through any of them?"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from portgeom.geometry.arrays import F64, frozen


def overlap(one_mm: F64, other_mm: F64) -> bool:
    """Return whether two outlines (n, 2) have a point in common."""
    import shapely

    return bool(shapely.intersects(shapely.Polygon(one_mm), shapely.Polygon(other_mm)))


def joined(outlines_mm: Sequence[F64]) -> F64:
    """Return the outer edge (n, 2) of all outlines together."""
    import shapely

    return _ring(shapely.union_all([shapely.Polygon(o) for o in outlines_mm]))


def shared(outlines_mm: Sequence[F64]) -> F64:
    """Return what lies inside every outline; no points where nothing does."""
    import shapely

    return _ring(shapely.intersection_all([shapely.Polygon(o) for o in outlines_mm]))


def _ring(shape: object) -> F64:
    """Return the outer edge of the largest piece, anticlockwise, without a repeated end."""
    import shapely
    from shapely.geometry.polygon import orient

    pieces = [p for p in shapely.get_parts(shape) if p.geom_type == "Polygon"]
    if not pieces:
        return frozen(np.empty((0, 2)))
    largest = orient(max(pieces, key=lambda p: p.area))
    return frozen(shapely.get_coordinates(largest.exterior)[:-1])


def area_mm2(points_mm: F64) -> float:
    """Return the area inside an outline (n, 2); 0 where there is none."""
    from portgeom.geometry.moments import polygon_moments

    return float(polygon_moments(points_mm).area_mm2) if len(points_mm) else 0.0
