"""Scan files of every kind: read whole and in mm, or refused in one line."""

from __future__ import annotations

import io
import json
import struct
import zipfile
from pathlib import Path

import numpy as np
import pytest
import trimesh

from portgeom.capture.meshes import file as mesh_file
from portgeom.capture.meshes import packed as mesh_packed
from portgeom.capture.meshes.file import read_scan
from portgeom.capture.meshes.values import ScanMesh
from portgeom.job.faults import Gathered, JobError, line

BOX = trimesh.creation.box(extents=(10.0, 20.0, 30.0))


def read(path: Path, units: str = "mm", **more: float) -> tuple[ScanMesh, list[str]]:
    gathered = Gathered()
    mesh = read_scan(path, units, gathered, **more)
    return mesh, [line(note) for note in gathered.notes]


def exported(kind: str) -> bytes:
    if kind == "stl text":
        return trimesh.exchange.export.export_mesh(BOX, None, "stl_ascii").encode()
    if kind == "ply text":
        return BOX.export(file_type="ply", encoding="ascii")
    data = BOX.export(file_type=kind)
    return data.encode() if isinstance(data, str) else data


def saved(folder: Path, data: bytes, suffix: str) -> Path:
    path = folder / f"scan.{suffix}"
    path.write_bytes(data)
    return path


@pytest.mark.parametrize("kind", ["stl", "stl text", "ply", "ply text", "obj", "3mf"])
def test_a_box_is_8_corners_and_12_triangles_in_every_kind_of_file(tmp_path: Path, kind: str) -> None:
    mesh, notes = read(saved(tmp_path, exported(kind), kind.split()[0]))
    assert (len(mesh.vertices_mm), len(mesh.faces)) == (8, 12)
    assert np.ptp(mesh.vertices_mm, axis=0) == pytest.approx([10.0, 20.0, 30.0])
    assert mesh.condition.volume_mm3 == pytest.approx(10.0 * 20.0 * 30.0)
    assert notes == []


def test_a_glb_comes_back_from_metres_and_y_up_to_where_it_was(tmp_path: Path) -> None:
    there = BOX.vertices + [5.0, 70.0, 300.0]
    x, y, z = there.T / 1000.0
    data = trimesh.Trimesh(np.column_stack([x, z, -y]), BOX.faces, process=False).export(file_type="glb")
    mesh, notes = read(saved(tmp_path, data, "glb"), "m")
    assert mesh.vertices_mm.min(axis=0) == pytest.approx([0.0, 60.0, 285.0], abs=1e-4)  # 32-bit metres
    assert mesh.vertices_mm.max(axis=0) == pytest.approx([10.0, 80.0, 315.0], abs=1e-4)
    assert notes == []


@pytest.mark.parametrize(("units", "mm"), [("mm", 1.0), ("cm", 10.0), ("in", 25.4)])
def test_lengths_are_those_of_the_unit_that_was_said(tmp_path: Path, units: str, mm: float) -> None:
    mesh, _ = read(saved(tmp_path, exported("stl"), "stl"), units)
    assert np.ptp(mesh.vertices_mm, axis=0) == pytest.approx(np.array([10.0, 20.0, 30.0]) * mm)


def test_a_mould_that_shrank_2_percent_is_enlarged_to_the_port_it_came_from(tmp_path: Path) -> None:
    mesh, notes = read(saved(tmp_path, exported("stl"), "stl"), shrink_percent=2.0)
    assert np.ptp(mesh.vertices_mm, axis=0) == pytest.approx(np.array([10.0, 20.0, 30.0]) / 0.98)
    assert any("shrunk by 2 percent" in note for note in notes)


def ply_head(order: str, vertices: int, faces: int, corner_list: str = "list uchar int vertex_indices") -> bytes:
    return (
        f"ply\nformat {order} 1.0\nelement vertex {vertices}\nproperty float x\nproperty float y\nproperty float z\n"
        f"element face {faces}\nproperty {corner_list}\nend_header\n"
    ).encode()


SQUARE = np.array([[0, 0, 0], [4, 0, 0], [4, 4, 0], [0, 4, 0]], dtype=float)


@pytest.mark.parametrize(("order", "code"), [("binary_little_endian", "<"), ("binary_big_endian", ">")])
def test_ply_of_either_byte_order_and_faces_of_four_corners_become_fans(tmp_path: Path, order: str, code: str) -> None:
    body = SQUARE.astype(f"{code}f4").tobytes() + struct.pack(f"{code}B4i", 4, 0, 1, 2, 3)
    mesh, _ = read(saved(tmp_path, ply_head(order, 4, 1) + body, "ply"))
    assert mesh.faces.tolist() == [[0, 1, 2], [0, 2, 3]]


