"""The record of stages: whole or not at all, in turn, and unharmed by a kill at any moment."""

from __future__ import annotations

import json
import os
import subprocess
import sys
import threading
from pathlib import Path

import pytest

from portgeom.job.faults import JobError
from portgeom.job.read import read_job
from portgeom.job.record import record_stage
from portgeom.job.record_lock import LOCK_FILE, JobLockedError, locked
from portgeom.job.record_text import NewStage
from portgeom.job.values import Job

JOB = """\
title = "One port" # with a comment
units = "mm"
material = "grey iron"

[[port]]
name = "1"
kind = "intake"

  [[port.stage]]
  name = "as cast"
  sections = "cast.csv"

[limits] # after it
bulge = 0.6
"""

TABLE = "station,distance,shape,width,height,radius\n1,0,rectangle,40,{h},8\n2,80,rectangle,40,{h},8\n"
TRACED = "station,distance,shape,outline\n1,0,outline,traced/a.csv\n2,80,outline,traced/b.csv\n"
OUTLINE = "u,v\n20,-15\n20,15\n-20,15\n-20,-15\n"
NEW = NewStage("finished", "")


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    folder = tmp_path / "job"
    folder.mkdir()
    (folder / "job.toml").write_text(JOB, encoding="utf-8")
    (folder / "cast.csv").write_text(TABLE.format(h=30), encoding="utf-8")
    return folder


@pytest.fixture
def bench(tmp_path: Path) -> Path:
    """Return a folder elsewhere that holds new readings."""
    bench = tmp_path / "bench"
    (bench / "traced").mkdir(parents=True)
    (bench / "new.csv").write_text(TABLE.format(h=32), encoding="utf-8")
    (bench / "by-trace.csv").write_text(TRACED, encoding="utf-8")
    for name in ("a", "b"):
        (bench / "traced" / f"{name}.csv").write_text(OUTLINE, encoding="utf-8")
    return bench


def held(folder: Path) -> dict[str, bytes]:
    return {p.relative_to(folder).as_posix(): p.read_bytes() for p in folder.rglob("*") if p.is_file()}


def test_a_table_from_elsewhere_is_copied_in_and_the_earlier_one_kept(folder: Path, bench: Path) -> None:
    before = held(folder)
    done = record_stage(folder, "1", NEW, bench / "new.csv")
    assert done.copied == ("new.csv",)
    after = held(folder)
    assert after.keys() == {*before, "new.csv"}
    assert after["cast.csv"] == before["cast.csv"]
    assert after["new.csv"] == (bench / "new.csv").read_bytes()
    assert [s.name for s in read_job(folder).ports[0].stages] == ["as cast", "finished"]


def test_a_table_in_the_job_folder_is_named_where_it_is(folder: Path, bench: Path) -> None:
    (folder / "later").mkdir()
    (bench / "new.csv").rename(folder / "later" / "new.csv")
    done = record_stage(folder / "job.toml", "1", NEW, Path("later/new.csv"))
    assert (done.sections, done.copied) == ("later/new.csv", ())


def test_outlines_come_with_their_table(folder: Path, bench: Path) -> None:
    done = record_stage(folder, "1", NEW, bench / "by-trace.csv")
    assert done.copied == ("by-trace.csv", "traced/a.csv", "traced/b.csv")
    assert read_job(folder).ports[0].stages[1].sections.rows[0].outline.height_mm == 30.0


def spoil(bench: Path, text: str) -> None:
    (bench / "new.csv").write_text(text, encoding="utf-8")


