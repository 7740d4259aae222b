"""The propose command: targets that paste, a job that has them, and nothing of the person's changed unasked."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from click.testing import CliRunner, Result
from portgeom_cli.main import main

JOB = """\
title = "One port"  # mine
units = "mm"
material = "grey iron"
min_wall = 3.0
[[port]]
name = "1"
kind = "intake"
target = "higher"   # made by hand
  [[port.stage]]
  name = "as cast"
  sections = "cast.csv"
[[target]]
name = "higher"
roof_raise = [[0, 2.0], [60, 2.0]]
[[hazard]]
name = "rail"
shape = "plane"
point = [0, 0, 19.5]
normal = [0, 0, 1]
[[cutter]]
name = "ball 10"
shape = "ball"
diameter = 10.0
length = 9.0
shank = 6.0
reach = 120.0
[accuracy]
gauge = 0.05
tool_bias = 0.0
distance = 0.1
pitch = 0.2
[propose]
{wishes}
"""

CAST = """\
station,distance,pitch,shape,width,height,radius
1,0,0,rectangle,40,30,8
2,20,0,rectangle,40,30,8
3,40,0,rectangle,40,30,8
4,60,0,rectangle,40,30,8
"""


USUAL = "entry_area = 1200\nthroat_area = 1200"


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    (tmp_path / "cast.csv").write_text(CAST, encoding="utf-8")
    return tmp_path


def run(folder: Path, *options: str, wishes: str = USUAL, ask: str = "propose") -> Result:
    if ask == "propose":
        (folder / "job.toml").write_text(JOB.format(wishes=wishes), encoding="utf-8")
    return CliRunner().invoke(main, [ask, *options])


def test_it_prints_a_target_and_changes_nothing(folder: Path) -> None:
    result = run(folder, str(folder))
    assert result.exit_code == 0, result.output
    assert '[[target]]\nname = "proposed 1"' in result.stdout
    assert "[[pass]]" in result.stdout
    assert "its own target 'higher'" in result.stdout
    assert (folder / "job.toml").read_text(encoding="utf-8") == JOB.format(wishes=USUAL)


def test_a_job_written_out_gives_the_same_removal_by_the_removal_command(folder: Path) -> None:
    out = folder / "proposed.toml"
    result = run(folder, str(folder), "--json", "--out", str(out))
    assert result.exit_code == 0, result.output
    (entry,) = json.loads(result.stdout)["ports"]
    assert "# made by hand" in out.read_text(encoding="utf-8")
    again = CliRunner().invoke(main, ["removal", str(out), "--json"])
    (removed,) = json.loads(again.stdout)["ports"]
    assert removed["volume_cc"] == pytest.approx(entry["removal"]["volume_cc"], rel=1e-6)
    assert removed["smallest_after"]["area"] >= 1200.0 * (1.0 - 0.01 - 1e-3)
    walls = json.loads(CliRunner().invoke(main, ["walls", str(out), "--json"]).stdout)["ports"][0]["walls"]
    assert all(w["verdict"] == "enough" for w in walls if w["stage"] == "target")
    assert CliRunner().invoke(main, ["passes", str(out)]).exit_code == 0
    once_more = run(folder, str(folder), "--out", str(out))
    assert once_more.exit_code == 2
    assert "--force" in once_more.stderr


def test_write_adds_a_target_of_another_name_each_time(folder: Path) -> None:
    assert run(folder, str(folder), "--write").exit_code == 0
    text = (folder / "job.toml").read_text(encoding="utf-8")
    assert text.startswith(JOB.format(wishes=USUAL))
    second = CliRunner().invoke(main, ["propose", str(folder), "--write"])
    assert second.exit_code == 0, second.output
    assert '"proposed 1 (2)"' in (folder / "job.toml").read_text(encoding="utf-8")
    assert CliRunner().invoke(main, ["check", str(folder)]).exit_code == 0


def test_what_cannot_be_had_is_told_and_strict_says_so(folder: Path) -> None:
    wishes = "entry_area = 1500\nthroat_area = 1500\nmost_side = 0.5\nmost_roof = 0.5"
    result = run(folder, str(folder), "--strict", wishes=wishes)
    assert result.exit_code == 1
    assert "Not all that is asked can be had" in result.stdout
    assert "the area asked: " in result.stdout


def test_the_curve_names_what_is_reached(folder: Path) -> None:
    result = run(folder, str(folder), "--curve")
    assert "What a larger smallest area costs" in result.stdout
    assert "the wall to rail, port 1 at" in result.stdout


def test_minutes_need_rates(folder: Path) -> None:
    result = run(folder, str(folder), wishes='aim = "minutes"')
    assert result.exit_code == 2
    assert "rate_cc_per_min" in result.stderr


@pytest.mark.parametrize(
    ("wishes", "words"),
    [
        ('follow = "least area"', "give least_area"),
        ("from = 30\nto = 20", "does not lie beyond from"),
        ("slope = 2.0", "at most 1"),
        ("leastarea = 3", "is not a key here"),
    ],
)
def test_wishes_that_make_no_sense_are_faults(folder: Path, wishes: str, words: str) -> None:
    result = run(folder, str(folder), wishes=wishes)
    assert result.exit_code == 2
    assert words in result.stderr


def test_a_pair_that_is_none_is_refused(folder: Path) -> None:
    result = run(folder, str(folder), "--pair", "1,2")
    assert result.exit_code == 2
    assert "two ports or more" in result.stderr


def test_the_report_holds_the_proposal_only_when_asked(folder: Path) -> None:
    run(folder, str(folder))
    page = folder / "r.html"
    assert run(folder, str(folder), "--propose", "--out", str(page), ask="report").exit_code == 0
    text = page.read_text(encoding="utf-8")
    assert "Proposed against as cast, port 1" in text
    assert "What a larger smallest area costs" in text
    plain = folder / "plain.html"
    assert run(folder, str(folder), "--out", str(plain), ask="report").exit_code == 0
    assert "Proposed against" not in plain.read_text(encoding="utf-8")
