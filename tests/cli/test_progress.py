"""The commands ``progress`` and ``removal`` between stages, on the head that was measured as it was cut."""

from __future__ import annotations

import json
from pathlib import Path

import click.testing
import pytest
from portgeom_cli.main import main

STAGES = str(Path(__file__).parents[2] / "examples" / "workshop-stages")


def run(*arguments: str) -> click.testing.Result:
    return click.testing.CliRunner().invoke(main, list(arguments))


@pytest.fixture(scope="module")
def told() -> str:
    result = run("progress", STAGES)
    assert result.exit_code == 0, result.output
    return result.stdout


@pytest.fixture(scope="module")
def document() -> dict:
    result = run("progress", STAGES, "--json", "--strict")
    assert result.exit_code == 1  # something was cut too far
    return json.loads(result.stdout)


def test_the_overcut_of_the_example_is_found_where_its_script_put_it(document: dict) -> None:
    """0.6 mm at 46.5 mm, 3 mm up on the right wall, over 18 by 16 mm; less where the walls lie between stations."""
    (port,) = (p for p in document["ports"] if p["port"] == "2")
    patch = port["overcut"]["cut"][0]
    assert patch["distance"] == pytest.approx(46.5, abs=2.5)
    assert patch["clock"] == pytest.approx(81.0, abs=6.0)
    assert patch["deepest"]["depth"] == pytest.approx(0.6, abs=0.15)
    assert port["overcut"]["as_cast"] == []


def test_the_habit_of_the_example_is_the_one_its_script_gave_it(document: dict) -> None:
    """Levelled 0.58 mm below the groove bottoms, where the plan reckons with 0.4."""
    low, high = document["levelling"]["interval"]
    assert low < 0.18 < high
    assert document["levelling"]["clear"]
    assert document["levelling"]["next_leave"]["leave"] == pytest.approx(0.8 + document["levelling"]["further"])


def test_rates_are_told_for_every_set_of_cutters(document: dict) -> None:
    alone = document["rates"][0]
    assert alone["cutters"] == ["oval 16"]
    assert alone["cc_per_min"] == pytest.approx(alone["volume_cc"] / alone["minutes"], abs=1e-3)


def test_words_say_what_is_off_left_and_too_far(told: str) -> None:
    assert "Port 2, finished: 97 percent of the metal is off" in told
    assert "cut too far, by more than 0.20 mm past the line and past the casting:" in told
    assert "3 o'clock, pushrod wall" in told
    assert "For the next port set leave = 0.9" in told
    assert '"ball 10" and "round nose 12"' in told
    for wrong in ("nan", "None", "inf"):
        assert wrong not in told


def test_inches_are_told_in_inches() -> None:
    told = run("progress", STAGES, "--port", "2", "--units", "in").stdout
    assert "0.008 in past the line" in told
    assert " mm" not in told


def test_the_port_as_cast_has_nothing_off() -> None:
    told = run("progress", STAGES, "--port", "2", "--stage", "as cast").stdout
    assert told.startswith("Port 2, as cast: 0 percent of the metal is off; 0.0 cc so far")
    assert "cut more than" not in told


def test_removal_between_stages_names_both() -> None:
    told = run("removal", STAGES, "--port", "2", "--from-stage", "as cast", "--to-stage", "roughed").stdout
    assert told.startswith("Port 2, as cast to roughed: 1.9 cc taken off")
    entry = json.loads(run("removal", STAGES, "--to-stage", "finished", "--json").stdout)["ports"]
    assert [(e["port"], e["stage"], e["to_stage"]) for e in entry] == [
        ("1", "as cast", "finished"),
        ("2", "as cast", "finished"),
    ]
    assert 13.0 < entry[0]["volume_cc"] < 14.5


@pytest.mark.parametrize(
    ("options", "words"),
    [
        (("--from-stage", "finished", "--to-stage", "as cast"), "name the earlier stage first"),
        (("--to-stage", "polished"), "no port that was asked for has both stages"),
        (("--to-stage", "finished", "--stage", "roughed"), "--stage asks for the way to the target"),
    ],
)
def test_stages_that_make_no_sense_are_refused(options: tuple[str, ...], words: str) -> None:
    result = run("removal", STAGES, *options)
    assert result.exit_code == 2
    assert words in result.output


def test_a_port_with_nothing_to_cut_is_not_told_a_percentage(tmp_path: Path) -> None:
    """A straight round pipe, bridged: its roof is the straightedge."""
    folder = tmp_path / "pipe"
    guess = ("--entry", "40x40x20", "--throat", "40", "--turn", "0", "--length", "90", "--stations", "4")
    asked = ("--title", "Pipe", "--units", "mm", "--material", "aluminium", "--port", "1", "--kind", "exhaust")
    assert run("new", str(folder), *asked, *guess, "--raise-roof", "0", "--widen", "0").exit_code == 0
    told = run("progress", str(folder)).stdout
    assert "nothing is off and nothing is left to take off" in told
    assert "percent of the metal" not in told
    removed = run("removal", str(folder), "--draws", "60").stdout
    assert "nothing to take off" in removed
    assert "deepest" not in removed


def test_like_ports_of_a_stated_density_read_as_such(tmp_path: Path) -> None:
    folder = tmp_path / "twins"
    guess = ("--entry", "40x40x20", "--throat", "40", "--turn", "0", "--length", "90", "--stations", "4")
    asked = ("--title", "Twins", "--units", "mm", "--material", "2.7", "--port", "1", "--port", "2", "--kind", "intake")
    assert run("new", str(folder), *asked, *guess, "--raise-roof", "1", "--widen", "0").exit_code == 0
    assert "g of metal of 2.7 g/cc" in run("removal", str(folder), "--draws", "0").stdout
    assert "areas along the path are the same" in run("compare", str(folder), "--draws", "200").stdout
