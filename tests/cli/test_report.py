"""The report command writes one page, and drawings where asked, for any job that is sound."""

from __future__ import annotations

import re
from html import unescape
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
"""
STAGE = """\
  [[port.stage]]
  name = "as cast"
  sections = "cast.csv"
"""
CAST = """\
station,distance,shape,width,height,radius
1,0,rectangle,40,30,8
2,40,rectangle,40,30,8
3,80,rectangle,40,30,8
"""
TARGET = """\
[[target]]
name = "higher"
roof_raise = [[0, 2.0], [80, 2.0]]
"""
CUTTER = """\
[[cutter]]
name = "ball 10"
shape = "ball"
diameter = 10.0
length = 9.0
shank = 6.0
reach = 120.0
"""
PASS = """\
[[pass]]
name = "blend"
kind = "blend"
side = "roof"
cutter = "{cutter}"
"""
HOLE = """\
[[hazard]]
name = "bolt hole"
shape = "cylinder"
start = [0, 40, 21]
end = [0, 40, 80]
diameter = 11
min_wall = 2.0
"""
AIMED = HEAD + 'target = "higher"\n' + STAGE + TARGET


def report(folder: Path, job: str, *options: str) -> Result:
    (folder / "cast.csv").write_text(CAST, encoding="utf-8")
    (folder / "job.toml").write_text(job, encoding="utf-8")
    return CliRunner().invoke(main, ["report", str(folder), "--out", str(folder / "page.html"), *options])


def told(folder: Path) -> str:
    body = (folder / "page.html").read_text(encoding="utf-8").split("</head>")[1]
    return unescape(re.sub(r"\s+", " ", re.sub(r"<[^>]*>", " ", re.sub(r"<svg.*?</svg>", " ", body, flags=re.S))))


@pytest.mark.parametrize(
    ("job", "there", "missing"),
    [
        (HEAD + STAGE, ["add a [[cutter]]", "add a [[hazard]]"], ["Depth card", "Reach "]),
        (AIMED, ["usual plan", "add a [[cutter]]"], ["Behind the walls", "Reach "]),
        (AIMED + CUTTER, ["usual plan", "Reach "], ["Behind the walls", "add a [[cutter]]"]),
        (AIMED + HOLE, ["Behind the walls", "bolt hole: 4.0 mm left"], ["Reach "]),
        (
            AIMED + HOLE + CUTTER + PASS.format(cutter="ball 10"),
            ["The passes are the job's own", "Behind the walls", "Reach ", "Enough: 2.0 mm over"],
            ["usual plan", "add a [["],
        ),
    ],
    ids=["bare", "target", "cutter", "hazard", "all"],
)
def test_a_job_says_as_much_as_it_holds(tmp_path: Path, job: str, there: list[str], missing: list[str]) -> None:
    result = report(tmp_path, job, "--charts", str(tmp_path / "charts"))
    assert result.exit_code == 0, result.output
    charts = {p.stem.rpartition("-")[2] for p in (tmp_path / "charts").iterdir()}
    assert charts >= {"side", "roof", "area", "sections"}
    assert ("passes" in charts) == ("target" in job)
    assert ("walls" in charts) == ("hazard" in job)
    words = told(tmp_path)
    for part in there:
        assert part in words
    for part in missing:
        assert part not in words
    assert not re.search(r"\b(nan|None|inf)\b", words)


def test_a_pass_that_does_not_fit_is_told_and_nothing_written(tmp_path: Path) -> None:
    wide = CUTTER.replace("diameter = 10.0", "diameter = 90.0").replace("length = 9.0", "length = 80.0")
    result = report(tmp_path, AIMED + wide + PASS.format(cutter="ball 10"))
    assert result.exit_code == 2
    assert "nothing was written" in result.stderr
    assert not (tmp_path / "page.html").exists()


def test_a_report_is_made_again_in_its_place_but_no_other_page_is_written_over(tmp_path: Path) -> None:
    assert report(tmp_path, HEAD + STAGE).exit_code == 0
    assert report(tmp_path, HEAD + STAGE).exit_code == 0
    (tmp_path / "page.html").write_text("mine", encoding="utf-8")
    assert report(tmp_path, HEAD + STAGE).exit_code == 2
    assert (tmp_path / "page.html").read_text(encoding="utf-8") == "mine"
