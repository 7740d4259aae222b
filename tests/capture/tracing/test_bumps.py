"""Specks on an edge are pointed out, corners and round walls are not."""

from __future__ import annotations

import numpy as np
import pytest
import shapely

from portgeom.capture.tracing.bumps import bumps
from portgeom.geometry.arrays import F64


def circle(radius: float, count: int = 3000) -> F64:
    angle = np.linspace(0.0, 2.0 * np.pi, count, endpoint=False)
    return radius * np.column_stack([np.cos(angle), np.sin(angle)])


def square(side: float) -> F64:
    return 0.5 * side * np.array([[-1.0, -1.0], [1.0, -1.0], [1.0, 1.0], [-1.0, 1.0]])


def ring_of(polygon: shapely.Polygon) -> F64:
    return np.asarray(shapely.geometry.polygon.orient(polygon).exterior.coords)[:-1]


def test_a_speck_is_a_bump_a_bite_a_nick_and_a_corner_neither() -> None:
    whole = shapely.Polygon(square(30.0))
    speck, bite = shapely.Point(5.0, 15.0).buffer(0.25), shapely.Point(-15.0, 4.0).buffer(0.3)
    found = bumps(ring_of(whole.union(speck).difference(bite)))
    assert len(found) == 2
    nick, bump = found
    assert nick.place_mm == pytest.approx([-14.7, 4.0], abs=0.15)
    assert bump.place_mm == pytest.approx([5.0, 15.25], abs=0.15)
    assert nick.height_mm == pytest.approx(-0.3, abs=0.08)
    assert bump.height_mm == pytest.approx(0.25, abs=0.08)


@pytest.mark.parametrize("radius", [3.0, 12.0])
def test_a_round_edge_has_no_bumps(radius: float) -> None:
    assert bumps(circle(radius)) == ()
