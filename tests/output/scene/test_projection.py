"""Which way is right, up and towards the person in every view."""

from __future__ import annotations

import numpy as np
import pytest

from portgeom.output.scene.projection import VIEW_NAMES, VIEWS

RIGHT, IN, UP = np.eye(3)


@pytest.mark.parametrize("name", VIEW_NAMES)
def test_views_are_rotations(name):
    axes = VIEWS[name].axes()
    np.testing.assert_allclose(axes @ axes.T, np.eye(3), atol=1e-15)
    assert np.linalg.det(axes) == pytest.approx(1.0)


def test_looking_in_right_is_right_and_roof_is_up():
    assert VIEWS["entry"].project(RIGHT).tolist() == [1.0, 0.0, 0.0]
    assert VIEWS["entry"].project(UP).tolist() == [0.0, 1.0, 0.0]
    assert VIEWS["entry"].project(IN)[2] == -1.0


def test_from_the_right_side_the_face_is_at_the_left():
    assert VIEWS["side"].project(IN).tolist() == [1.0, 0.0, 0.0]
    assert VIEWS["side"].project(RIGHT)[2] == 1.0


def test_from_the_chamber_right_is_at_the_left():
    assert VIEWS["seat"].project(RIGHT)[0] < -0.9
    assert VIEWS["seat"].project(UP)[2] < -0.9


def test_roof_view_sees_roof_right_wall_and_face():
    for outward in (UP, RIGHT, -IN):
        assert VIEWS["roof"].project(outward)[2] > 0.3
