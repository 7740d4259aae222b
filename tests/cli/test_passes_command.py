"""The passes command: one document in either unit, tables, and every bad pass named at once."""

from __future__ import annotations

import csv
import io
import json
import re
from math import acos, pi, sqrt
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner, Result
from portgeom_cli.main import main

HEAD = """\
title = "One port"
units = "{units}"
material = "grey iron"
min_wall = {least}
respect_walls = {respect}
[[port]]
name = "1"
kind = "intake"
target = "higher"
  [[port.stage]]
  name = "as cast"
  sections = "cast.csv"
[[target]]
name = "higher"
roof_line = [[0, {line}], [{length}, {line}]]
[[cutter]]
name = "ball"
shape = "ball"
diameter = {diameter}
length = {diameter}
shank = {shank}
reach = {reach}
"""

PASSES = """\
[[pass]]
name = "depth grooves"
kind = "grooves"
side = "roof"
cutter = "ball"
across = [{across}]
from = {first}
to = {last}
depth = {depth}
leave = {leave}
[[pass]]
name = "level"
kind = "level"
side = "roof"
cutter = "ball"
[[pass]]
name = "blend"
kind = "blend"
side = "roof"
cutter = "ball"
"""

PLANE = """\
[[hazard]]
name = "rail"
shape = "plane"
point = [0, 0, {z}]
normal = [0, 0, 1]
"""

SIZES = {
    "least": 3.0, "line": 21.0, "length": 80.0, "diameter": 10.0, "shank": 6.0, "reach": 100.0, "across": 0.0,
    "first": 20.0, "last": 60.0, "depth": 3.0, "leave": 1.0, "z": 30.0, "width": 40.0, "height": 30.0, "radius": 8.0,
}  # fmt: skip

ASKED = {  # what the design says a pass has; more may be there
    "name", "kind", "side", "volume_cc", "mass_g", "total_cc", "area", "rib_height", "least_wall", "depth_card",
}  # fmt: skip


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    return tmp_path


def run(
    folder: Path, *options: str, passes: str = PASSES, plane: bool = False, units: str = "mm", **other: object
) -> Result:
    """Run the command on a straight port whose sizes are given in mm and written in any unit."""
    scale = 25.4 if units == "in" else 1.0
    sizes = {k: v / scale for k, v in SIZES.items()} | {"respect": "false", "units": units} | other
    text = HEAD + passes + (PLANE if plane else "")
    (folder / "job.toml").write_text(text.format(**sizes), encoding="utf-8")
    rows = [f"{k},{s / scale!r},rectangle,{{width}},{{height}},{{radius}}" for k, s in ((1, 0.0), (2, 40.0), (3, 80.0))]
    table = "\n".join(["station,distance,shape,width,height,radius", *rows]).format(**sizes)
    (folder / "cast.csv").write_text(table, encoding="utf-8")
    return CliRunner().invoke(main, ["passes", str(folder), *options])


def entry(result: Result) -> dict[str, Any]:
    assert result.exit_code == 0, result.stderr
    found = json.loads(result.stdout)
    assert found["command"] == "passes"
    (port,) = found["ports"]
    return port


def groove_mm3() -> float:
    r, d = 5.0, 3.0
    segment = r**2 * acos((r - d) / r) - (r - d) * sqrt(2.0 * r * d - d**2)
    return segment * 40.0 + pi * d**2 * (3.0 * r - d) / 3.0


