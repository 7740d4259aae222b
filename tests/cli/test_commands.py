"""The commands as a person and a program meet them: words, documents, exit status, nothing half done."""

from __future__ import annotations

import json
import shutil
import subprocess
import sys
from pathlib import Path
from typing import Any

import click
import pytest
from click.testing import CliRunner, Result
from portgeom_cli.main import COMMANDS, main

EXAMPLE = Path(__file__).parents[2] / "examples" / "workshop-pair"
QUESTIONS = ("profile", "roof", "removal", "passes", "walls")
HEAD = {"portgeom", "command", "units", "ports"}


def run(*arguments: str | Path) -> Result:
    return CliRunner().invoke(main, [str(a) for a in arguments])


def document(*arguments: str | Path) -> dict[str, Any]:
    result = run(*arguments, "--json")
    assert result.exit_code == 0, result.stderr
    found = json.loads(result.stdout)
    assert isinstance(found, dict)
    return found


@pytest.fixture
def job(tmp_path: Path) -> Path:
    return Path(shutil.copytree(EXAMPLE, tmp_path / "job"))


def everything(folder: Path) -> set[Path]:
    return set(folder.rglob("*"))


def test_every_command_listed_is_there_and_says_what_it_is_for() -> None:
    for name, (_, words) in COMMANDS.items():
        command = main.get_command(click.Context(main), name)
        assert command is not None
        assert words
        assert run(name, "--help").exit_code == 0


