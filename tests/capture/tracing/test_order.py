"""Which slice is which: in reading order, or by the marks beside it."""

from __future__ import annotations

import numpy as np
import pytest
import shapely

from portgeom.capture.images.unsure import Unsure
from portgeom.capture.tracing.order import Marks, marks_beside, reading_order
from portgeom.geometry.arrays import F64


def square(side: float) -> F64:
    return 0.5 * side * np.array([[-1.0, -1.0], [1.0, -1.0], [1.0, 1.0], [-1.0, 1.0]])


def dense(points: F64) -> F64:
    return ring_of(shapely.segmentize(shapely.Polygon(points), 0.05))


def ring_of(polygon: shapely.Polygon) -> F64:
    return np.asarray(shapely.geometry.polygon.orient(polygon).exterior.coords)[:-1]


def test_one_slice_is_in_reading_order() -> None:
    assert reading_order(np.array([[5.0, 5.0]]), np.array([3.0])) == [0]


def test_marks_go_to_the_slice_they_are_near_and_far_ones_to_none() -> None:
    edges = [dense(square(20.0)), dense(square(20.0) + [40.0, 0.0])]
    places = np.array([[0.0, 13.0], [40.0, 13.0], [44.0, 13.0], [0.0, 60.0]])
    first, second = marks_beside(edges, places, [False, True, False, False])
    assert (first.tally, second.tally) == (1, 6)
    assert second.places_mm == pytest.approx(places[1:3])


def test_a_mark_between_two_slices_is_refused() -> None:
    with pytest.raises(Unsure, match=r"a mark lies 10\.0 mm from one slice and 10\.0 mm from another"):
        marks_beside([dense(square(20.0)), dense(square(20.0) + [40.0, 0.0])], np.array([[20.0, 0.0]]), [False])


def test_no_marks_spell_nothing() -> None:
    assert Marks(np.empty((0, 2)), ()).tally == 0