@pytest.mark.parametrize(
    ("stage", "port", "table", "words"),
    [
        (NewStage("As Cast", ""), "1", TABLE.format(h=32), '"As Cast": is there already'),
        (NEW, "7", TABLE.format(h=32), "is not a port of this job"),
        (NEW, "1", TABLE.format(h=-32), "new.csv: row 2: height: "),
        (NEW, "1", TABLE.format(h=32).replace("80", "x"), "new.csv: row 3: distance: "),
        (NEW, "1", "station,distance\n", "new.csv"),
        (NEW, "1", TRACED.replace("traced/a", "../a"), 'new.csv: row 2: outline: "../a.csv" leads out'),
        (NEW, "1", TRACED.replace("traced/a", "traced/c"), '"traced/c.csv" is not beside the table'),
        (
            NewStage("finished", "", after="polish"),
            "1",
            TABLE.format(h=32),
            "job.toml: row 16: port '1' stage 'finished': after",
        ),
        (NewStage("finished", "", minutes=-1.0), "1", TABLE.format(h=32), "minutes: -1.0 is out of range"),
        (
            NewStage("finished", "", poured_cc=float("nan")),
            "1",
            TABLE.format(h=32),
            "poured_cc: nan is not a finite number",
        ),
        (NewStage("two\nlines", ""), "1", TABLE.format(h=32), "control character"),
        (NewStage("", ""), "1", TABLE.format(h=32), "name: is empty"),
    ],
)
def test_a_fault_is_told_with_its_place_and_nothing_is_written(
    folder: Path, bench: Path, stage: NewStage, port: str, table: str, words: str
) -> None:
    spoil(bench, table)
    before = held(folder)
    with pytest.raises(JobError) as caught:
        record_stage(folder, port, stage, bench / "new.csv")
    assert words in str(caught.value)
    assert ".job-" not in str(caught.value)
    assert held(folder) == before
    assert not (folder / "traced").exists()


def test_what_the_caller_finds_unsound_is_not_written(folder: Path, bench: Path) -> None:
    before = held(folder)

    def unsound(job: Job) -> None:
        assert len(job.ports[0].stages) == 2
        raise ArithmeticError("planes cross")

    with pytest.raises(ArithmeticError):
        record_stage(folder, "1", NEW, bench / "by-trace.csv", sound=unsound)
    assert held(folder) == before
    assert not (folder / "traced").exists()


def test_another_file_of_that_name_is_never_written_over(folder: Path, bench: Path) -> None:
    (folder / "new.csv").write_text("mine", encoding="utf-8")
    before = held(folder)
    with pytest.raises(JobError, match="is in the job folder already and holds something else"):
        record_stage(folder, "1", NEW, bench / "new.csv")
    assert held(folder) == before


def test_the_same_file_copied_before_is_used(folder: Path, bench: Path) -> None:
    (folder / "new.csv").write_bytes((bench / "new.csv").read_bytes())
    assert record_stage(folder, "1", NEW, bench / "new.csv").copied == ()


def test_a_job_that_is_not_sound_is_not_added_to(folder: Path, bench: Path) -> None:
    (folder / "cast.csv").unlink()
    before = held(folder)
    with pytest.raises(JobError, match=r"cast\.csv"):
        record_stage(folder, "1", NEW, bench / "new.csv")
    assert held(folder) == before


def test_the_job_file_keeps_its_mode_and_its_link(folder: Path, bench: Path, tmp_path: Path) -> None:
    (folder / "job.toml").chmod(0o640)
    link = tmp_path / "linked"
    link.symlink_to(folder, target_is_directory=True)
    record_stage(link, "1", NEW, bench / "new.csv")
    assert (folder / "job.toml").stat().st_mode & 0o777 == 0o640


def test_two_writers_at_once_lose_nothing(folder: Path, bench: Path) -> None:
    names = [f"stage {k}" for k in range(6)]
    for k in range(6):
        (bench / f"new-{k}.csv").write_text(TABLE.format(h=31 + k), encoding="utf-8")

    def write(k: int) -> None:
        record_stage(folder, "1", NewStage(names[k], ""), bench / f"new-{k}.csv", wait_s=60.0)

    writers = [threading.Thread(target=write, args=(k,)) for k in range(6)]
    for writer in writers:
        writer.start()
    for writer in writers:
        writer.join()
    assert {s.name for s in read_job(folder).ports[0].stages} == {"as cast", *names}


