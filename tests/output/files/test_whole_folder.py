"""A folder appears whole or not at all."""

from __future__ import annotations

import os
from pathlib import Path

import pytest

from portgeom.output.files.whole_folder import write_folder


def test_files_lie_where_their_names_say(tmp_path: Path) -> None:
    write_folder(tmp_path / "a" / "job", {"job.toml": "x\n", "traces/1.csv": "u,v\n"})
    assert (tmp_path / "a" / "job" / "traces" / "1.csv").read_bytes() == b"u,v\n"
    assert {p.name for p in (tmp_path / "a").iterdir()} == {"job"}


def test_what_is_not_sound_leaves_nothing(tmp_path: Path) -> None:
    def refuse(folder: Path) -> None:
        assert (folder / "job.toml").is_file()
        raise ValueError("unsound")

    with pytest.raises(ValueError, match="unsound"):
        write_folder(tmp_path / "job", {"job.toml": "x"}, sound=refuse)
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize("what", ["file", "folder"])
def test_what_is_there_stays(tmp_path: Path, what: str) -> None:
    place = tmp_path / "job"
    kept = place if what == "file" else place / "mine"
    kept.parent.mkdir(exist_ok=True)
    kept.write_text("keep", encoding="utf-8")
    with pytest.raises(FileExistsError, match="is there already"):
        write_folder(place, {"job.toml": "x"})
    assert kept.read_text(encoding="utf-8") == "keep"
    assert [p.name for p in tmp_path.iterdir()] == ["job"]


def test_a_folder_that_cannot_be_written_to_is_told_by_its_own_name(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    # whoever runs this may be allowed everything, so the answer of the system is put in its mouth
    monkeypatch.setattr(os, "access", lambda path, mode: Path(path) != tmp_path)
    with pytest.raises(PermissionError) as refused:
        write_folder(tmp_path / "job", {"job.toml": "x"})
    assert refused.value.filename == str(tmp_path)
    assert list(tmp_path.iterdir()) == []
