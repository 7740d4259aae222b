"""The command ``uncertainty``, and the intervals of the commands that give figures."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from click.testing import CliRunner, Result
from portgeom_cli.main import main

from portgeom.job.read import read_job

EXAMPLE = Path(__file__).parents[2] / "examples" / "workshop-pair"
DRAWS = ("--draws", "60")


def run(*arguments: str | Path) -> Result:
    return CliRunner().invoke(main, [str(a) for a in arguments])


def entry(command: str, job: Path, *options: str) -> dict:  # type: ignore[type-arg]
    result = run(command, job, "--json", *DRAWS, *options)
    assert result.exit_code == 0, result.stderr
    (port,) = json.loads(result.stdout)["ports"]
    return dict(port)


def within(figure: dict[str, float]) -> bool:
    return figure["low"] <= figure["value"] <= figure["high"] and figure["sd"] > 0.0


@pytest.fixture
def tube(tmp_path: Path) -> Path:
    """A straight tube of five gauged stations, one of which is known better than the rest."""
    rows = "".join(f"{k},{20 * k},circle,40,{'0.01' if k == 2 else ''}\n" for k in range(5))
    (tmp_path / "tube.csv").write_text("station,distance,shape,width,sd\n" + rows, encoding="utf-8")
    (tmp_path / "job.toml").write_text(
        'title = "tube"\nunits = "mm"\nmaterial = "grey iron"\n'
        "[accuracy]\ngauge = 0.2\ntool_bias = 0.0\ndistance = 0.0\n"
        '[[port]]\nname = "1"\nkind = "intake"\n[[port.stage]]\nname = "as cast"\nsections = "tube.csv"\n',
        encoding="utf-8",
    )
    return tmp_path


def test_the_column_sd_is_read_and_takes_the_place_of_the_gauge(tube: Path) -> None:
    rows = read_job(tube).ports[0].stages[0].sections.rows
    assert [r.sd_mm for r in rows] == [None, None, 0.01, None, None]
    told = entry("uncertainty", tube)
    shares = {m["station"]: m["share"] for m in told["volume_cc"]["most"]}
    assert "2" not in shares
    assert set(shares) == {"1", "3", "0"} or set(shares) == {"1", "3", "4"}


def test_a_wrong_sd_is_a_fault(tube: Path) -> None:
    table = tube / "tube.csv"
    table.write_text(table.read_text(encoding="utf-8").replace("0.01", "-1"), encoding="utf-8")
    result = run("check", tube)
    assert result.exit_code == 2
    assert "sd" in result.stderr


def test_every_figure_has_its_interval(tmp_path: Path) -> None:
    told = entry("uncertainty", EXAMPLE, "--port", "1")
    assert within(told["volume_cc"])
    assert within(told["smallest"])
    assert within(told["removal_cc"])
    assert [p["name"] for p in told["passes"]] == [p.name for p in read_job(EXAMPLE).passes]
    assert {w["hazard"] for w in told["walls"]} == {"pushrod hole 1", "spring seat 1", "rocker floor"}
    assert all(within(w["wall"]) for w in told["walls"])
    assert told["accuracy"]["given"] == ["pitch"]
    assert told["draws"] == 60
    assert 0 <= told["folded"] < 60


def test_the_same_seed_gives_the_same_and_another_another(tube: Path) -> None:
    first, again = (entry("profile", tube)["uncertainty"] for _ in range(2))
    other = entry("profile", tube, "--seed", "5")["uncertainty"]
    assert first == again
    assert first["volume_cc"]["sd"] != other["volume_cc"]["sd"]


@pytest.mark.parametrize(
    ("command", "key"), [("profile", "volume_cc"), ("roof", "peak"), ("removal", "removal_cc"), ("walls", "walls")]
)
def test_commands_tell_their_intervals_and_what_they_rest_on(command: str, key: str) -> None:
    options = (EXAMPLE, "--port", "1")
    assert key in entry(command, EXAMPLE, "--port", "1")["uncertainty"]
    words = run(command, *options, *DRAWS).stdout
    assert "95 percent" in words
    assert "Usual values, since [accuracy] does not give them: gauge, tool_bias, trace, distance." in words
    assert "95 percent" not in run(command, *options, "--draws", "0").stdout
    assert "nan" not in words.casefold()


def test_a_job_without_accuracies_is_told_the_usual_ones(tube: Path) -> None:
    job = tube / "job.toml"
    text = job.read_text(encoding="utf-8")
    job.write_text(text.replace(text[text.index("[accuracy]") : text.index("[[port]]")], ""), encoding="utf-8")
    assert "usual values, since the job has no [accuracy]" in " ".join(run("profile", tube, *DRAWS).stdout.split())


def test_without_draws_there_is_no_uncertainty() -> None:
    result = run("uncertainty", EXAMPLE, "--draws", "0")
    assert result.exit_code == 2
    assert "leave --draws out" in result.stderr


def test_a_few_draws_are_refused() -> None:
    assert "neither 0 nor from 50" in run("profile", EXAMPLE, "--draws", "7").stderr


def test_an_interval_that_leaves_out_the_peak_is_explained() -> None:
    """A finished roof, whose highest of many places close by is read too high; a hanging boss stands alone."""
    stages = EXAMPLE.parent / "workshop-stages"
    peak = entry("roof", stages, "--port", "2")["uncertainty"]["peak"]
    assert peak["high"] < peak["value"]
    for command in ("uncertainty", "roof"):
        assert "lies below its figure" in run(command, stages, "--port", "2", *DRAWS).stdout
        assert "lies below its figure" not in run(command, EXAMPLE, "--port", "2", *DRAWS).stdout
