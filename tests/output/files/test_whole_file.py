"""A file is there whole or not at all, also when its writer is killed, and what was begun is swept away later."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from pathlib import Path

import pytest

from portgeom.output.files.whole_file import refuse_if_there, write_whole

KILLS = 200
KILLED = """
import json, os, random, signal, sys, time
from pathlib import Path
from portgeom.output.files.whole_file import write_whole

place, kills = Path(sys.argv[1]), int(sys.argv[2])
rng = random.Random(3)
# as large as a report, and told apart by every byte
pages = [b"<!doctype html>" + letter * 1_500_000 for letter in (b"a", b"b")]
write_whole(place, pages[0])
begun = 0
seen = set()
for k in range(kills):
    child = os.fork()
    if child == 0:
        try:
            for n in range(100_000):
                write_whole(place, pages[n % 2], force=True)
        finally:
            os._exit(1)
    time.sleep(rng.uniform(0.0, 0.03))
    os.kill(child, signal.SIGKILL)
    _, status = os.waitpid(child, 0)
    assert os.WIFSIGNALED(status), status
    begun += sum(p != place for p in place.parent.iterdir())
    data = place.read_bytes()
    assert data in pages, len(data)
    seen.add(pages.index(data))
write_whole(place, pages[0], force=True)
left = [p.name for p in place.parent.iterdir()]
print(json.dumps({"begun": begun, "seen": len(seen), "left": left}))
"""


@pytest.mark.skipif(not hasattr(os, "fork"), reason="kills need fork")
def test_200_kills_while_a_report_is_written_leave_a_whole_one(tmp_path: Path) -> None:
    place = tmp_path / "report" / "job.html"
    done = subprocess.run(
        [sys.executable, "-c", KILLED, place, str(KILLS)], capture_output=True, text=True, check=False
    )
    assert done.returncode == 0, done.stderr
    told = json.loads(done.stdout)
    assert told["begun"] > KILLS // 4  # the kills did fall into the writing
    assert told["seen"] == 2
    assert told["left"] == ["job.html"]


def test_what_a_living_process_is_writing_is_left_alone(tmp_path: Path) -> None:
    place = tmp_path / "job.html"
    write_whole(place, b"one")
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(os, "replace", lambda *_: (_ for _ in ()).throw(KeyboardInterrupt))
        patch.setattr(Path, "unlink", lambda *_, **__: None)
        with pytest.raises(KeyboardInterrupt):
            write_whole(place, b"two", force=True)
    (begun,) = [p for p in tmp_path.iterdir() if p != place]
    write_whole(place, b"three", force=True)  # this process lives
    assert begun.read_bytes() == b"two"
    assert place.read_bytes() == b"three"


def test_files_of_other_names_are_left_alone(tmp_path: Path) -> None:
    others = [".job.html-notes", ".job.html-00000000-1-ab", "job.html-x", ".job.html.swp"]
    for name in others:
        (tmp_path / name).write_text("mine", encoding="utf-8")
    write_whole(tmp_path / "job.html", b"page")
    assert sorted(p.name for p in tmp_path.iterdir()) == sorted([*others, "job.html"])


def test_a_file_that_is_there_is_refused(tmp_path: Path) -> None:
    (tmp_path / "job.html").write_text("mine", encoding="utf-8")
    with pytest.raises(FileExistsError, match="is there already"):
        write_whole(tmp_path / "job.html", b"page")
    assert (tmp_path / "job.html").read_text(encoding="utf-8") == "mine"


def test_a_place_under_a_file_is_refused_before_anything_is_made(tmp_path: Path) -> None:
    (tmp_path / "notes").write_text("mine", encoding="utf-8")
    with pytest.raises(NotADirectoryError) as refused:
        refuse_if_there(tmp_path / "notes" / "deeper" / "page.html", force=True)
    assert refused.value.filename == str(tmp_path / "notes")


def test_a_folder_that_cannot_be_written_to_is_refused_before_any_work(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    # whoever runs this may be allowed everything, so the answer of the system is put in its mouth
    monkeypatch.setattr(os, "access", lambda path, mode: Path(path) != tmp_path)
    with pytest.raises(PermissionError) as refused:
        refuse_if_there(tmp_path / "new" / "page.html")
    assert refused.value.filename == str(tmp_path)
    assert list(tmp_path.iterdir()) == []
