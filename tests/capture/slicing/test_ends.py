"""Mouths and flanges: planes fitted where a person points, or refused."""

from __future__ import annotations

from math import pi

import numpy as np
import pytest
import trimesh

from portgeom.capture.meshes.join import joined
from portgeom.capture.meshes.values import Facets, MeshError, ScanMesh
from portgeom.capture.slicing.ends import cap_ahead, end_near, flat_of_rim, plane_of_points
from portgeom.capture.slicing.index import indexed


def scan(mesh: trimesh.Trimesh) -> ScanMesh:
    return joined(Facets(np.array(mesh.vertices), np.array(mesh.faces, dtype=np.intp)), 1.0)


def rod(noise: float = 0.0, *, caps: bool = True) -> ScanMesh:
    """Return a rod of 20 mm radius along z from -40 to 40, of facets of about 1.5 mm."""
    mesh = trimesh.creation.cylinder(radius=20.0, height=80.0, sections=48)
    for _ in range(4):
        mesh = mesh.subdivide()
    if not caps:
        mesh.update_faces(np.abs(mesh.face_normals[:, 2]) < 0.5)
    mesh.vertices += np.random.default_rng(2).normal(0.0, noise, mesh.vertices.shape) if noise else 0.0
    return scan(mesh)


@pytest.mark.parametrize(("noise", "within_deg"), [(0.0, 1e-6), (0.05, 0.1)])
def test_the_cut_end_of_a_mould_is_fitted_from_a_point_on_it(noise: float, within_deg: float) -> None:
    mesh = rod(noise)
    flat = end_near(mesh, indexed(mesh.vertices_mm, mesh.faces), np.array([3.0, 2.0, 40.0]))
    assert np.degrees(np.arccos(min(1.0, abs(flat.normal[2])))) < within_deg
    assert (flat.point_mm - [0, 0, 40.0]) @ flat.normal == pytest.approx(0.0, abs=0.01 + noise)
    assert flat.what == "a flat patch"


def test_an_open_mouth_is_fitted_from_its_rim() -> None:
    mesh = rod(caps=False)
    flat = end_near(mesh, indexed(mesh.vertices_mm, mesh.faces), np.array([1.0, 1.0, -38.0]))
    assert abs(flat.normal[2]) == pytest.approx(1.0)
    assert flat.point_mm == pytest.approx([0.0, 0.0, -40.0], abs=1e-9)
    assert flat.what == "an open rim"


def test_a_flange_with_its_port_is_fitted_through_its_noise() -> None:
    ring = trimesh.creation.annulus(r_min=20.0, r_max=45.0, height=4.0)
    for _ in range(4):
        ring = ring.subdivide()
    ring.vertices += np.random.default_rng(5).normal(0.0, 0.05, ring.vertices.shape)
    mesh = scan(ring)
    flat = end_near(mesh, indexed(mesh.vertices_mm, mesh.faces), np.array([32.0, 0.0, 2.0]))
    assert abs(flat.normal[2]) > np.cos(np.radians(0.3))
    assert flat.stray_mm == pytest.approx(0.05, rel=0.5)


def test_a_point_far_from_the_mesh_or_on_a_round_wall_is_refused() -> None:
    mesh = rod()
    index = indexed(mesh.vertices_mm, mesh.faces)
    with pytest.raises(MeshError, match=r"nearest corner is 20\.0 mm off"):
        end_near(mesh, index, np.array([0.0, 0.0, 60.0]))
    with pytest.raises(MeshError, match="is not flat"):
        end_near(mesh, index, np.array([20.0, 0.0, 0.0]))


def test_three_points_give_their_plane_unless_they_lie_on_a_line() -> None:
    flat = plane_of_points(np.array([[0.0, 0.0, 5.0], [10.0, 0.0, 5.0], [0.0, 10.0, 5.0]]))
    assert np.abs(flat.normal) == pytest.approx([0.0, 0.0, 1.0])
    with pytest.raises(MeshError, match="nearly on one line"):
        plane_of_points(np.array([[0.0, 0.0, 0.0], [10.0, 0.0, 0.0], [20.0, 0.4, 0.0]]))


def test_a_hole_torn_in_the_side_is_no_mouth() -> None:
    a = np.linspace(0.0, 2.0 * pi, 24, endpoint=False)
    saddle = np.column_stack([10.0 * np.cos(a), 10.0 * np.sin(a), 8.0 * np.cos(2.0 * a)])
    mesh = rod(caps=False)
    assert flat_of_rim(mesh.rims[0]) is not None
    assert flat_of_rim(type(mesh.rims[0])(saddle)) is None


def test_the_closed_end_ahead_is_found_and_none_where_the_way_is_open() -> None:
    for caps in (True, False):
        mesh = rod(caps=caps)
        index = indexed(mesh.vertices_mm, mesh.faces)
        flat = cap_ahead(index, np.array([0.5, 0.0, 35.0]), np.array([0.0, 0.02, 1.0]), 26.0)
        assert (flat is not None) == caps
        if flat is not None:
            assert flat.normal == pytest.approx([0.0, 0.0, 1.0], abs=1e-9)
            assert flat.point_mm[2] == pytest.approx(40.0)


@pytest.mark.parametrize("noise", [0.0, 0.05])
def test_a_bite_out_of_a_rim_does_not_tilt_its_plane(noise: float) -> None:
    mesh = trimesh.creation.cylinder(radius=20.0, height=80.0, sections=48)
    for _ in range(4):
        mesh = mesh.subdivide()
    mesh.update_faces(np.abs(mesh.face_normals[:, 2]) < 0.5)
    bitten = np.linalg.norm(mesh.triangles_center - [20.0, 0.0, 40.0], axis=1) < 6.0
    mesh.update_faces(~bitten)
    mesh.vertices += np.random.default_rng(3).normal(0.0, noise, mesh.vertices.shape)
    rim = max((r for r in scan(mesh).rims), key=lambda r: float(r.points_mm[:, 2].mean()))
    assert np.ptp(rim.points_mm[:, 2]) > 4.0
    flat = flat_of_rim(rim)
    assert flat is not None
    assert np.degrees(np.arccos(min(1.0, abs(flat.normal[2])))) < 0.01 + 4.0 * noise
    assert (flat.point_mm - [0.0, 0.0, 40.0]) @ flat.normal == pytest.approx(0.0, abs=0.01 + noise)
