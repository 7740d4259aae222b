"""Answers at the width of a terminal, talk that can be hushed, letters that are not there, and work that says so."""

from __future__ import annotations

import io
import json
import os
import subprocess
import sys
import time
from pathlib import Path

import click
import pytest
from click.testing import CliRunner, Result
from portgeom_cli import pacing
from portgeom_cli.main import COMMANDS, main
from portgeom_cli.pacing import in_turn, pace_line
from portgeom_cli.saying import laid_out

EXAMPLE = Path(__file__).parents[2] / "examples" / "workshop-pair"


def run(*arguments: str | Path) -> Result:
    return CliRunner().invoke(main, [str(a) for a in arguments])


def test_every_command_can_be_hushed() -> None:
    for name in COMMANDS:
        command = main.get_command(click.Context(main), name)
        assert command is not None
        for one in (command, *getattr(command, "commands", {}).values()):
            assert any("--quiet" in p.opts for p in one.params), name


def test_hushed_only_what_was_asked_for_is_said(tmp_path: Path) -> None:
    written = run("templates", EXAMPLE, "--port", "2", "--at", "42", "--out", tmp_path / "t", "--quiet")
    assert (written.exit_code, written.stdout, written.stderr) == (0, "", "")
    assert len(list((tmp_path / "t").iterdir())) == 3
    sheet = run("sheet", "--out", tmp_path / "s.pdf", "-q")
    assert (sheet.exit_code, sheet.stdout, sheet.stderr) == (0, "", "")
    document = run("profile", EXAMPLE, "--json", "--quiet")
    assert json.loads(document.stdout)["command"] == "profile"
    assert document.stderr == ""
    assert "Taper" in run("profile", EXAMPLE, "--port", "2", "--quiet").stdout


def test_faults_are_told_in_spite_of_quiet(tmp_path: Path) -> None:
    result = run("profile", tmp_path, "--quiet")
    assert result.exit_code == 2
    assert "1 fault" in result.stderr


def test_long_lines_are_broken_and_go_on_further_in() -> None:
    words = "  peak: " + "some words of an answer " * 8
    lines = laid_out(words, 60).split("\n")
    assert max(map(len, lines)) <= 60
    assert lines[0].startswith("  peak")
    assert all(line.startswith("      some") or line.startswith("      ") for line in lines[1:])
    assert " ".join(" ".join(lines).split()) == " ".join(words.split())


def test_tables_and_drawings_are_left_as_they_are() -> None:
    row = "  bolt hole   as cast " + " " * 40 + "4.7       3.0"
    assert laid_out(row, 40) == row


@pytest.mark.parametrize("arguments", [("roof", "--port", "2"), ("profile", "--port", "2", "--json")])
def test_a_log_that_has_ascii_alone_gets_it(tmp_path: Path, arguments: tuple[str, ...]) -> None:
    job = tmp_path / "job"
    import shutil

    shutil.copytree(EXAMPLE, job)
    toml = (job / "job.toml").read_text(encoding="utf-8")
    name = "gr\u00fcn \u2026 \u05e9\U0001f9ff"
    (job / "job.toml").write_text(toml.replace('"as cast"', f'"{name}"'), encoding="utf-8")
    command, *options = arguments
    code = "from portgeom_cli.main import main; main()"
    environment = {**os.environ, "PYTHONIOENCODING": "ascii", "PYTHONUTF8": "0"}
    done = subprocess.run(
        [sys.executable, "-c", code, command, str(job), *options], capture_output=True, env=environment, check=False
    )
    assert done.returncode == 0, done.stderr
    said = done.stdout.decode("ascii")
    if "--json" in arguments:
        stage = json.loads(said)["ports"][0]["stage"]
        assert stage.endswith("\u05e9\U0001f9ff")
    else:
        assert "grun ..." in said
        assert "\\ud83e\\uddff" in said


def test_at_80_columns_no_row_of_a_table_is_wider() -> None:
    for command in ("profile", "roof", "removal", "passes", "walls", "reach", "flow"):
        said = run(command, EXAMPLE, "--port", "2").stdout
        rows = [line for line in said.split("\n") if "  " in line.strip()]
        assert rows
        assert max(map(len, rows)) <= 80, command


def test_what_is_done_at_once_goes_without_a_word(capsys: pytest.CaptureFixture[str]) -> None:
    assert list(in_turn([1, 2, 3], "work")) == [1, 2, 3]
    assert capsys.readouterr().err == ""


def test_what_takes_long_says_in_a_log_where_it_is(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr(pacing, "PATIENCE_S", 0.01)
    for k in in_turn(["a", "b"], "work", lambda x: f"port {x}"):
        heard = ""
        until = time.monotonic() + 20.0
        while not heard and time.monotonic() < until:
            time.sleep(0.01)
            heard = capsys.readouterr().err
        assert heard.splitlines()[0] == f"work: {1 if k == 'a' else 2} of 2, port {k}"
        assert heard.isascii()


def test_on_a_terminal_a_bar_is_drawn_and_taken_away(monkeypatch: pytest.MonkeyPatch) -> None:
    class Terminal(io.StringIO):
        def isatty(self) -> bool:
            return True

    screen = Terminal()
    monkeypatch.setattr(sys, "stderr", screen)
    monkeypatch.setattr(pacing, "PATIENCE_S", 0.01)
    for _ in in_turn([1, 2], "work"):
        until = time.monotonic() + 20.0
        seen = len(screen.getvalue())
        while len(screen.getvalue()) == seen and time.monotonic() < until:
            time.sleep(0.01)
    drawn = screen.getvalue()
    assert "work [" + "-" * pacing.BAR + "] 1 of 2" in drawn
    assert "#" * (pacing.BAR // 2) + "-" * (pacing.BAR // 2) in drawn
    assert drawn.endswith("\r")
    assert "\n" not in drawn


def test_a_bar_is_a_line_of_one_terminal() -> None:
    for done in range(8):
        assert len(pace_line("report", done, 8, "port " + "x" * 300, bar=True)) <= 80
