"""A job is written whole or not at all, and never over a person's files."""

from __future__ import annotations

from math import pi
from pathlib import Path

import numpy as np
import pytest
import trimesh

from portgeom.capture.slicing.cut import plane_at
from portgeom.capture.slicing.frame import angles_of, ups_along
from portgeom.capture.slicing.index import indexed
from portgeom.capture.slicing.job import JobWords, job_files, write_job
from portgeom.capture.slicing.outline import traced
from portgeom.capture.slicing.scan import Sliced, SlicedStation
from portgeom.capture.slicing.section import Expected, NoSection, section
from portgeom.job.faults import JobError
from portgeom.job.read import read_job
from portgeom.job.values import Note

NOTE = Note("scan.stl", None, "placing", "the face is taken at y = 0", "else say where")


def rod_sections(*, crossing: bool = False) -> Sliced:
    """Return three sections of a rod of 20 mm radius along y; ``crossing`` lays two planes across each other."""
    rod = trimesh.creation.cylinder(radius=20.0, height=100.0, sections=64)
    rod.apply_transform(trimesh.transformations.rotation_matrix(0.5 * pi, [1, 0, 0]))
    index = indexed(np.array(rod.vertices), np.array(rod.faces, dtype=np.intp))
    normals = np.array([[0.0, 1.0, 0.0], [0.0, 1.0, -0.8 if crossing else 0.0], [0.0, 1.0, 0.0]])
    normals /= np.linalg.norm(normals, axis=1, keepdims=True)
    stations = []
    for y, normal in zip((0.0, 10.0, 30.0), normals, strict=True):
        along = 1.0284 * y if crossing else y  # the path leans with the plane between
        plane = plane_at(np.array([0.0, y - 20.0, 0.0]), normal, np.array([0.0, 0.0, 1.0]))
        found = section(index, plane, Expected(np.zeros(2)))
        place = plane.origin_mm + [0.0, 20.0, 0.0]
        stations.append(SlicedStation(along, place, found, traced(found.loop.points_mm, 0.005), 0.0))
    return Sliced(tuple(stations), angles_of(normals, ups_along(normals)))


def words(**more: str) -> JobWords:
    usual = {
        "title": "T",
        "units": "mm",
        "material": "aluminium",
        "port": "2",
        "kind": "exhaust",
        "stage": "as cast",
    }
    return JobWords(**{**usual, **more})


def test_what_is_written_reads_back_as_it_was(tmp_path: Path) -> None:
    done = write_job(rod_sections(), tmp_path / "job", words(), source="scan.stl", notes=[NOTE])
    job = read_job(tmp_path / "job")
    assert (job.title, job.material, job.ports[0].name, job.ports[0].kind) == (
        "T",
        "aluminium",
        "2",
        "exhaust",
    )
    area = 0.5 * 64 * 20.0**2 * np.sin(2.0 * pi / 64)
    rows = job.ports[0].stages[0].sections.rows
    assert [r.outline.area_mm2 for r in rows] == pytest.approx([area] * 3, rel=1e-5)
    assert float(done.port.cast.surface.volume_mm3.sum()) == pytest.approx(30.0 * area, rel=1e-4)
    assert "the face is taken at y = 0" in (tmp_path / "job" / "job.toml").read_text(encoding="utf-8")
    assert sorted(p.name for p in tmp_path.iterdir()) == ["job"]


def test_an_inch_job_holds_inches(tmp_path: Path) -> None:
    write_job(rod_sections(), tmp_path / "job", words(units="in"), source="scan.stl", notes=[])
    text = (tmp_path / "job" / "port-2.csv").read_text(encoding="utf-8")
    assert text.splitlines()[3].split(",")[1] == f"{30.0 / 25.4:.6f}"
    row = read_job(tmp_path / "job").ports[0].stages[0].sections.rows[2]
    assert row.distance_mm == pytest.approx(30.0, abs=1e-4)
    assert row.outline.width_mm == pytest.approx(40.0, abs=1e-3)


def test_a_title_or_name_with_quotes_and_a_file_of_odd_name_stay_text(tmp_path: Path) -> None:
    said = words(title='a "b" \\ c', port="ü #1", stage="x\ty")
    write_job(rod_sections(), tmp_path / "job", said, source='"\n[x].stl', notes=[NOTE])
    job = read_job(tmp_path / "job")
    assert (job.title, job.ports[0].name) == ('a "b" \\ c', "ü #1")