def test_text_ply_with_faces_of_three_and_four_corners_is_read(tmp_path: Path) -> None:
    rows = "\n".join(" ".join(map(str, row)) for row in SQUARE)
    mesh, _ = read(saved(tmp_path, ply_head("ascii", 4, 2) + f"{rows}\n3 0 1 2\n4 0 1 2 3\n".encode(), "ply"))
    assert len(mesh.faces) == 2  # the first is there twice, once in the fan
    assert mesh.condition.doubled == 1


def test_obj_counts_corners_back_from_the_end_and_passes_over_textures(tmp_path: Path) -> None:
    text = "mtllib ../secret.mtl\nv 0 0 0\nv 4 0 0\nv 4 4 0 1.0\nvt 0 0\nvn 0 0 1\n"
    text += "f -3/1/1 -2//1 -1\nv 0 4 0\nf 1 3 4\n"
    mesh, _ = read(saved(tmp_path, text.encode(), "obj"))
    assert mesh.vertices_mm[mesh.faces[0]].tolist() == [[0, 0, 0], [4, 0, 0], [4, 4, 0]]
    assert mesh.vertices_mm[mesh.faces[1]].tolist() == [[0, 0, 0], [4, 4, 0], [0, 4, 0]]


@pytest.mark.parametrize("kind", ["stl", "stl text", "ply", "ply text", "obj", "3mf", "glb"])
@pytest.mark.parametrize("share", [0.3, 0.6, 0.97])
def test_a_file_cut_short_is_refused_in_one_line(tmp_path: Path, kind: str, share: float) -> None:
    data = exported(kind)
    data = data[: int(share * len(data))]
    if kind == "obj":  # cut within a face, the only place where it shows
        data = data[: data.rindex(b"f ") + 4] if b"f " in data else data[: data.rindex(b" ")]
    with pytest.raises(JobError, match=r"cut short|no STL|no 3MF|holds fewer|numbers in|header") as error:
        read(saved(tmp_path, data, kind.split()[0]))
    assert len(error.value.faults) == 1


def nan_stl() -> bytes:
    data = bytearray(exported("stl"))
    data[84 + 12 : 84 + 16] = struct.pack("<f", float("nan"))
    return bytes(data)


@pytest.mark.parametrize(
    ("suffix", "data", "found"),
    [
        ("stl", nan_stl(), "no numbers, the first at corner 1"),
        ("stl", b"\0" * 84, "holds no triangles"),
        ("stl", b"solid nothing\nendsolid nothing\n", "holds no triangles"),
        ("stl", exported("stl text").replace(b"vertex 5", b"vertex x", 1), "a word where a number should be"),
        ("ply", ply_head("ascii", 4, 0) + b"0 0 0\n" * 4, "holds no triangles"),
        ("ply", ply_head("ascii", 3, 1) + b"0 0 0\n1 0 0\n0 1 0\n3 0 1 9\n", "corner that does not exist"),
        (
            "ply",
            ply_head("ascii", 3, 1) + b"0 0 0\n1 0 0\nnan 1 0\n3 0 1 2\n",
            "no numbers, the first at corner 3",
        ),
        ("ply", ply_head("ascii", 3, 1) + b"0 0 0\n1 0 0\n0 0 0\n3 0 1 2\n", "only triangles of no area"),
        ("ply", ply_head("ascii", 10**9, 1), "announces 1000000000 of vertex"),
        ("ply", b"ply\nformat binary_middle_endian 1.0\nend_header\n", "header that cannot be read"),
        ("ply", b"", "no PLY header"),
        ("obj", b"v 0 0 0\n", "holds no triangles"),
        ("obj", b"v 0 0\nf 1 1 1\n", "without three coordinates"),
        ("obj", b"v 0 0 0\nv 1 0 0\nv 0 1 0\nf 1 2 7\n", "corner that does not exist"),
        ("obj", b"v 0 0 0\nv 1 0 0\nv 0 1 0\nf 0 1 2\n", "counted from 1"),
        ("obj", b"v 0 0 0\nv 1 0 0\nv 0 1 0\nf 1 2 x\n", "a word where a corner's number should be"),
        (
            "glb",
            b"glTF" + struct.pack("<II", 2, 24) + struct.pack("<I", 4) + b"JSON" + b"{}{}",
            "cannot be read",
        ),
        ("glb", b"", "no GLB"),
        ("3mf", b"PK", "no 3MF"),
        ("dwg", b"", "not a kind of mesh that is read"),
    ],
)
def test_what_is_no_mesh_is_refused_in_one_line(tmp_path: Path, suffix: str, data: bytes, found: str) -> None:
    with pytest.raises(JobError, match=found) as error:
        read(saved(tmp_path, data, suffix))
    assert len(error.value.faults) == 1


