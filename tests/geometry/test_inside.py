"""Which points lie in a passage, on a straight tube and round a bend."""

from __future__ import annotations

import numpy as np
import pytest

from portgeom.geometry.chart import lay_chart
from portgeom.geometry.inside import inside_passage
from portgeom.geometry.path import Path
from portgeom.geometry.shapes import circle
from portgeom.geometry.surface import Surface, loft

RADIUS, BEND = 15.0, 40.0


@pytest.fixture(scope="module")
def bend() -> Surface:
    """A tube of radius 15 turned down a quarter of a circle of radius 40 about (y 0, z -40)."""
    pitch = np.linspace(0.0, 90.0, 7)
    path = Path.from_angles(np.radians(pitch) * BEND, pitch, np.zeros(7), np.zeros(7))
    outlines = [circle(2.0 * RADIUS)] * 7
    return loft(lay_chart(path, outlines), path.distance_mm, outlines)


def test_points_of_a_bent_tube_are_inside_where_a_torus_says_so(bend: Surface) -> None:
    asked = np.random.default_rng(3).uniform([-20, 0.5, -40], [20, 60, 20], size=(4000, 3))
    from_axis = np.hypot(asked[:, 1], asked[:, 2] + BEND)
    torus = np.hypot(from_axis - BEND, asked[:, 0])
    quarter = (asked[:, 1] > 0.0) & (asked[:, 2] + BEND > 0.0)
    clear = np.abs(torus - RADIUS) > 0.01  # the sections are polygons of 256 corners
    assert (inside_passage(bend, asked) == (quarter & (torus < RADIUS)))[clear].all()


@pytest.mark.parametrize("point", [(0.0, -1.0, 0.0), (0.0, 41.0, -41.0), (0.0, 0.0, -40.0)])
def test_points_before_the_face_beyond_the_end_and_in_the_bends_centre_are_outside(bend, point) -> None:
    assert not inside_passage(bend, np.array([point])).any()