def test_nothing_of_a_persons_is_written_over_and_nothing_of_theirs_goes(tmp_path: Path) -> None:
    folder = tmp_path / "job"
    folder.mkdir()
    (folder / "mine.txt").write_text("mine", encoding="utf-8")
    with pytest.raises(FileExistsError, match="is there already; move it away"):
        write_job(rod_sections(), folder, words(), source="s", notes=[])
    assert [p.name for p in folder.iterdir()] == ["mine.txt"]
    write_job(rod_sections(), folder, words(), source="s", notes=[], force=True)
    assert (folder / "mine.txt").read_text(encoding="utf-8") == "mine"
    assert read_job(folder).ports[0].name == "2"


def test_an_empty_folder_is_taken(tmp_path: Path) -> None:
    (tmp_path / "job").mkdir()
    write_job(rod_sections(), tmp_path / "job", words(), source="s", notes=[])
    assert read_job(tmp_path / "job").ports[0].name == "2"


def test_a_file_in_the_folders_place_stays_even_by_force(tmp_path: Path) -> None:
    (tmp_path / "job").write_text("mine", encoding="utf-8")
    with pytest.raises(FileExistsError):
        write_job(rod_sections(), tmp_path / "job", words(), source="s", notes=[], force=True)


def test_sections_that_make_no_port_leave_nothing_behind(tmp_path: Path) -> None:
    with pytest.raises(JobError, match="crosses the plane of the station before"):
        write_job(rod_sections(crossing=True), tmp_path / "job", words(), source="s", notes=[])
    assert list(tmp_path.iterdir()) == []


def test_a_job_that_cannot_be_moved_into_place_leaves_nothing_behind(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def refuse(*_: object) -> None:
        raise PermissionError("no")

    monkeypatch.setattr("os.rename", refuse)
    with pytest.raises(JobError, match="cannot be written"):
        write_job(rod_sections(), tmp_path / "job", words(), source="s", notes=[])
    assert list(tmp_path.iterdir()) == []


def test_a_place_below_a_file_is_refused(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("mine", encoding="utf-8")
    with pytest.raises(JobError, match="cannot be written"):
        write_job(rod_sections(), tmp_path / "file" / "job", words(), source="s", notes=[])
    assert [p.name for p in tmp_path.iterdir()] == ["file"]


def test_the_folder_one_stands_in_is_a_place_too(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    (tmp_path / "mine.txt").write_text("mine", encoding="utf-8")
    write_job(rod_sections(), Path("."), words(), source="s", notes=[], force=True)
    assert read_job(tmp_path).ports[0].name == "2"


def test_the_same_sections_give_the_same_bytes() -> None:
    one, two = (job_files(rod_sections(), words(), source="s", notes=[NOTE]) for _ in range(2))
    assert one == two


@pytest.mark.parametrize("within", [0.002, 0.02, 0.2])
def test_thinning_moves_the_wall_no_more_than_it_says(within: float) -> None:
    a = np.linspace(0.0, 2.0 * pi, 3000, endpoint=False)
    loop = np.column_stack([20.0 * np.cos(a), 15.0 * np.sin(a)])
    outline = traced(loop, within).outline
    off = _distance(loop, outline.points_mm)
    assert off.max() <= within + 1e-4  # and what rounding moves
    # the longest chords of a circle of 26.7 mm, its flattest part, that stay within the error
    assert len(outline.points_mm) < 2.5 * pi / np.arccos(1.0 - within / 26.7)
    assert outline.points_mm[0] @ [0.0, 1.0] == pytest.approx(0.0, abs=1.0)
    assert outline.points_mm[0, 0] > 19.0


def _distance(points: np.ndarray, corners: np.ndarray) -> np.ndarray:
    start, edge = corners, np.roll(corners, -1, axis=0) - corners
    to = points[:, None] - start
    share = np.clip((to * edge).sum(-1) / (edge * edge).sum(-1), 0.0, 1.0)
    return np.linalg.norm(to - share[..., None] * edge, axis=-1).min(axis=1)


def test_small_crossings_are_cut_off_and_told_and_large_ones_refused() -> None:
    a = np.linspace(0.0, 2.0 * pi, 200, endpoint=False)
    loop = np.column_stack([20.0 * np.cos(a), 20.0 * np.sin(a)])
    loop[[50, 51]] = loop[[51, 50]]
    assert traced(loop, 0.005).untangled_mm2 > 0.0
    figure_of_eight = np.column_stack([20.0 * np.sin(2.0 * a + 0.01), 20.0 * np.cos(a)])
    with pytest.raises(NoSection, match="crosses itself"):
        traced(figure_of_eight, 0.005)
