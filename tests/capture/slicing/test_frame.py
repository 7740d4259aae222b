"""Where the head frame is in a scan, and angles that give back their planes."""

from __future__ import annotations

import numpy as np
import pytest

from portgeom.capture.meshes.values import MeshError
from portgeom.capture.slicing.frame import HeadFrame, angles_of, ups_along
from portgeom.geometry.path import Path, direction


def turned(seed: int) -> np.ndarray:
    q, _ = np.linalg.qr(np.random.default_rng(seed).normal(size=(3, 3)))
    return q if np.linalg.det(q) > 0.0 else -q


@pytest.mark.parametrize("seed", range(4))
def test_a_matrix_takes_points_to_the_head_and_back(seed: int) -> None:
    matrix = np.eye(4)
    matrix[:3, :3], matrix[:3, 3] = turned(seed), (1.0, 2.0, 3.0)
    frame = HeadFrame.from_matrix(matrix, 25.4)
    point = np.array([10.0, 20.0, 30.0])
    assert frame.placed_mm(point) == pytest.approx(matrix[:3, :3] @ point + 25.4 * np.array([1.0, 2.0, 3.0]))
    assert frame.scanned_mm(frame.placed_mm(point)) == pytest.approx(point)


@pytest.mark.parametrize(
    ("matrix", "found"),
    [
        (np.diag([2.0, 2.0, 2.0, 1.0]), "scales or shears"),
        (np.diag([1.0, 1.0, -1.0, 1.0]), "mirrors"),
        (np.diag([1.0, 1.0, 1.0, 2.0]), "last row"),
        (np.full((4, 4), np.nan), "last row"),
    ],
)
def test_a_matrix_that_is_no_turn_and_shift_is_refused(matrix: np.ndarray, found: str) -> None:
    with pytest.raises(MeshError, match=found):
        HeadFrame.from_matrix(matrix, 1.0)


def test_up_is_kept_and_a_leaning_face_shows_as_pitch() -> None:
    into = direction(7.0, 0.0) @ turned(5).T
    up = np.array([0.0, 0.0, 1.0]) @ turned(5).T
    frame = HeadFrame.from_up(up, into, np.array([3.0, 4.0, 5.0]), np.array([94.0, 0.0, 60.0]))
    assert frame.turned(up) == pytest.approx([0.0, 0.0, 1.0], abs=1e-12)
    assert frame.turned(into) == pytest.approx(direction(7.0, 0.0), abs=1e-12)
    assert frame.placed_mm(np.array([3.0, 4.0, 5.0])) == pytest.approx([94.0, 0.0, 60.0])
    assert np.linalg.det(frame.axes) == pytest.approx(1.0)


def test_up_along_the_way_in_is_refused() -> None:
    with pytest.raises(MeshError, match="along the port's own way in"):
        HeadFrame.from_up(np.array([0.0, 1.0, 0.05]), np.array([0.0, 1.0, 0.0]), np.zeros(3), np.zeros(3))


@pytest.mark.parametrize(("yaw", "last"), [(0.0, 80.0), (25.0, 88.0), (-40.0, 90.0), (10.0, 130.0)])
def test_angles_give_back_the_planes_even_past_the_vertical(yaw: float, last: float) -> None:
    pitch = np.linspace(3.0, last, 24)
    normals = direction(pitch, np.linspace(0.0, yaw, 24))
    ups = ups_along(normals)
    a = angles_of(normals, ups)
    path = Path.from_angles(np.arange(24.0), a.pitch_deg, a.yaw_deg, a.roll_deg)
    assert path.normal == pytest.approx(normals, abs=1e-12)
    assert path.up == pytest.approx(ups, abs=1e-12)
    assert np.abs(np.diff(a.pitch_deg)).max() < 8.0  # it runs on, without a jump at the vertical


def test_planes_stand_level_until_the_port_has_turned_down() -> None:
    normals = direction(np.linspace(0.0, 85.0, 60), np.linspace(-20.0, 20.0, 60))
    a = angles_of(normals, ups_along(normals))
    assert np.abs(a.roll_deg[a.pitch_deg < 59.0]).max() < 1e-9
    # beyond, they go on without twist: what turns u about the flow is the change of yaw alone
    path = Path.from_angles(np.arange(60.0), a.pitch_deg, a.yaw_deg, a.roll_deg)
    assert np.abs(np.degrees(path.roll_rad[-15:])).max() < 1e-6


def test_a_port_straight_down_keeps_its_yaw() -> None:
    normals = direction(np.array([80.0, 90.0, 100.0]), np.array([12.0, 12.0, 12.0]))
    a = angles_of(normals, ups_along(normals))
    assert a.pitch_deg == pytest.approx([80.0, 90.0, 100.0])
    assert a.yaw_deg == pytest.approx([12.0, 12.0, 12.0])