def test_document_has_what_the_design_says_and_the_numbers_of_a_segment(folder: Path) -> None:
    port = entry(run(folder, "--json", plane=True))
    assert set(port) >= {"port", "stage", "passes", "left_after_cc"}
    first, level, blend = port["passes"]
    for one in port["passes"]:
        assert set(one) >= ASKED
        assert {"distance", "area", "flow_area"} == set(one["area"][0])
    assert first["volume_cc"] == pytest.approx(groove_mm3() / 1000.0, rel=0.002)
    assert first["mass_g"] == pytest.approx(first["volume_cc"] * 7.2, abs=0.01)
    assert first["total_cc"] == first["volume_cc"]
    assert set(first["least_wall"]) == {"hazard", "distance", "clock", "wall"}
    # the plane at 30 is 12 from the groove's bottom at 18, 9 from the line at 21
    assert first["least_wall"]["wall"] == pytest.approx(12.0, abs=0.02)
    assert blend["least_wall"]["wall"] == pytest.approx(9.0, abs=0.02)
    marks = first["depth_card"]
    assert [m["distance"] for m in marks] == [20.0, 30.0, 40.0, 50.0, 60.0]
    for mark in marks:
        assert set(mark) >= {"distance", "rows"}
        (row,) = mark["rows"]
        assert set(row) >= {"row", "across", "depth"}
        assert (row["row"], row["across"], row["depth"]) == (1, 0.0, 3.0)
        assert row["stop"] == pytest.approx(30.0 - 3.0 - 15.0, abs=0.01)
    assert level["depth_card"] == blend["depth_card"] == []
    assert level["total_cc"] == pytest.approx(first["volume_cc"] + level["volume_cc"], abs=2e-4)
    assert blend["total_cc"] == pytest.approx(6.0 * 40.0 * 80.0 / 1000.0, rel=0.002)
    assert port["left_after_cc"] == pytest.approx(0.0, abs=1e-4)


def test_without_hazards_the_least_wall_and_stop_are_null(folder: Path) -> None:
    first = entry(run(folder, "--json"))["passes"][0]
    assert first["least_wall"] is None
    assert first["depth_card"][0]["rows"][0]["stop"] is None


def test_a_job_in_inches_is_the_same_port(folder: Path) -> None:
    mm = entry(run(folder, "--json", plane=True))
    inches = entry(run(folder, "--json", plane=True, units="in"))
    for a, b in zip(mm["passes"], inches["passes"], strict=True):
        assert b["volume_cc"] == pytest.approx(a["volume_cc"], abs=2e-4)
        assert b["rib_height"] * 25.4 == pytest.approx(a["rib_height"], abs=1e-3)
        assert b["least_wall"]["wall"] * 25.4 == pytest.approx(a["least_wall"]["wall"], abs=1e-3)
    first = inches["passes"][0]
    assert [m["distance"] % 0.25 for m in first["depth_card"]] == [0.0] * len(first["depth_card"])
    assert first["depth_card"][0]["rows"][0]["depth"] == pytest.approx(3.0 / 25.4, abs=1e-6)
    # and a job in mm can be shown in inches
    shown = json.loads(run(folder, "--json", "--units", "in", plane=True).stdout)
    assert shown["units"]["length"] == "in"
    assert shown["ports"][0]["passes"][0]["depth_card"] == first["depth_card"]


def test_walls_respected_are_told_with_their_cost(folder: Path) -> None:
    port = entry(run(folder, "--json", plane=True, respect="true", z=22.0))
    # the plane at 22 lets nothing go over 19: the top 2 mm of the wanted roof stay, corners of radius 8 and all
    segment = 8.0**2 * acos(6.0 / 8.0) - 6.0 * sqrt(8.0**2 - 6.0**2)
    top = 2.0 * (40.0 - 2.0 * 8.0) + segment
    assert port["kept_back"]["volume_cc"] == pytest.approx(top * 80.0 / 1000.0, rel=0.005)
    assert all(p["least_wall"]["wall"] >= 3.0 - 0.02 for p in port["passes"])
    words = run(folder, plane=True, respect="true", z=22.0)
    assert f"To keep the walls {port['kept_back']['volume_cc']:.1f} cc stays standing" in words.stdout


def test_a_thin_wall_after_a_pass_is_status_1_under_strict(folder: Path) -> None:
    assert run(folder, "--strict", plane=True).exit_code == 0
    assert run(folder, plane=True, z=23.0).exit_code == 0
    assert run(folder, "--strict", plane=True, z=23.0).exit_code == 1


def test_card_as_a_table_has_a_row_for_every_groove_at_every_mark(folder: Path) -> None:
    where = folder / "card.csv"
    port = entry(run(folder, "--json", "--csv", str(where), plane=True))
    rows = list(csv.DictReader(io.StringIO(where.read_text(encoding="utf-8"))))
    marks = port["passes"][0]["depth_card"]
    assert len(rows) == sum(len(m["rows"]) for m in marks)
    assert [float(r["distance"]) for r in rows] == [m["distance"] for m in marks]
    assert {float(r["depth"]) for r in rows} == {3.0}
    assert {r["stop"] for r in rows} == {str(marks[0]["rows"][0]["stop"])}
    again = run(folder, "--csv", str(where))
    assert again.exit_code == 2
    assert "--force" in again.stderr


