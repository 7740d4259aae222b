"""The flow command: its words, its document, its refusals, its chart."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from click.testing import CliRunner, Result
from portgeom_cli.main import main

EXAMPLE = Path(__file__).parents[2] / "examples" / "workshop-pair"

JOB = """\
title = "One port"
units = "mm"
material = "grey iron"
[[port]]
name = "1"
kind = "intake"
  [[port.stage]]
  name = "as cast"
  sections = "cast.csv"
{more}
"""

CAST = """\
station,distance,shape,width,place
1,0,circle,50,face
2,40,circle,46,pinch
3,80,circle,46,throat
"""

READING = """\
[[flow]]
port = "1"
stage = "as cast"
depression = "28 inH2O"
lift = {lift}
rate = "{rate}"
"""

VALVE = """\
[[valve]]
kind = "intake"
head_diameter = 52
throat_diameter = 46
stem_diameter = 8
seat_angle = 45
seat_width = 1.5
"""


def run(*arguments: str | Path) -> Result:
    return CliRunner().invoke(main, ["flow", *(str(a) for a in arguments)])


@pytest.fixture
def job(tmp_path: Path) -> Path:
    (tmp_path / "cast.csv").write_text(CAST, encoding="utf-8")
    (tmp_path / "job.toml").write_text(JOB.format(more=""), encoding="utf-8")
    return tmp_path


def write(job: Path, more: str) -> Path:
    (job / "job.toml").write_text(JOB.format(more=more), encoding="utf-8")
    return job


def test_the_example_in_words_ends_with_the_limits() -> None:
    result = run(EXAMPLE)
    assert (result.exit_code, result.stderr) == (0, "")
    assert result.stdout.startswith("Port 1, as cast: flow\n  place")
    assert "Port 2, as cast: flow" in result.stdout
    assert result.stdout.index("Side by side") < result.stdout.index("What this is and is not")


def test_the_example_as_one_document() -> None:
    result = run(EXAMPLE, "--json", "--port", "2")
    document = json.loads(result.stdout)
    assert (document["command"], len(document["ports"])) == ("flow", 1)
    assert document["ports"][0]["port"] == "2"
    coefficients = [r["coefficients"] for r in document["ports"][0]["readings"]]
    # a sound port: from 0.5 to 0.7 on the curtain at low lift, on the throat at high lift
    assert all(0.5 < c["curtain"] < 0.7 for c in coefficients[:4])
    assert all(0.5 < c["throat"] < 0.7 for c in coefficients[-3:])
    assert document["side_by_side"]["states"][0]["port"] == "2"


def test_strict_is_1_where_a_place_is_out_of_its_range(job: Path) -> None:
    assert run(EXAMPLE, "--strict").exit_code == 1
    assert run(job, "--strict").exit_code == 0


def test_a_missing_valve_is_told_and_the_rest_answered(job: Path) -> None:
    result = run(job)
    assert result.exit_code == 0
    assert 'Add a [[valve]] with kind = "intake"' in " ".join(result.stdout.split())
    assert "Where total pressure is lost" in result.stdout


@pytest.mark.parametrize(
    ("options", "words"),
    [
        (("--depression", "-28 inH2O"), '"-28 inH2O" is below 0; give the depression as a positive number'),
        (("--depression", "28"), 'give a pressure with its unit, in quotes, as "28 inH2O"'),
        (("--rate", "225 inH2O"), '"inH2O" is not a unit of flow'),
        (("--out", "flow.pdf"), "name a file that ends in .svg or .png"),
        (("--port", "9"), 'there is no port "9"'),
    ],
)
def test_options_that_say_nothing_usable_are_refused(job: Path, options: tuple[str, str], words: str) -> None:
    result = run(job, *options)
    assert result.exit_code == 2
    assert words in " ".join(result.stderr.split())
    assert result.stdout == ""


def test_a_rate_beyond_choked_flow_is_refused_with_the_limit(job: Path) -> None:
    result = run(job, "--rate", "2000 cfm")
    assert result.exit_code == 2
    said = " ".join(result.stderr.split())
    assert "is more than its smallest section, 1662 mm2 at 40.0 mm, passes at the speed of sound:" in said
    limit = float(said.rpartition("sound: ")[2].split()[0])
    assert run(job, "--rate", f"{limit - 1.0:.1f} cfm").exit_code == 0
    assert run(job, "--rate", f"{limit + 1.0:.1f} cfm").exit_code == 2


def test_a_reading_beyond_choked_flow_is_a_fault_of_the_job(job: Path) -> None:
    write(job, READING.format(lift=10, rate="1500 cfm"))
    result = run(job)
    assert result.exit_code == 2
    assert "job.toml: row 15: flow number 1: rate: 1500 cfm at lift 10 mm is more than" in result.stderr
    checked = CliRunner().invoke(main, ["check", str(job)])
    assert checked.exit_code == 2
    assert "flow number 1: rate: 1500 cfm" in checked.stderr


def test_lift_beyond_a_quarter_of_the_head_is_allowed_and_noted(job: Path) -> None:
    write(job, VALVE + READING.format(lift=14, rate="150 cfm"))
    result = run(job)
    assert result.exit_code == 0
    assert "14.0*" in result.stdout


def test_a_rate_and_a_depression_are_what_is_told(job: Path) -> None:
    document = json.loads(run(job, "--rate", "100 l/s", "--depression", "2.5 kPa", "--json").stdout)
    basis = document["ports"][0]["basis"]
    assert basis["volume_m3_s"] == pytest.approx(0.1)
    assert basis["depression_pa"] == pytest.approx(2500.0)
    assert (
        "Speeds for 100.0 l/s, as asked, at 2.50 kPa."
        in run(job, "--rate", "100 l/s", "--depression", "2.5 kPa").stdout
    )


def test_a_rate_by_mass_counts_by_mass(job: Path) -> None:
    document = json.loads(run(job, "--rate", "360 kg/h", "--json").stdout)
    assert document["ports"][0]["basis"]["mass_kg_s"] == pytest.approx(0.1)


@pytest.mark.parametrize("name", ["flow.svg", "flow.png"])
def test_out_writes_a_chart_and_not_over_one(job: Path, name: str) -> None:
    path = job / name
    result = run(job, "--out", path)
    assert result.exit_code == 0
    assert f"{path} written." in result.stderr
    before = path.read_bytes()
    assert before[:4] in (b"\x89PNG", b"<svg")
    assert run(job, "--out", path).exit_code == 2
    assert path.read_bytes() == before
    assert run(job, "--out", path, "--force").exit_code == 0
