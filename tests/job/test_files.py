"""No file outside the job folder is read, and none that is too large."""

from __future__ import annotations

from pathlib import Path

import pytest

from portgeom.job.faults import Gathered, Spot
from portgeom.job.files import Folder, decoded, read_bounded, relative, unsafe


def spot() -> Spot:
    return Spot(Gathered(), "job.toml", 3, "sections")


def told(at: Spot) -> str:
    return "".join(f"{f.found}; {f.mend}" for f in at.gathered.faults)


@pytest.mark.parametrize(
    "name",
    [
        "../cast.csv",
        "traces/../../cast.csv",
        "..",
        "/etc/passwd",
        "//server/share/cast.csv",
        "\\\\server\\share\\cast.csv",
        "..\\cast.csv",
        "C:cast.csv",
        "C:/cast.csv",
        "cast.csv:stream",
        "file:///etc/passwd",
        "nul",
        "CON.csv",
        "traces/aux .csv",
        "COM1",
        "lpt9.txt",
        "cast.csv.",
        "cast.csv ",
        "cast\x00.csv",
        "cast\n.csv",
        "cast?.csv",
        "a" * 241,
    ],
)
def test_a_name_that_could_lead_out_on_some_system_is_refused(name: str, tmp_path: Path) -> None:
    assert unsafe(name) is not None
    at = spot()
    assert Folder(tmp_path).text(name, at, most_bytes=100) is None
    assert len(at.gathered.faults) == 1


@pytest.mark.parametrize("name", ["cast.csv", "traces/station-01.csv", "./cast.csv", "com10.csv", "ä b.csv"])
def test_a_plain_name_is_let_through(name: str) -> None:
    assert unsafe(name) is None


def test_a_link_out_of_the_folder_is_refused(tmp_path: Path) -> None:
    (tmp_path / "secret.csv").write_text("u,v\n", encoding="utf-8")
    root = tmp_path / "job"
    root.mkdir()
    try:
        (root / "cast.csv").symlink_to(tmp_path / "secret.csv")
        (root / "traces").symlink_to(tmp_path, target_is_directory=True)
    except OSError:
        pytest.skip("this system lets nobody make links")
    for name in ("cast.csv", "traces/secret.csv"):
        at = spot()
        assert Folder(root).text(name, at, most_bytes=100) is None
        assert "leads out of the job folder" in told(at)


def test_a_link_that_goes_round_in_a_ring_is_a_fault(tmp_path: Path) -> None:
    try:
        (tmp_path / "a.csv").symlink_to(tmp_path / "b.csv")
        (tmp_path / "b.csv").symlink_to(tmp_path / "a.csv")
    except OSError:
        pytest.skip("this system lets nobody make links")
    at = spot()
    assert Folder(tmp_path).text("a.csv", at, most_bytes=100) is None
    assert len(at.gathered.faults) == 1


def test_a_link_within_the_folder_is_read(tmp_path: Path) -> None:
    (tmp_path / "cast.csv").write_text("u,v\n", encoding="utf-8")
    try:
        (tmp_path / "same.csv").symlink_to(tmp_path / "cast.csv")
    except OSError:
        pytest.skip("this system lets nobody make links")
    assert Folder(tmp_path).text("same.csv", spot(), most_bytes=100) == "u,v\n"


@pytest.mark.parametrize(("size", "read"), [(100, True), (101, False)])
def test_a_file_is_read_up_to_its_bound_and_not_beyond(tmp_path: Path, size: int, read: bool) -> None:
    (tmp_path / "cast.csv").write_bytes(b"x" * size)
    at = spot()
    text = Folder(tmp_path).text("cast.csv", at, most_bytes=100)
    assert (text is not None) == read
    assert ("at most 100 are read" in told(at)) != read


def test_all_files_together_have_a_bound(tmp_path: Path) -> None:
    (tmp_path / "cast.csv").write_bytes(b"x" * 60)
    folder, at = Folder(tmp_path, bytes_left=100), spot()
    assert folder.text("cast.csv", at, most_bytes=100) is not None
    assert folder.text("cast.csv", at, most_bytes=100) is None
    assert "the job's files come to over" in told(at)


def test_a_byte_order_mark_is_no_part_of_the_text() -> None:
    assert decoded(b"\xef\xbb\xbfu,v", spot()) == "u,v"


@pytest.mark.parametrize("data", ["u,v\n".encode("utf-16"), b"\xfe\xff\x00u"])
def test_utf_16_is_named(data: bytes) -> None:
    at = spot()
    assert decoded(data, at) is None
    assert "is in UTF-16; save it as UTF-8" in told(at)


def test_a_byte_that_is_not_utf_8_is_told_with_its_row() -> None:
    at = spot()
    assert decoded(b"u,v\n1,2\n\xe4,3\n", at) is None
    assert at.gathered.faults[0].row == 3
    assert "byte 0xe4 is not UTF-8" in told(at)


def test_names_are_shown_without_what_means_nothing() -> None:
    assert relative("./traces//a.csv") == "traces/a.csv"


@pytest.mark.parametrize(("file", "named"), [("cast.csv", True), ("job.toml", False)])
def test_only_of_a_table_is_it_said_what_spreadsheets_call_utf_8(file: str, named: bool) -> None:
    at = Spot(Gathered(), file, None, "text")
    assert decoded(b"a\n\xe4", at) is None
    assert ("CSV UTF-8" in told(at)) is named


def test_a_folder_and_a_file_that_is_not_there_are_told_apart(tmp_path: Path) -> None:
    missing, folder = spot(), spot()
    assert read_bounded(tmp_path / "cast.csv", 100, missing) is None
    assert read_bounded(tmp_path, 100, folder) is None
    assert told(missing) == '"cast.csv" is not there; mend the name, or say where the file lies'
    assert told(folder) == f'"{tmp_path.name}" is a folder; name a file'