def test_text_tells_the_passes_and_the_depths(folder: Path) -> None:
    text = run(folder, plane=True).stdout
    assert "Port 1, as cast: the job's passes" in text
    line = next(x for x in text.splitlines() if x.strip().startswith("40.0"))
    #       at    square  along   row  across set depth left  gauge  finish STOP
    assert line.split() == ["40.0", "40.0", "40.0", "1", "0.0", "3.0", "3.0", "33.0", "36.0", "12.0"]
    assert "Order of work (common practice)" in text


def test_set_depths_in_the_text_are_rounded_down_as_on_the_card() -> None:
    example = str(Path(__file__).parents[2] / "examples" / "workshop-pair")
    asked = ["passes", example, "--draws", "0"]
    text = CliRunner().invoke(main, asked).stdout
    cards = [
        card
        for entry in json.loads(CliRunner().invoke(main, [*asked, "--json"]).stdout)["ports"]
        for card in entry["passes"][0]["depth_card"]
    ]
    rows = [line.split() for line in text.splitlines() if re.fullmatch(r"( +-?[\d.]+){10}", line)]
    told = [(float(cells[5]), float(cells[9])) for cells in rows]
    known = [(r["depth"], r["stop"]) for card in cards for r in card["rows"]]
    assert len(told) == len(known) > 10
    for shown, real in zip(told, known, strict=True):
        assert all(0.0 <= b - a < 0.1 for a, b in zip(shown, real, strict=True))


def bad(folder: Path, old: str, new: str, **other: object) -> str:
    assert old in PASSES
    result = run(folder, passes=PASSES.replace(old, new, 1), **other)
    assert result.exit_code == 2
    assert result.stdout == ""
    assert "Traceback" not in result.stderr
    return result.stderr


@pytest.mark.parametrize(
    ("old", "new", "words"),
    [
        ('cutter = "ball"', 'cutter = "bull"', 'cutter: "bull" is not a [[cutter]] of this job'),
        ("from = {first}", "from = 70", "to: does not lie beyond from"),
        ("leave = {leave}", "leave = 3.0", "leave: is no less than depth"),
        ("to = {last}", "to = 90", "to: 90 mm is off the path; it runs from 0 to 80 mm"),
        ("across = [{across}]", "across = [16.0]", "across: 16 mm brings the cutter into a side wall of port 1"),
        ('kind = "grooves"', 'kind = "blend"', "across: only grooves have rows"),
    ],
)
def test_a_bad_pass_is_named_with_its_mend_and_nothing_is_written(folder: Path, old: str, new: str, words: str) -> None:
    told = bad(folder, old, new)
    assert words in told
    assert "pass 'depth grooves'" in told


def test_a_cutter_wider_than_the_port_is_named(folder: Path) -> None:
    result = run(folder, diameter=31.0)
    assert result.exit_code == 2
    assert "is 31 mm wide, and port 1 is 30.0 mm" in result.stderr
    assert result.stderr.count("is 31 mm wide") == 3  # every pass that uses it


def test_faults_of_two_passes_are_told_together(folder: Path) -> None:
    both = PASSES.replace("to = {last}", "to = 90", 1).replace('name = "blend"', 'name = "blend"\nto = 85', 1)
    result = run(folder, passes=both)
    assert result.exit_code == 2
    assert "pass 'depth grooves': to: 90 mm" in result.stderr
    assert "pass 'blend': to: 85 mm" in result.stderr


def test_a_card_is_not_written_under_a_name_that_says_another_kind(tmp_path: Path) -> None:
    example = Path(__file__).parents[2] / "examples" / "workshop-pair"
    result = CliRunner().invoke(main, ["passes", str(example), "--draws", "0", "--card", str(tmp_path / "card.txt")])
    assert result.exit_code == 2
    assert "ends in .pdf or .html" in result.stderr
    assert list(tmp_path.iterdir()) == []


def test_a_pass_that_takes_nothing_has_no_interval() -> None:
    example = Path(__file__).parents[2] / "examples" / "workshop-stages"
    told = CliRunner().invoke(main, ["passes", str(example), "--port", "1", "--stage", "finished", "--draws", "100"])
    (line,) = [x for x in told.output.splitlines() if "measured again and cut" in x]
    assert "blend the roof" in line
    assert "grooves" not in line
    assert "0.0 to 0.0" not in line