def test_help_imports_nothing_heavy() -> None:
    code = (
        "import sys; sys.argv = ['portgeom', '--help']\n"
        "from portgeom_cli.main import main\n"
        "try: main()\n"
        "except SystemExit: pass\n"
        "print([m for m in ('numpy', 'vtkmodules', 'trimesh', 'matplotlib', 'scipy', 'shapely') if m in sys.modules])"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip().endswith("[]")


def test_profile_imports_neither_scipy_nor_anything_that_draws() -> None:
    code = (
        "import sys\n"
        "from portgeom_cli.main import main\n"
        f"try: main(['profile', {str(EXAMPLE)!r}])\n"
        "except SystemExit: pass\n"
        "print([m for m in ('scipy', 'trimesh', 'matplotlib', 'pyvista', 'vtkmodules') if m in sys.modules])"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip().endswith("[]")


@pytest.mark.parametrize("command", QUESTIONS)
def test_a_question_answers_for_every_port_in_words(command: str) -> None:
    result = run(command, EXAMPLE)
    assert result.exit_code == 0
    assert result.stderr == ""
    for name in ("1", "2"):
        assert f"Port {name}, as cast" in result.stdout
    for word in ("nan", "None", "inf ", "Traceback"):
        assert word not in result.stdout


@pytest.mark.parametrize("command", QUESTIONS)
def test_a_document_has_the_common_head_and_no_missing_number(command: str) -> None:
    found = document(command, EXAMPLE)
    assert set(found) >= HEAD
    assert found["command"] == command
    assert found["units"] == {"length": "mm", "area": "mm2", "volume": "cc"}
    assert [(p["port"], p["stage"]) for p in found["ports"]] == [("1", "as cast"), ("2", "as cast")]
    assert "NaN" not in json.dumps(found)
    assert "Infinity" not in json.dumps(found)


KEYS = {
    "profile": {"length", "volume_cc", "stations", "profile", "smallest", "taper"},
    "roof": {"line", "line_from", "peak", "bulges", "map"},
    "removal": {
        "volume_cc",
        "mass_g",
        "by_side",
        "by_zone",
        "deepest",
        "missing_cc",
        "volume_after_cc",
        "smallest_after",
    },
    "passes": {"passes", "left_after_cc"},
    "walls": {"walls"},
}


@pytest.mark.parametrize("command", QUESTIONS)
def test_an_entry_has_every_key_that_the_formats_name(command: str) -> None:
    for entry in document(command, EXAMPLE)["ports"]:
        assert set(entry) >= {"port", "stage"} | KEYS[command]


def test_inner_keys_are_as_the_formats_name_them() -> None:
    profile = document("profile", EXAMPLE, "--port", "2")["ports"][0]
    assert set(profile["taper"]) >= {
        "entry_area", "seat_area", "worst_above", "worst_below", "necks", "bellies", "steepest", "smooth",
    }  # fmt: skip
    assert set(profile["stations"][0]) == {
        "station", "distance", "place", "area", "flow_area", "perimeter", "width", "height", "hydraulic_diameter",
        "centroid",
    }  # fmt: skip
    assert set(profile["taper"]["necks"][0]) >= {"distance", "area", "drop_percent"}
    steps = [b["distance"] - a["distance"] for a, b in zip(profile["profile"], profile["profile"][1:], strict=False)]
    assert max(steps) <= 1.0
    roof = document("roof", EXAMPLE, "--port", "2")["ports"][0]
    assert set(roof["bulges"][0]) >= {
        "peak", "stands_out", "from", "to", "across_from", "across_to", "area", "volume_cc",
    }  # fmt: skip
    assert set(roof["map"]) == {"distance", "across", "proud"}
    assert len(roof["map"]["proud"]) == len(roof["map"]["distance"])
    assert {len(row) for row in roof["map"]["proud"]} == {len(roof["map"]["across"])}
    assert any(x is None for row in roof["map"]["proud"] for x in row)
    passes = document("passes", EXAMPLE, "--port", "2")["ports"][0]
    assert set(passes["passes"][0]) >= {
        "name", "kind", "side", "volume_cc", "mass_g", "total_cc", "area", "rib_height", "least_wall", "depth_card",
    }  # fmt: skip
    assert set(passes["passes"][0]["depth_card"][0]["rows"][0]) >= {"row", "across", "depth"}


def test_inches_are_millimetres_over_25_4() -> None:
    mm = document("removal", EXAMPLE, "--port", "2")["ports"][0]
    inches = document("removal", EXAMPLE, "--port", "2", "--units", "in")["ports"][0]
    assert inches["volume_cc"] == mm["volume_cc"]
    assert inches["deepest"]["depth"] == pytest.approx(mm["deepest"]["depth"] / 25.4, abs=1e-5)
    assert inches["smallest_after"]["area"] == pytest.approx(mm["smallest_after"]["area"] / 25.4**2, abs=1e-5)


def test_strict_ends_with_status_1_where_something_was_found_and_says_the_same() -> None:
    plain, strict = run("roof", EXAMPLE, "--port", "2"), run("roof", EXAMPLE, "--port", "2", "--strict")
    assert (plain.exit_code, strict.exit_code) == (0, 1)
    assert plain.stdout == strict.stdout
    assert run("roof", EXAMPLE, "--port", "1", "--strict").exit_code == 0


def test_check_tells_every_fault_of_two_files_at_once(job: Path) -> None:
    table = job / "port-1-cast.csv"
    table.write_text(table.read_text(encoding="utf-8").replace("rectangle", "rectangel", 1), encoding="utf-8")
    text = (job / "job.toml").read_text(encoding="utf-8")
    (job / "job.toml").write_text(text.replace('material = "grey iron"', 'material = "cheese"'), encoding="utf-8")
    result = run("check", job)
    assert result.exit_code == 2
    assert result.stdout == ""
    assert "port-1-cast.csv: row" in result.stderr
    assert "job.toml: row" in result.stderr
    assert "cheese" in result.stderr
    assert "2 faults; nothing was written." in result.stderr


def test_check_document_lists_faults_in_the_same_form_as_notes(job: Path) -> None:
    table = job / "port-1-cast.csv"
    table.write_text(table.read_text(encoding="utf-8").replace("rectangle", "rectangel", 1), encoding="utf-8")
    result = run("check", job, "--json")
    assert result.exit_code == 2
    found = json.loads(result.stdout)
    assert found["ok"] is False
    assert set(found["faults"][0]) == {"file", "row", "field", "found", "mend"}


@pytest.mark.parametrize("command", [*QUESTIONS, "mesh", "show", "report"])
def test_a_faulty_job_writes_nothing_and_shows_no_traceback(command: str, job: Path, tmp_path: Path) -> None:
    (job / "job.toml").write_text("title = 3", encoding="utf-8")
    before = everything(tmp_path)
    more = {
        "mesh": ["--out", tmp_path / "m"],
        "show": ["--out", tmp_path / "v.png"],
        "report": ["--out", tmp_path / "r.html"],
    }
    result = run(command, job, *more.get(command, []))
    assert result.exit_code == 2
    assert "Traceback" not in result.output
    assert "job.toml" in result.stderr
    assert everything(tmp_path) == before


def test_a_port_or_stage_that_is_not_there_is_named_with_those_that_are() -> None:
    assert 'the job has "1", "2"' in run("profile", EXAMPLE, "--port", "3").stderr
    assert 'it has "as cast"' in run("profile", EXAMPLE, "--port", "2", "--stage", "done").stderr


def test_report_and_meshes_do_not_write_over_what_a_person_made(tmp_path: Path) -> None:
    page = tmp_path / "mine.html"
    page.write_text("mine", encoding="utf-8")
    assert run("report", EXAMPLE, "--port", "1", "--out", page).exit_code == 2
    assert page.read_text(encoding="utf-8") == "mine"
    assert run("report", EXAMPLE, "--port", "1", "--out", page, "--force").exit_code == 0
    assert run("report", EXAMPLE, "--port", "1", "--out", page).exit_code == 0  # its own report it may make again
    solids = tmp_path / "solids"
    assert run("mesh", EXAMPLE, "--port", "1", "--out", solids).exit_code == 0
    assert run("mesh", EXAMPLE, "--port", "1", "--out", solids).exit_code == 2


def test_the_report_names_the_file_it_wrote_and_leaves_nothing_else(tmp_path: Path) -> None:
    page = tmp_path / "out" / "page.html"
    result = run("report", EXAMPLE, "--port", "1", "--out", page)
    assert str(page) in result.stdout.splitlines()[-1]
    assert list(page.parent.iterdir()) == [page]


@pytest.mark.parametrize("kind", ["stl", "ply", "3mf", "glb"])
def test_mesh_files_read_back_with_the_volume_of_the_sections(kind: str, tmp_path: Path) -> None:
    import trimesh

    found = document("mesh", EXAMPLE, "--port", "2", "--out", tmp_path, "--format", kind)["ports"]
    assert [e["solid"] for e in found] == ["passage", "wanted", "metal to remove"]
    for entry in found:
        mesh = trimesh.load(entry["file"], force="mesh")
        scale = 1e6 if kind == "glb" else 1e-3  # metres, as glTF asks; else mm
        assert mesh.volume * scale == pytest.approx(entry["volume_cc"], rel=1e-5)
        if entry["solid"] != "metal to remove":
            assert mesh.is_watertight
            assert entry["volume_cc"] == pytest.approx(entry["sections_cc"], rel=3e-4)


def test_passes_tell_the_day_s_vibration_where_rate_and_vibration_are_known(job: Path) -> None:
    text = (job / "job.toml").read_text(encoding="utf-8")
    text = text.replace('shape    = "ball"', 'shape    = "ball"\nrate_cc_per_min = 0.02\nvibration = 5.0', 1)
    (job / "job.toml").write_text(text, encoding="utf-8")
    found = document("passes", job, "--port", "2")["ports"][0]
    cut = next(p for p in found["passes"] if p["kind"] == "grooves")
    minutes = cut["volume_cc"] / 0.02
    # ISO 5349-1: a8 = a (T / 8 h)^(1/2)
    assert found["exposure"]["a8"] == pytest.approx(5.0 * (minutes / 480.0) ** 0.5, rel=0.01)
    assert "A(8)" in run("passes", job, "--port", "2").stdout
    assert document("passes", EXAMPLE, "--port", "2")["ports"][0]["exposure"] is None


def test_an_inch_job_is_told_its_faults_in_inches(job: Path) -> None:
    text = (job / "job.toml").read_text(encoding="utf-8")
    table = "station,distance,shape,width\n1,0,circle,1.8\n2,4,circle,1.8\n"
    later = '  [[port.stage]]\n  name = "finished"\n  sections = "later.csv"\n'
    head = text[: text.index("[[port]]")].replace('"mm"', '"in"').replace("min_wall = 3.0", "")
    port = '[[port]]\nname = "1"\nkind = "intake"\n  [[port.stage]]\n  name = "as cast"\n  sections = "port.csv"\n'
    (job / "job.toml").write_text(head + port + later, encoding="utf-8")
    (job / "port.csv").write_text(table, encoding="utf-8")
    (job / "later.csv").write_text(table.replace("2,4,", "2,3,"), encoding="utf-8")
    for command in ("profile", "check"):
        result = run(command, job)
        assert result.exit_code == 2
        assert "ends the table at 3.000 in" in result.stderr
        assert "measure a station at 4.000 in too" in result.stderr
    assert "3.000 in" in json.loads(run("check", job, "--json").stdout)["faults"][0]["found"]


@pytest.mark.parametrize("number", ["nan", "inf", "-inf"])
@pytest.mark.parametrize(
    "command",
    [
        ("mesh", EXAMPLE, "--slab"),
        ("compare", EXAMPLE, "--within"),
        ("propose", EXAMPLE, "--least-area"),
        ("slice", "scan.stl", "--mesh-units", "mm", "--out", "job", "--spacing"),
        ("slice", "scan.stl", "--mesh-units", "mm", "--out", "job", "--gap"),
        ("trace", "scan.png", "--out", "traced", "--kerf"),
        ("new", "job", "--throat"),
        ("new", "job", "--widen"),
        ("stage", "add", EXAMPLE, "--port", "1", "--name", "x", "--sections", "t.csv", "--minutes"),
    ],
    ids=lambda command: f"{command[0]} {command[-1]}",
)
def test_an_option_takes_no_number_that_measures_nothing(command: tuple[str | Path, ...], number: str) -> None:
    result = run(*command, number)
    assert result.exit_code == 2
    assert f"Invalid value for '{command[-1]}': {number} is not " in result.stderr


@pytest.mark.parametrize(
    ("arguments", "end"),
    [
        (("sheet", "--out", "s"), ".pdf"),
        (("sheet", "--scale-card", "--out", "card.png"), ".pdf"),
        (("report", EXAMPLE, "--out", "r.pdf"), ".html"),
        (("report", EXAMPLE, "--pdf", "r"), ".pdf"),
    ],
)
def test_a_page_is_not_written_under_a_name_that_says_another_kind(
    arguments: tuple[str | Path, ...], end: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    result = run(*arguments)
    assert result.exit_code == 2
    assert f"name a file that ends in {end}" in result.stderr
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize(
    "arguments", [("report", EXAMPLE, "--out", "r.html", "--charts", "file/c"), ("passes", EXAMPLE, "--csv", "file/c")]
)
def test_a_place_that_cannot_be_is_refused_before_anything_is_written(
    arguments: tuple[str | Path, ...], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    (tmp_path / "file").write_text("mine", encoding="utf-8")
    result = run(*arguments, "--draws", "0")
    assert result.exit_code == 2
    assert "file: Not a directory" in result.stderr
    assert result.stdout == ""
    assert [p.name for p in tmp_path.iterdir()] == ["file"]


def test_every_listing_of_commands_ends_its_sentences() -> None:
    listed = [line for line in run("stage", "--help").stdout.splitlines() if line.startswith("  add ")]
    assert listed == ["  add  Write a new measuring of a port into the job, after the earlier ones."]
