"""The command ``compare``: siblings, stages, other heads, and what makes no sense to compare."""

from __future__ import annotations

import json
import re
import shutil
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner, Result
from portgeom_cli.main import main

EXAMPLES = Path(__file__).parents[2] / "examples"
PAIR, STAGES = EXAMPLES / "workshop-pair", EXAMPLES / "workshop-stages"
FEW = ("--draws", "200")


def run(*arguments: str | Path) -> Result:
    return CliRunner().invoke(main, ["compare", *(str(a) for a in arguments), *FEW])


@pytest.fixture(scope="module")
def pair() -> dict[str, Any]:
    result = run(PAIR, "--json")
    assert result.exit_code == 0, result.stderr
    return json.loads(result.stdout)


def test_the_document_has_the_keys_it_promises(pair: dict[str, Any]) -> None:
    assert pair["command"] == "compare"
    assert [(p["port"], p["stage"]) for p in pair["ports"]] == [("1", "as cast"), ("2", "as cast")]
    (both,) = pair["pairs"]
    assert (both["a"], both["b"]) == ("1", "2")
    assert both.keys() >= {"volume_difference_cc", "area_rms_percent", "worst", "significant"}
    one, two = pair["ports"]
    assert both["volume_difference_cc"] == pytest.approx(one["volume_cc"] - two["volume_cc"], abs=1e-3)


def test_the_boss_is_where_the_pair_differs(pair: dict[str, Any]) -> None:
    """Port 2 has a boss 42 mm in, which narrows it there; port 1 has none."""
    (both,) = pair["pairs"]
    assert both["worst"]["distance"] == pytest.approx(42.0, abs=2.0)
    assert both["worst"]["percent"] > 0.0
    assert both["zone"]["from"] <= 42.0 <= both["zone"]["to"]
    assert both["smallest"]["significant"]
    one, two = pair["ports"]
    assert two["match"]["volume_cc"] > 5.0 * one["match"]["volume_cc"]
    assert two["match"]["by_side"]["roof"] > 0.7 * two["match"]["volume_cc"]
    assert two["roof_peak"]["distance"] == pytest.approx(42.0, abs=2.0)


def test_a_volume_poured_without_a_word_how_cannot_be_compared(pair: dict[str, Any]) -> None:
    assert [p["poured"]["comparable"] for p in pair["ports"]] == [False, False]
    told = run(PAIR).stdout
    assert "cannot be compared; the job would have to say how it was poured" in told
    assert "disagree" not in told


def test_one_port_alone_is_compared_stage_by_stage(tmp_path: Path) -> None:
    result = run(STAGES, "--port", "2", "--chart", tmp_path / "areas.svg")
    assert result.exit_code == 0, result.stderr
    told = result.stdout
    assert "3 compared" in told
    assert re.search(r"Port 2, as cast against port 2, finished: holds 1[45]\.\d cc less .*; a real difference", told)
    assert "To make them match" not in told
    assert "odd one" not in told
    svg = (tmp_path / "areas.svg").read_text(encoding="utf-8")
    assert "each less port 2, as cast" in svg
    for wrong in ("nan", "None", "inf "):
        assert wrong not in told
        assert wrong not in svg


def test_heads_are_compared_with_each_other() -> None:
    told = run(STAGES, PAIR, "--port", "1").stdout
    assert "1, finished against 1, as cast" in told
    assert "Between jobs nothing is taken to be shared." in told


def test_every_stage_can_be_asked_for() -> None:
    found = json.loads(run(STAGES, "--stages", "--json").stdout)
    assert len(found["ports"]) == 5
    assert len(found["pairs"]) == 10


def test_what_differs_for_sure_is_found() -> None:
    assert run(STAGES, "--port", "2", "--strict").exit_code == 1
    assert run(STAGES, "--strict").exit_code == 0


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        ((PAIR, "--port", "1"), "there is only one stage to compare"),
        ((PAIR, "--chart", "areas.gif"), "neither .svg nor .png"),
        ((PAIR, PAIR, "--port", "9"), 'there is no port "9"'),
        ((PAIR, "nowhere"), "does not exist"),
    ],
)
def test_what_makes_no_sense_is_refused(arguments: tuple[str, ...], words: str) -> None:
    result = run(*arguments)
    assert result.exit_code == 2
    assert words in result.stderr


def test_an_intake_and_an_exhaust_port_are_no_siblings(tmp_path: Path) -> None:
    job = Path(shutil.copytree(PAIR, tmp_path / "job"))
    text = (job / "job.toml").read_text(encoding="utf-8")
    second = text.index('name     = "2"')
    mixed = text[:second] + text[second:].replace('kind     = "intake"', 'kind     = "exhaust"', 1)
    (job / "job.toml").write_text(mixed, encoding="utf-8")
    result = run(job)
    assert result.exit_code == 2
    assert "no siblings" in result.stderr


def test_a_chart_that_is_there_is_not_written_over(tmp_path: Path) -> None:
    place = tmp_path / "areas.png"
    place.write_bytes(b"mine")
    assert run(PAIR, "--chart", place).exit_code == 2
    assert place.read_bytes() == b"mine"
    assert run(PAIR, "--chart", place, "--force").exit_code == 0
    assert place.read_bytes().startswith(b"\x89PNG")
