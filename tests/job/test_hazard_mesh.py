"""Meshes of hazards as data from outside: bounded, closed or told, never a traceback."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
import trimesh

from portgeom.job import hazard_mesh
from portgeom.job.faults import Gathered, JobError
from portgeom.job.hazard_mesh import HazardMesh, read_hazard_mesh
from portgeom.job.values import Hazard

BOX = trimesh.creation.box(extents=(10.0, 20.0, 30.0))


def read(folder: Path, name: str) -> HazardMesh:
    gathered = Gathered()
    found = read_hazard_mesh(Hazard("water", "mesh", file=name), folder, gathered)
    gathered.refuse()
    assert found is not None
    return found


@pytest.mark.parametrize("kind", ["stl", "ply", "obj", "off"])
def test_a_closed_box_is_read_as_8_corners_and_12_triangles(tmp_path: Path, kind: str) -> None:
    BOX.export(tmp_path / f"box.{kind}")
    mesh = read(tmp_path, f"box.{kind}")
    assert (len(mesh.vertices_mm), len(mesh.faces), mesh.closed, mesh.turned) == (8, 12, True, False)
    assert np.ptp(mesh.vertices_mm, axis=0) == pytest.approx([10.0, 20.0, 30.0])


def test_a_mesh_inside_out_is_turned_and_says_so(tmp_path: Path) -> None:
    trimesh.Trimesh(BOX.vertices, BOX.faces[:, ::-1], process=False).export(tmp_path / "box.ply")
    mesh = read(tmp_path, "box.ply")
    assert (mesh.closed, mesh.turned) == (True, True)
    assert trimesh.Trimesh(mesh.vertices_mm, mesh.faces, process=False).volume == pytest.approx(6000.0)


@pytest.mark.parametrize(
    "faces", [BOX.faces[:-1], np.concatenate([BOX.faces[:-1], BOX.faces[-1:, ::-1]])], ids=["holed", "mixed"]
)
def test_a_mesh_with_a_hole_or_a_face_turned_over_is_not_closed(tmp_path: Path, faces) -> None:
    trimesh.Trimesh(BOX.vertices, faces, process=False).export(tmp_path / "box.ply")
    assert not read(tmp_path, "box.ply").closed


def test_no_other_file_is_opened_for_a_mesh_that_names_one(tmp_path: Path) -> None:
    corners = "".join(f"v {x} {y} {z}\n" for x, y, z in ((0, 0, 0), (1, 0, 0), (0, 1, 0), (0, 0, 1)))
    faces = "f 1 3 2\nf 1 2 4\nf 2 3 4\nf 1 4 3\n"
    (tmp_path / "t.obj").write_text(f"mtllib ../../secret.mtl\nusemtl m\n{corners}{faces}", encoding="utf-8")
    assert read(tmp_path, "t.obj").closed


@pytest.mark.parametrize(
    ("name", "data", "found"),
    [
        ("a.stl", b"", "cannot be read as stl|holds no triangles"),
        ("a.stl", b"solid nothing\nendsolid nothing\n", "cannot be read as stl|holds no triangles"),
        ("a.stl", bytes(80) + b"\xff\xff\xff\xff" + bytes(50), "cannot be read as stl|holds no triangles"),
        ("a.ply", b"ply\nformat ascii 1.0\nelement vertex 9\n", "cannot be read as ply"),
        ("a.ply", b"\x00\x01garbage", "cannot be read as ply"),
        ("a.obj", b"f 1 2 3\n", "cannot be read as obj|holds no triangles"),
        ("a.obj", b"v 0 0 0\nv 0 0 0\nv 1 0 0\nf 1 2 3\n", "holds only triangles of no area"),
        ("a.obj", b"v 0 0 nan\nv 0 1 0\nv 1 0 0\nf 1 2 3\n", "coordinates that are no numbers"),
        ("a.glb", b"glTF", "is not a kind of mesh that is read here"),
        ("../a.stl", b"", "leads out of the job folder"),
    ],
)
def test_a_file_that_is_no_mesh_is_a_fault_with_its_name(tmp_path: Path, name: str, data: bytes, found: str) -> None:
    if "/" not in name:
        (tmp_path / name).write_bytes(data)
    with pytest.raises(JobError, match=found) as raised:
        read(tmp_path, name)
    assert name in str(raised.value)


def test_too_many_triangles_are_refused(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(hazard_mesh, "MOST_TRIANGLES", 11)
    BOX.export(tmp_path / "box.stl")
    with pytest.raises(JobError, match="has 12 triangles; thin it out to at most 11"):
        read(tmp_path, "box.stl")


def test_a_file_that_is_too_large_is_refused_before_it_is_read(tmp_path: Path, monkeypatch) -> None:
    monkeypatch.setattr(hazard_mesh, "MESH_BYTES", 100)
    BOX.export(tmp_path / "box.stl")
    with pytest.raises(JobError, match="684 bytes; at most 100 are read"):
        read(tmp_path, "box.stl")
