"""The walls command: exit status, one document, faults of meshes and readings on standard error."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from click.testing import CliRunner, Result
from portgeom_cli.main import main

HEAD = """\
title = "One port"
units = "mm"
material = "grey iron"
min_wall = 3.0
[[port]]
name = "1"
kind = "intake"
target = "higher"
  [[port.stage]]
  name = "as cast"
  sections = "cast.csv"
[[target]]
name = "higher"
roof_raise = [[0, 2.0], [80, 2.0]]
"""

HOLE = """\
[[hazard]]
name = "bolt hole"
shape = "cylinder"
start = [0, 40, {z}]
end = [0, 40, 80]
diameter = 11
{more}
"""

CAST = """\
station,distance,shape,width,height,radius
1,0,rectangle,40,30,8
2,40,rectangle,40,30,8
3,80,rectangle,40,30,8
"""


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    (tmp_path / "cast.csv").write_text(CAST, encoding="utf-8")
    return tmp_path


def run(folder: Path, hazards: str, *options: str) -> Result:
    (folder / "job.toml").write_text(HEAD + hazards, encoding="utf-8")
    return CliRunner().invoke(main, ["walls", str(folder), *options])


def test_it_tells_the_wall_now_and_once_the_port_is_as_wanted(folder: Path) -> None:
    result = run(folder, HOLE.format(z=19.5, more=""), "--json")
    assert result.exit_code == 0
    document = json.loads(result.stdout)
    assert document["command"] == "walls"
    (entry,) = document["ports"]
    assert (entry["port"], entry["stage"]) == ("1", "as cast")
    assert [(w["stage"], w["verdict"]) for w in entry["walls"]] == [("as cast", "enough"), ("target", "thin")]
    assert [w["least"]["wall"] for w in entry["walls"]] == pytest.approx([4.5, 2.5], abs=0.02)


PASSES = """\
[[cutter]]
name = "ball 10"
shape = "ball"
diameter = 10
length = 9
shank = 6
reach = 120
[[pass]]
name = "blend"
kind = "blend"
side = "roof"
cutter = "ball 10"
leave = 1.0
"""


def test_walls_after_each_pass_that_the_job_gives_stand_between(folder: Path) -> None:
    result = run(folder, HOLE.format(z=19.5, more="") + PASSES, "--json")
    assert result.exit_code == 0, result.stderr
    (entry,) = json.loads(result.stdout)["ports"]
    assert [w["stage"] for w in entry["walls"]] == ["as cast", "after blend", "target"]
    cast, blended, wanted = (w["least"]["wall"] for w in entry["walls"])
    assert wanted <= blended == pytest.approx(wanted + 1.0, abs=0.02)  # 1 mm was left on
    assert blended < cast


@pytest.mark.parametrize(
    ("z", "more", "status"),
    [(21.0, "", 0), (19.5, "", 1), (10.0, "", 1), (10.0, "open_allowed = true", 0)],
)
def test_strict_ends_with_1_where_a_wall_is_thin_or_open_without_leave(folder, z, more, status) -> None:
    assert run(folder, HOLE.format(z=z, more=more), "--strict").exit_code == status
    assert run(folder, HOLE.format(z=z, more=more)).exit_code == 0


def test_words_name_the_place_and_the_wall(folder: Path) -> None:
    said = run(folder, HOLE.format(z=19.5, more="")).stdout
    assert "Port 1, as cast: metal behind the walls" in said
    assert "o'clock, roof" in said
    assert "square from the face" in said


def test_a_broken_mesh_ends_with_2_and_one_line(folder: Path) -> None:
    (folder / "water.ply").write_bytes(b"nothing")
    result = run(folder, '[[hazard]]\nname = "water"\nshape = "mesh"\nfile = "water.ply"\n')
    assert result.exit_code == 2
    assert result.stdout == ""
    assert "water.ply: mesh: cannot be read as ply" in result.stderr
    assert "Traceback" not in result.stderr


def test_a_reading_outside_the_port_ends_with_2(folder: Path) -> None:
    (folder / "gauge.csv").write_text("distance,clock,wall\n30,0,6\n120,0,6\n", encoding="utf-8")
    result = run(folder, '[[hazard]]\nname = "gauge"\nshape = "readings"\nfile = "gauge.csv"\n')
    assert result.exit_code == 2
    assert 'gauge.csv: distance: reading 2 of "gauge" is at 120 mm, outside port "1"' in result.stderr