def test_a_missing_file_and_a_folder_are_refused(tmp_path: Path) -> None:
    with pytest.raises(JobError, match="is no file that can be read"):
        read(tmp_path / "none.stl")
    (tmp_path / "a.stl").mkdir()
    with pytest.raises(JobError, match="is no file that can be read"):
        read(tmp_path / "a.stl")


def test_a_large_file_is_refused_before_any_of_it_is_read(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = saved(tmp_path, exported("stl"), "stl")
    monkeypatch.setattr(mesh_file, "SCAN_BYTES", 100)
    monkeypatch.setattr(Path, "open", lambda *_: pytest.fail("the file was opened"))
    with pytest.raises(JobError, match="has 684 bytes"):
        read(path)


def test_a_pack_that_unpacks_to_too_much_is_refused(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(mesh_packed, "UNPACKED_BYTES", 1000)
    with pytest.raises(JobError, match="unpacks to more than is read"):
        read(saved(tmp_path, exported("3mf"), "3mf"))


def repacked(change: tuple[bytes, bytes]) -> bytes:
    """Return the box as 3MF with a word of its model changed."""
    out = io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(exported("3mf"))) as old, zipfile.ZipFile(out, "w") as new:
        for part in old.infolist():
            new.writestr(part.filename, old.read(part).replace(*change))
    return out.getvalue()


def test_xml_entities_in_a_3mf_are_refused(tmp_path: Path) -> None:
    bomb = b'<!DOCTYPE m [<!ENTITY a "aaaa"><!ENTITY b "&a;&a;">]><model'
    with pytest.raises(JobError, match="declares XML entities"):
        read(saved(tmp_path, repacked((b"<model", bomb)), "3mf"))


def test_a_3mf_in_inches_is_refused_as_mm_and_read_as_inches(tmp_path: Path) -> None:
    path = saved(tmp_path, repacked((b'unit="millimeter"', b'unit="inch"')), "3mf")
    with pytest.raises(JobError, match="states inch as its unit, and you said mm; say --mesh-units in"):
        read(path)
    mesh, _ = read(path, "in")
    assert np.ptp(mesh.vertices_mm, axis=0) == pytest.approx(np.array([10.0, 20.0, 30.0]) * 25.4)


def test_a_glb_said_to_be_in_mm_is_taken_so_and_told(tmp_path: Path) -> None:
    mesh, notes = read(saved(tmp_path, exported("glb"), "glb"), "mm")
    assert np.ptp(mesh.vertices_mm, axis=0) == pytest.approx([10.0, 30.0, 20.0])
    assert any("metres by its standard; taken as mm" in note for note in notes)


def test_a_glb_that_announces_a_billion_values_is_refused(tmp_path: Path) -> None:
    scene = json.dumps({"asset": {"version": "2.0"}, "accessors": [{"count": 10**9}]}).encode()
    scene += b" " * (-len(scene) % 4)
    data = b"glTF" + struct.pack("<II", 2, 20 + len(scene)) + struct.pack("<I", len(scene)) + b"JSON" + scene
    with pytest.raises(JobError, match="announces 1000000000 values"):
        read(saved(tmp_path, data, "glb"))


def test_a_scan_that_is_metres_long_in_the_unit_said_is_asked_about(tmp_path: Path) -> None:
    with pytest.raises(JobError, match="is 30000 mm long when its unit is m; check --mesh-units"):
        read(saved(tmp_path, exported("stl"), "stl"), "m")


@pytest.mark.parametrize("kind", ["stl", "stl text", "ply", "ply text", "obj", "3mf", "glb"])
def test_a_file_with_bytes_changed_is_read_or_refused_in_one_line_never_more(tmp_path: Path, kind: str) -> None:
    random = np.random.default_rng(11)
    for _ in range(60):
        data = bytearray(exported(kind))
        for _ in range(int(random.integers(1, 5))):
            at = int(random.integers(0, len(data)))
            change = int(random.integers(0, 3))
            if change == 0:
                data[at] = int(random.integers(0, 256))
            elif change == 1:
                del data[at : at + int(random.integers(1, 40))]
            else:
                data[at:at] = data[at : at + 20]
        try:
            read(saved(tmp_path, bytes(data), kind.split()[0]))
        except JobError as error:
            assert len(error.faults) == 1  # noqa: PT017 - most are refused, some are read
