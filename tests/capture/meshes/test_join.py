"""Loose triangles become one mesh; what is odd about it is counted, exactly."""

from __future__ import annotations

import numpy as np
import pytest
import trimesh

from portgeom.capture.meshes import join as mesh_join
from portgeom.capture.meshes.join import joined
from portgeom.capture.meshes.values import Facets, ScanMesh

BALL = trimesh.creation.icosphere(3, radius=10.0)


def mesh_of(points, faces, **more: float) -> ScanMesh:
    return joined(Facets(np.asarray(points, dtype=float), np.asarray(faces, dtype=np.intp)), more.get("mm", 1.0))


def loose(mesh: trimesh.Trimesh) -> ScanMesh:
    return mesh_of(mesh.triangles.reshape(-1, 3), np.arange(3 * len(mesh.faces)).reshape(-1, 3))


def test_corners_at_one_place_become_one() -> None:
    mesh = loose(BALL)
    assert (len(mesh.vertices_mm), len(mesh.faces)) == (len(BALL.vertices), len(BALL.faces))
    assert mesh.condition.volume_mm3 == pytest.approx(BALL.volume, rel=1e-12)
    assert (mesh.condition.open_edges, mesh.condition.islands, mesh.rims) == (0, 1, ())


def test_joining_does_not_rest_on_numbers_that_happen_to_differ(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(mesh_join, "_mixed", lambda rows: np.zeros(len(rows), dtype=np.uint64))
    assert len(loose(BALL).vertices_mm) == len(BALL.vertices)


def test_zero_and_minus_zero_are_one_place() -> None:
    mesh = mesh_of([[0.0, 0, 0], [1, 0, 0], [0, 1, 0], [-0.0, 0, 0], [1, 0, 0], [0, 0, 1]], [[0, 1, 2], [3, 4, 5]])
    assert len(mesh.vertices_mm) == 4


def test_each_oddity_is_counted() -> None:
    faces = BALL.faces
    turned = faces[0, ::-1]
    again, empty = faces[1:4], [[5, 5, 6], [7, 8, 7]]
    far = trimesh.creation.box(extents=(1.0, 1.0, 1.0))
    points = np.concatenate([BALL.vertices, far.vertices + 30.0])
    odd = np.concatenate([[turned], faces[1:-1], again, empty, far.faces + len(BALL.vertices)])
    state = mesh_of(points, odd).condition
    assert (state.doubled, state.empty, state.open_edges) == (3, 2, 3)
    assert state.turned_edges == 3
    assert (state.islands, state.volume_mm3) == (2, None)
    assert state.island_share == pytest.approx(12 / (len(faces) - 1 + 12))


def test_an_edge_of_three_triangles_is_crowded() -> None:
    points = [[0, 0, 0], [1, 0, 0], [0, 1, 0], [0, -1, 0], [0, 0, 1]]
    assert mesh_of(points, [[0, 1, 2], [1, 0, 3], [0, 1, 4]]).condition.crowded_edges == 1


def test_a_mesh_wound_inside_out_has_a_negative_volume() -> None:
    assert mesh_of(BALL.vertices, BALL.faces[:, ::-1]).condition.volume_mm3 == pytest.approx(-BALL.volume)


@pytest.mark.parametrize("mixed", [False, True])
def test_open_rims_are_followed_whatever_the_winding_the_longest_first(mixed: bool) -> None:
    tube = trimesh.creation.cylinder(radius=10.0, height=40.0, sections=32)
    sides = tube.faces[np.abs(tube.face_normals[:, 2]) < 0.5]
    if mixed:
        sides = sides.copy()
        sides[::3] = sides[::3, ::-1]
    rims = mesh_of(tube.vertices, sides).rims
    assert [len(r.points_mm) for r in rims] == [32, 32]
    assert sorted(float(r.centre_mm[2]) for r in rims) == pytest.approx([-20.0, 20.0])


def test_nothing_that_was_given_is_changed() -> None:
    points, faces = np.array(BALL.vertices), np.array(BALL.faces, dtype=np.intp)
    before = points.copy(), faces.copy()
    joined(Facets(points, faces), 25.4)
    assert (points == before[0]).all()
    assert (faces == before[1]).all()
