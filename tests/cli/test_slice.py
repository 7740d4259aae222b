"""The slice command: exit status, what it says, one document, and nothing written where it fails."""

from __future__ import annotations

import json
import re
from pathlib import Path

import numpy as np
import pytest
import trimesh
from click.testing import CliRunner, Result
from portgeom_cli.main import main

ROOT = Path(__file__).parents[2]
FACE = ("--entry", "0,0,0", "--into", "0,1,0")
HEAD = ("--head-frame",)


@pytest.fixture(scope="module")
def bore(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return an STL of a closed rod of 20 mm radius and 100 mm, along y from the face."""
    path = tmp_path_factory.mktemp("scan") / "bore.stl"
    rod = trimesh.creation.cylinder(radius=20.0, segment=[[0.0, 0.0, 0.0], [0.0, 100.0, 0.0]], sections=128)
    rod.subdivide().subdivide().export(path)
    return path


def run(mesh: Path, out: Path, *options: str, units: str | None = "mm") -> Result:
    said = () if units is None else ("--mesh-units", units)
    return CliRunner().invoke(main, ["slice", str(mesh), *said, "--out", str(out), *options])


def test_a_bore_becomes_a_job_that_check_finds_sound(bore: Path, tmp_path: Path) -> None:
    done = run(bore, tmp_path / "job", *FACE, *HEAD)
    assert done.exit_code == 0, done.output
    assert "12" in done.stdout
    assert "cc between the first and the last" in done.stdout.splitlines()[-1]
    checked = CliRunner().invoke(main, ["check", str(tmp_path / "job")])
    assert checked.exit_code == 0, checked.output


def test_the_document_holds_places_areas_and_notes(bore: Path, tmp_path: Path) -> None:
    done = run(bore, tmp_path / "job", *FACE, *HEAD, "--stations", "0,25,50,100", "--json")
    document = json.loads(done.stdout)
    assert (document["command"], document["units"]["length"]) == ("slice", "mm")
    (port,) = document["ports"]
    assert [s["distance"] for s in port["stations"]] == [0.0, 25.0, 50.0, 100.0]
    area = 0.5 * 128 * 20.0**2 * np.sin(2.0 * np.pi / 128)
    assert [s["area"] for s in port["stations"]] == pytest.approx([area] * 4, rel=1e-4)
    assert port["volume_cc"] == pytest.approx(area * 0.1, rel=1e-4)
    assert port["mesh_volume_cc"] == pytest.approx(area * 0.1, rel=1e-4)
    assert port["notes"]


def test_an_inch_job_is_told_and_written_in_inches(bore: Path, tmp_path: Path) -> None:
    done = run(bore, tmp_path / "job", *FACE, *HEAD, "--units", "in", "--stations", "0,2")
    assert done.exit_code == 0, done.output
    area = 0.5 * 128 * 20.0**2 * np.sin(2.0 * np.pi / 128) / 25.4**2
    assert f"station 2: 2.00 in, {area:.3f}" in done.stdout
    assert " mm" not in done.stdout
    text = (tmp_path / "job" / "port-1.csv").read_text(encoding="utf-8")
    assert text.splitlines()[2].startswith("2,2.000000,0.000000,2.000000,0.000000,0.0000,0.0000,0.0000,outline,")


def test_a_scan_in_any_attitude_gives_the_same_port(bore: Path, tmp_path: Path) -> None:
    turn = trimesh.transformations.rotation_matrix(1.1, [1.0, 2.0, 3.0], [5.0, 6.0, 7.0])
    scan = trimesh.load_mesh(bore)
    scan.apply_transform(turn)
    scan.export(tmp_path / "turned.stl")

    def said(vector: list[float], w: float) -> str:
        return ",".join(f"{x:.9f}" for x in (turn @ [*vector, w])[:3])

    back = tmp_path / "back.txt"
    back.write_text("\n".join(" ".join(map(str, row)) for row in np.linalg.inv(turn)), encoding="utf-8")
    ways = {
        "points": ("--entry-points", *(said(p, 1.0) for p in ([25, 0, 0], [-20, 0, 20], [-20, 0, -20]))),
        "fit": ("--entry-fit", said([3.0, 0.0, 2.0], 1.0)),
        "given": ("--entry", said([0.0, 0.0, 0.0], 1.0), "--into", said([0.0, 1.0, 0.0], 0.0)),
        "matrix": ("--transform", str(back)),
    }
    for name, way in ways.items():
        up = () if name == "matrix" else ("--up", said([0.0, 0.0, 1.0], 0.0))
        done = run(tmp_path / "turned.stl", tmp_path / name, *way, *up, "--json")
        assert done.exit_code == 0, done.output
        stations = json.loads(done.stdout)["ports"][0]["stations"]
        places = np.array([s["place"] for s in stations])
        assert places[:, [0, 2]] == pytest.approx(0.0, abs=0.01)
        assert places[-1, 1] == pytest.approx(100.0, abs=0.05)
        assert max(abs(s["pitch"]) + abs(s["yaw"]) for s in stations) < 0.05


def test_a_point_beside_the_mouth_is_told_with_how_far_it_is_outside(bore: Path, tmp_path: Path) -> None:
    # the bore's radius is 20 mm
    for name, x, words in (("in", "15", None), ("out", "60", "lies 40.0 mm outside that section")):
        done = run(bore, tmp_path / name, "--entry", f"{x},0,0", "--into", "0,1,0", "--up-point", "1,50,70")
        assert done.exit_code == 0, done.output
        assert ("outside that section" in done.stdout) is (words is not None)
        assert words is None or words in done.stdout


def test_a_straight_bore_is_told_without_minus_signs_before_nothing(bore: Path, tmp_path: Path) -> None:
    told = run(bore, tmp_path / "job", *FACE, "--up-point", "1,50,70").stdout
    assert re.search(r"station 2: .* pitch 0\.0, yaw 0\.0", told)
    assert "-0.0" not in told


def test_the_path_starts_where_the_head_has_it(bore: Path, tmp_path: Path) -> None:
    done = run(
        bore,
        tmp_path / "job",
        *FACE,
        "--up-point",
        "1,50,70",
        "--at",
        "94,0,60",
        "--stations",
        "0,50",
        "--json",
    )
    assert json.loads(done.stdout)["ports"][0]["stations"][0]["place"] == pytest.approx([94.0, 0.0, 60.0], abs=0.01)


def test_stations_come_by_even_steps_and_closer_where_the_section_changes(tmp_path: Path) -> None:
    y = np.linspace(0.0, 120.0, 121)
    radius = 20.0 - 3.0 * np.exp(-(((y - 40.0) / 6.0) ** 2))
    lathe = trimesh.creation.revolve(np.column_stack([np.r_[0, radius, 0], np.r_[0, y, 120]]), sections=96)
    lathe.apply_transform(trimesh.transformations.rotation_matrix(-0.5 * np.pi, [1, 0, 0]))
    lathe.export(tmp_path / "a.ply")
    even = run(tmp_path / "a.ply", tmp_path / "even", *FACE, *HEAD, "--spacing", "20", "--even", "--json")
    closer = run(tmp_path / "a.ply", tmp_path / "closer", *FACE, *HEAD, "--spacing", "20", "--json")
    assert even.exit_code == closer.exit_code == 0, even.output + closer.output
    at = [[s["distance"] for s in json.loads(d.stdout)["ports"][0]["stations"]] for d in (even, closer)]
    assert at[0] == pytest.approx([0, 20, 40, 60, 80, 100, 120], abs=0.1)
    steps, middles = np.diff(at[1]), 0.5 * (np.array(at[1][1:]) + at[1][:-1])
    assert steps[np.abs(middles - 40.0) < 15.0].max() <= 5.0
    assert steps[middles > 80.0].min() >= 9.9


@pytest.mark.parametrize(
    ("options", "found"),
    [
        ((*HEAD, "--entry", "0,0,0"), "--entry and --into go together"),
        (FACE, "give one of --up, --up-point, --transform and --head-frame"),
        ((*FACE, *HEAD, "--up", "0,0,1"), "give one of --up"),
        ((*FACE, *HEAD, "--entry-fit", "0,0,0"), "give one of --entry-points"),
        ((*FACE, *HEAD, "--at", "1,2,3"), "--at goes with"),
        ((*FACE, *HEAD, "--stations", "0,10", "--spacing", "3"), "give --stations or --spacing"),
        ((*FACE, *HEAD, "--stations", "10,5"), "not a list of rising distances"),
        ((*HEAD, "--entry", "0,0", "--into", "0,1,0"), "not three numbers"),
        ((*HEAD, "--entry", "0,0,nan", "--into", "0,1,0"), "not three numbers"),
        (("--like", "job", "--up", "0,0,1"), "wants the mesh in the head frame"),
    ],
)
def test_options_that_contradict_each_other_are_refused(
    bore: Path, tmp_path: Path, options: tuple[str, ...], found: str
) -> None:
    done = run(bore, tmp_path / "job", *options)
    assert (done.exit_code, found in done.stderr) == (2, True), done.output
    assert list(tmp_path.iterdir()) == []


def test_the_unit_is_never_guessed(bore: Path, tmp_path: Path) -> None:
    done = run(bore, tmp_path / "job", *FACE, *HEAD, units=None)
    assert done.exit_code == 2
    assert "--mesh-units" in done.stderr


@pytest.mark.parametrize(
    ("options", "found"),
    [
        (("--entry", "0,500,0", "--into", "0,1,0", *HEAD), "meets nothing of the mesh"),
        (("--entry", "0,0,0", "--into", "0,0,0", *HEAD), "--into 0,0,0 says no direction"),
        ((*FACE, "--up", "0,1,0.01"), "up is along the port's own way in"),
        ((*FACE, *HEAD, "--stations", "0,50,140"), "plane at 140.00 mm: is beyond the line"),
        ((*FACE, *HEAD, "--spacing", "0.001"), "so close a spacing makes"),
        (("--entry-fit", "0,50,0", *HEAD), "there is no surface and no open rim near"),
        (("--like", str(ROOT / "examples" / "workshop-pair"), "--port", "9", *HEAD), "has no such port"),
    ],
)
def test_what_cannot_be_done_is_one_line_and_nothing_is_written(
    bore: Path, tmp_path: Path, options: tuple[str, ...], found: str
) -> None:
    done = run(bore, tmp_path / "job", *options)
    assert (done.exit_code, found in done.stderr) == (2, True), done.output
    assert "1 fault; nothing was written." in done.stderr
    assert len(done.stderr.splitlines()) == 2
    assert done.stdout == ""
    assert list(tmp_path.iterdir()) == []


def test_a_folder_that_is_there_is_kept_unless_forced(bore: Path, tmp_path: Path) -> None:
    (tmp_path / "mine.txt").write_text("mine", encoding="utf-8")
    done = run(bore, tmp_path, *FACE, *HEAD, "--stations", "0,50")
    assert (done.exit_code, "--force" in done.stderr) == (2, True)
    assert [p.name for p in tmp_path.iterdir()] == ["mine.txt"]
    assert run(bore, tmp_path, *FACE, *HEAD, "--stations", "0,50", "--force").exit_code == 0
    assert (tmp_path / "mine.txt").read_text(encoding="utf-8") == "mine"


def test_a_matrix_file_of_something_else_is_refused(bore: Path, tmp_path: Path) -> None:
    (tmp_path / "m.txt").write_text("1 0 0", encoding="utf-8")
    done = run(bore, tmp_path / "job", "--transform", str(tmp_path / "m.txt"))
    assert (done.exit_code, "does not hold sixteen numbers" in done.stderr) == (2, True)


@pytest.mark.parametrize(
    ("text", "found"),
    [
        ("x,y\n0,0\n", "z"),
        ("x,y,z\n0,0,0\n", "holds 1 places"),
        ("x,y,z\n0,0,0\n0,0,0\n", "one place only"),
        ("x,y,z\n0,a,0\n0,1,0\n", "row 2: y"),
        ("x,y,z,pitch,yaw\n0,0,0,0,0\n0,9,0,,0\n", "row 3: pitch: is blank"),
    ],
)
def test_a_line_that_is_none_is_refused_with_row_and_column(bore: Path, tmp_path: Path, text: str, found: str) -> None:
    line = tmp_path / "line.csv"
    line.write_text(text, encoding="utf-8")
    done = run(bore, tmp_path / "job", "--path", str(line), *HEAD)
    assert (done.exit_code, found in done.stderr) == (2, True), done.output
    assert not (tmp_path / "job").exists()


def extruded(outline: list[tuple[float, float]], path: Path, length: float = 80.0) -> Path:
    """Write a duct of one section (x, z) along y, finely divided, and return where."""
    import shapely

    shape = shapely.Polygon(outline)
    solid = trimesh.creation.extrude_polygon(shape, length)
    # the section's x and y become the head's x and z, its height the way in
    turn = np.array([[1.0, 0.0, 0.0, 0.0], [0.0, 0.0, 1.0, 0.0], [0.0, 1.0, 0.0, 0.0], [0.0, 0.0, 0.0, 1.0]])
    solid.apply_transform(turn)
    solid.export(path)
    return path


POCKETED = [(-20, -25), (20, -25), (20, 0), (23, 0), (23, -8), (27, -8), (27, 12), (23, 12), (23, 4), (20, 4), (20, 25)]
POCKETED += [(-20, 25)]
KIDNEY = [(-30, -30), (30, -30), (30, -20), (-20, -20), (-20, 20), (30, 20), (30, 30), (-30, 30)]


def test_pockets_that_check_would_refuse_are_cut_off_and_told_station_by_station(tmp_path: Path) -> None:
    mesh = extruded(POCKETED, tmp_path / "pocket.stl")
    done = run(mesh, tmp_path / "job", *FACE, *HEAD, "--stations", "0,40,80", "--json")
    assert done.exit_code == 0, done.output
    (port,) = json.loads(done.stdout)["ports"]
    told = [n for n in port["notes"] if "lies behind its own wall" in n]
    assert [n.split(": ")[1] for n in told] == ["plane at 0.00 mm", "plane at 40.00 mm", "plane at 80.00 mm"]
    assert all("at 3 o'clock" in n and "cut off and not counted" in n for n in told)
    lost = [float(n.partition(" mm2")[0].rpartition(" ")[2]) for n in told]
    whole = 40.0 * 50.0 + 3.0 * 4.0 + 4.0 * 20.0
    assert [s["area"] for s in port["stations"]] == pytest.approx([whole - x for x in lost], abs=0.1)
    assert CliRunner().invoke(main, ["check", str(tmp_path / "job")]).exit_code == 0


def test_sections_without_their_middle_are_refused_by_distance_and_nothing_is_written(tmp_path: Path) -> None:
    mesh = extruded(KIDNEY, tmp_path / "kidney.stl")
    done = run(mesh, tmp_path / "job", "--entry", "-25,0,0", "--into", "0,1,0", *HEAD, "--stations", "0,40")
    assert done.exit_code == 2
    first, second, _ = done.stderr.splitlines()
    assert first.startswith("kidney.stl: plane at 0.00 mm: its middle lies outside it; list other --stations")
    assert second.startswith("kidney.stl: plane at 40.00 mm: its middle lies outside it; ")
    assert not (tmp_path / "job").exists()


def test_towards_goes_with_a_path_that_is_found(bore: Path, tmp_path: Path) -> None:
    done = run(bore, tmp_path / "job", *HEAD, "--like", str(ROOT), "--towards", "1,2,3")
    assert done.exit_code == 2
    assert "--towards goes with a path that is found" in done.stderr


def test_a_port_stood_on_its_head_is_told(tmp_path: Path) -> None:
    scan = ROOT / "meshes" / "analytic-bend.ply"
    here = ("--entry", "0,0,0", "--into", "0,1,0", "--stations", "0,20,40")
    right, wrong = (run(scan, tmp_path / up, *here, "--up", f"0,0,{up}") for up in ("1", "-1"))
    assert right.exit_code == wrong.exit_code == 0, right.output + wrong.output
    assert "up was given the wrong way round" in wrong.stdout
    assert "up was given the wrong way round" not in right.stdout


def test_an_entry_inside_the_passage_is_told(bore: Path, tmp_path: Path) -> None:
    inside = run(bore, tmp_path / "a", "--entry", "0,40,0", "--into", "0,1,0", *HEAD)
    mouth = run(bore, tmp_path / "b", *FACE, *HEAD)
    assert "the passage goes on outside the entry plane too" in inside.stdout
    assert "goes on outside" not in mouth.stdout
