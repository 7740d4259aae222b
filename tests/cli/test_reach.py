"""The reach command: words, one document, exit status, and a job without cutters."""

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
[[port]]
name = "1"
kind = "intake"
target = "higher"
  [[port.stage]]
  name = "as cast"
  sections = "cast.csv"
[[target]]
name = "higher"
roof_raise = [[0, 2.0], [40, 2.0]]
"""

CUTTER = """\
[[cutter]]
name = "ball 10"
shape = "ball"
diameter = 10
length = 9
shank = 6
reach = {reach}
"""

CAST = """\
station,distance,shape,width,height,radius
1,0,rectangle,40,30,8
2,40,rectangle,40,30,8
"""


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    (tmp_path / "cast.csv").write_text(CAST, encoding="utf-8")
    return tmp_path


def run(folder: Path, cutters: str, *options: str) -> Result:
    (folder / "job.toml").write_text(HEAD + cutters, encoding="utf-8")
    return CliRunner().invoke(main, ["reach", str(folder), *options])


def test_it_gives_one_document_with_the_common_head(folder: Path) -> None:
    result = run(folder, CUTTER.format(reach=90), "--json")
    assert result.exit_code == 0
    document = json.loads(result.stdout)
    assert (document["command"], document["units"]["length"]) == ("reach", "mm")
    (port,) = document["ports"]
    assert (port["port"], port["stage"]) == ("1", "as cast")
    (cutter,) = port["cutters"]
    assert cutter["either_share"] == 1.0
    assert cutter["entry"]["stick_out"] == pytest.approx(40.0 + 5.0, abs=4.0)


def test_it_says_it_in_words(folder: Path) -> None:
    result = run(folder, CUTTER.format(reach=90))
    assert result.exit_code == 0
    assert "Every place is reached by one cutter or another." in result.stdout
    assert result.stderr == ""


def test_strict_counts_what_no_cutter_reaches(folder: Path) -> None:
    short = CUTTER.format(reach=15)
    assert run(folder, short).exit_code == 0
    result = run(folder, short, "--strict")
    assert result.exit_code == 1
    assert "No cutter of the job reaches" in result.stdout
    assert run(folder, CUTTER.format(reach=90), "--strict").exit_code == 0
    # two tools that are each short, one of which is enough from either side
    assert run(folder, short + CUTTER.format(reach=30).replace("ball 10", "longer"), "--strict").exit_code == 0


def test_a_job_without_cutters_is_told_what_to_add(folder: Path) -> None:
    result = run(folder, "")
    assert result.exit_code == 2
    assert result.stdout == ""
    assert "job.toml" in result.stderr
    assert "add a [[cutter]]" in result.stderr
