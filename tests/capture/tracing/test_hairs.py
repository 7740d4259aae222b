"""Hairs and scratches across an edge are cut off and handed back; a plain edge is not touched."""

from __future__ import annotations

import numpy as np
import shapely

from portgeom.capture.tracing.hairs import without_hairs
from portgeom.geometry.arrays import F64


def square(side: float) -> F64:
    return 0.5 * side * np.array([[-1.0, -1.0], [1.0, -1.0], [1.0, 1.0], [-1.0, 1.0]])


def ring_of(polygon: shapely.Polygon) -> F64:
    return np.asarray(shapely.geometry.polygon.orient(polygon).exterior.coords)[:-1]


def test_hairs_and_scratches_are_cut_off_at_their_foot() -> None:
    whole = shapely.Polygon(square(30.0))
    spiked = whole.union(shapely.box(10.0, -0.1, 22.0, 0.1)).difference(shapely.box(-15.5, 3.0, -9.0, 3.3))
    found = without_hairs(ring_of(spiked))
    assert len(found.hairs_mm) == 2
    assert shapely.Polygon(found.points_mm).symmetric_difference(whole).area < 0.2


def test_an_edge_without_hairs_comes_back_untouched() -> None:
    points = ring_of(shapely.Polygon(square(30.0)).union(shapely.Point(15.0, 0.0).buffer(4.0)))
    assert without_hairs(points).points_mm is points
