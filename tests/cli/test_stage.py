"""The command ``stage add``: one stage more, or faults and nothing written."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest
from click.testing import CliRunner, Result
from portgeom_cli.main import main

from portgeom.job import record_lock
from portgeom.job.read import read_job

STAGES = Path(__file__).parents[2] / "examples" / "workshop-stages"


@pytest.fixture
def job(tmp_path: Path) -> Path:
    return Path(shutil.copytree(STAGES, tmp_path / "job"))


@pytest.fixture
def table(tmp_path: Path, job: Path) -> Path:
    place = tmp_path / "port-1-polished.csv"
    shutil.copy(job / "port-1-finished.csv", place)
    return place


def add(job: Path, *options: str | Path) -> Result:
    return CliRunner().invoke(main, ["stage", "add", str(job), *(str(o) for o in options)])


def test_a_stage_is_added_with_all_that_is_said_of_it(job: Path, table: Path) -> None:
    before = (job / "job.toml").read_text(encoding="utf-8")
    options = ("--after", "blend the roof", "--minutes", "6", "--poured-cc", "219.9", "--valve-in", "--to-seat", "2.6")
    result = add(job, "--port", "1", "--name", "polished", "--sections", table, *options)
    assert result.exit_code == 0, result.stderr
    assert result.stdout == 'Port 1 now has 3 stages, the latest "polished" from port-1-polished.csv.\n'
    assert result.stderr == "Copied port-1-polished.csv into the job folder.\n"
    stage = read_job(job).ports[0].stages[-1]
    assert (stage.name, stage.after, stage.minutes, stage.poured_cc) == ("polished", "blend the roof", 6.0, 219.9)
    assert stage.pour is not None
    assert (stage.pour.valve_in, stage.pour.plate_recess_cc, stage.pour.to_seat_mm) == (True, 0.0, 2.6)
    after = (job / "job.toml").read_text(encoding="utf-8")
    start = next(k for k in range(len(before)) if before[k] != after[k])
    more = len(after) - len(before)
    assert after[:start] + after[start + more :] == before


@pytest.mark.parametrize(
    ("options", "words"),
    [
        (("--port", "9", "--name", "polished"), 'job.toml: port "9": is not a port of this job; known are 1, 2'),
        (("--port", "1", "--name", "finished"), '"finished": is there already'),
        (("--port", "1", "--name", "p", "--after", "polish"), "[[pass]]"),
        (("--port", "1", "--name", "p", "--plate-recess-cc", "2"), "say --valve-in or --plugged"),
    ],
)
def test_what_is_wrong_is_told_and_nothing_is_written(
    job: Path, table: Path, options: tuple[str, ...], words: str
) -> None:
    before = {p: p.read_bytes() for p in job.rglob("*") if p.is_file()}
    result = add(job, "--sections", table, *options)
    assert result.exit_code == 2
    assert words in result.stderr
    assert {p: p.read_bytes() for p in job.rglob("*") if p.is_file()} == before


def test_a_folder_in_place_of_a_table_is_told_as_one(job: Path) -> None:
    result = add(job, "--port", "1", "--name", "p", "--sections", job)
    assert result.exit_code == 2
    assert result.stderr.startswith(f"{job.name}: sections: is a folder; name a section table")


def test_sections_that_make_no_surface_are_not_written(job: Path, table: Path) -> None:
    """Read without a fault, but its last station lies beyond the port's path."""
    table.write_text(table.read_text(encoding="utf-8").replace("12,122.0,", "12,125.0,"), encoding="utf-8")
    result = add(job, "--port", "1", "--name", "polished", "--sections", table)
    assert result.exit_code == 2
    assert "port-1-polished.csv: row 13: distance: station 12 is at 125 mm, off the port's path" in result.stderr
    assert len(read_job(job).ports[0].stages) == 2
    assert not (job / "port-1-polished.csv").exists()


def test_another_writer_is_named_and_waited_for(job: Path, table: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(record_lock, "WAIT_S", 0.0)
    before = (job / "job.toml").read_bytes()
    with record_lock.locked(job):
        result = add(job, "--port", "1", "--name", "polished", "--sections", table)
    assert result.exit_code == 2
    assert "another writer holds the job (process " in result.stderr
    assert "wait until it has ended" in result.stderr
    assert (job / "job.toml").read_bytes() == before
