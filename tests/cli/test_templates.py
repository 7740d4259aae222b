"""``templates`` writes whole files of all kinds, refuses what cannot be, and writes over nothing unasked."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from click.testing import CliRunner, Result
from portgeom_cli.main import main

EXAMPLE = Path(__file__).parents[2] / "examples" / "workshop-pair"


def templates(*options: str | Path) -> Result:
    return CliRunner().invoke(main, ["templates", str(EXAMPLE), *map(str, options)])


def test_all_kinds_of_file_for_every_port(tmp_path: Path) -> None:
    result = templates("--out", tmp_path, "--at", "42", "--json")
    assert result.exit_code == 0, result.stderr
    ports = json.loads(result.stdout)["ports"]
    assert [p["port"] for p in ports] == ["1", "2"]
    kinds = [(p["kind"], p["station"], p["seen_from"]) for p in ports[1]["pieces"]]
    face = [("plug", "6", "face"), ("cast", "6", "face"), ("roof", "6", "face")]
    assert kinds == [("side", None, "side"), *face]
    files = [Path(f) for p in ports for f in p["files"]]
    assert sorted(f.suffix for f in files) == [".dxf", ".dxf", ".pdf", ".pdf", ".svg", ".svg"]
    assert sorted(files) == sorted(tmp_path.iterdir())


def test_an_allowance_makes_a_pair_and_is_said_in_the_units_of_work(tmp_path: Path) -> None:
    options = ("--port", "2", "--at", "1.5", "--units", "in", "--piece", "plug", "--allowance", "0.01", "--json")
    result = templates(*options, "--format", "svg", "--out", tmp_path)
    assert result.exit_code == 0, result.stderr
    pieces = json.loads(result.stdout)["ports"][0]["pieces"]
    assert [(p["kind"], p["allowance"], p["distance"]) for p in pieces] == [
        ("plug", 0.0, 1.5),
        ("go", 0.01, 1.5),
        ("no-go", 0.01, 1.5),
    ]
    (file,) = tmp_path.iterdir()
    assert "GO -0.01 in" in file.read_text(encoding="utf-8")


def test_a_file_that_is_there_is_not_written_over_and_nothing_else_is_written(tmp_path: Path) -> None:
    mine = tmp_path / "port-2-as-cast-templates.dxf"
    mine.write_text("mine")
    assert templates("--port", "2", "--at", "42", "--out", tmp_path).exit_code == 2
    assert [p.read_text() for p in tmp_path.iterdir()] == ["mine"]
    assert templates("--port", "2", "--at", "42", "--out", tmp_path, "--force").exit_code == 0
    assert len(list(tmp_path.iterdir())) == 3


def test_what_is_no_length_or_off_the_port_is_refused(tmp_path: Path) -> None:
    for options, words in (
        (("--at", "20,x"), "'x' is no length"),
        (("--at", "nan"), "'nan' is no length"),
        (("--at", "500"), "from 0 to 122 mm"),
        (("--allowance", "-1"), "'-1' is no length"),
        (("--allowance", "30"), "leaves no one piece"),
    ):
        result = templates("--out", tmp_path, *options)
        assert result.exit_code == 2, options
        assert words in result.stderr
    assert list(tmp_path.iterdir()) == []


def test_what_cannot_be_is_told_in_the_units_of_work(tmp_path: Path) -> None:
    result = templates("--out", tmp_path, "--units", "in", "--at", "20")
    assert result.exit_code == 2
    assert "from 0 to 4.8" in result.stderr.replace("\n", " ")
    assert "write a number of inches" in templates("--out", tmp_path, "--units", "in", "--at", "x").stderr


def test_where_no_strip_fits_the_roof_the_rest_is_made_and_that_is_said(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    from portgeom.questions.templates import roof_piece
    from portgeom.questions.templates.pieces import NoSuchPiece

    def sharp(*_: object, **__: object) -> None:
        raise NoSuchPiece("the wanted roof bends too sharply")

    monkeypatch.setattr(roof_piece, "roof_piece", sharp)
    result = templates("--port", "2", "--at", "42", "--out", tmp_path / "a")
    assert result.exit_code == 0
    assert "no roof strip, the wanted roof bends too sharply" in result.stderr
    assert len(list((tmp_path / "a").iterdir())) == 3
    assert templates("--port", "2", "--piece", "side", "--out", tmp_path / "b").exit_code == 2