def test_a_writer_that_holds_the_job_is_named(folder: Path, bench: Path) -> None:
    before = held(folder)
    with locked(folder), pytest.raises(JobLockedError, match=r"another writer holds the job \(process \d+, "):
        record_stage(folder, "1", NEW, bench / "new.csv", wait_s=0.05)
    assert held(folder) == before


def test_a_broken_off_writer_is_told_and_what_it_had_not_finished_is_removed(folder: Path, bench: Path) -> None:
    (folder / LOCK_FILE).write_text("process 12345, 2026-01-31 10:00:00", encoding="utf-8")
    (folder / ".job-0011.part").write_text("half a ta", encoding="utf-8")
    done = record_stage(folder, "1", NEW, bench / "new.csv")
    assert any("broken off (process 12345, 2026-01-31 10:00:00)" in words for words in done.told)
    assert any("1 unfinished file of it removed" in words for words in done.told)
    assert sorted(held(folder)) == ["cast.csv", "job.toml", "new.csv"]


KILLS = 200
KILLED = """
import json, os, random, signal, sys, time
from pathlib import Path
from portgeom.job.read import read_job
from portgeom.job.record import record_stage
from portgeom.job.record_lock import LOCK_FILE
from portgeom.job.record_text import NewStage

folder, bench, kills = Path(sys.argv[1]), Path(sys.argv[2]), int(sys.argv[3])
rng = random.Random(7)
clean = (folder / "job.toml").read_bytes()
table = (bench / "new.csv").read_bytes()
in_the_act = unfinished = stages = 0
for k in range(kills):
    (folder / "job.toml").write_bytes(clean)
    for old in folder.glob("new-*.csv"):
        old.unlink()
    child = os.fork()
    if child == 0:
        try:
            for n in range(1000):
                place = bench / f"new-{n}.csv"
                place.write_bytes(table)
                record_stage(folder, "1", NewStage(f"stage {n}", ""), place)
        finally:
            os._exit(1)
    time.sleep(rng.uniform(0.0, 0.05))
    os.kill(child, signal.SIGKILL)
    _, status = os.waitpid(child, 0)
    assert os.WIFSIGNALED(status), status
    lock = folder / LOCK_FILE
    in_the_act += lock.exists() and lock.stat().st_size > 0
    unfinished += len(list(folder.glob(".job-*.part")))
    job = read_job(folder)  # still reads
    names = [s.name for s in job.ports[0].stages]
    assert names == ["as cast", *(f"stage {n}" for n in range(len(names) - 1))], names
    assert (folder / "job.toml").read_bytes().startswith(clean[: clean.index(b"[limits]") - 1])
    for path in folder.glob("*.csv"):
        assert path.name == "cast.csv" or path.read_bytes() == table, path  # no half file
    stages += len(names) - 1
done = record_stage(folder, "1", NewStage("last", ""), bench / "new.csv")
left = [p.name for p in folder.iterdir() if p.name.startswith(".")]
print(json.dumps({"in_the_act": in_the_act, "unfinished": unfinished, "stages": stages, "left": left}))
"""


@pytest.mark.skipif(not hasattr(__import__("os"), "fork"), reason="kills need fork")
def test_200_kills_at_random_moments_leave_a_job_that_reads_and_no_half_file(folder: Path, bench: Path) -> None:
    done = subprocess.run(
        [sys.executable, "-c", KILLED, folder, bench, str(KILLS)], capture_output=True, text=True, check=False
    )
    assert done.returncode == 0, done.stderr
    told = json.loads(done.stdout)
    assert told["left"] == []
    # the kills did fall into the writing, and stages were written between them
    assert told["in_the_act"] > KILLS // 4
    assert told["stages"] > 0


def test_a_job_folder_that_may_not_be_written_to_is_told_and_not_its_lock(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def refused(path: Path, *_: int) -> int:
        raise PermissionError(13, "Permission denied", str(path))

    # whoever runs this may be allowed everything, so the answer of the system is put in its mouth
    monkeypatch.setattr(os, "open", refused)
    with pytest.raises(PermissionError) as told, locked(tmp_path):
        pass
    assert told.value.filename == str(tmp_path)
