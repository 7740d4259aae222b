"""File names made of a job's own words: letters of any script are kept, no two are alike, none is too long."""

from __future__ import annotations

from portgeom.output.files.mesh_files import LONGEST, file_stems


def test_names_in_any_script_are_kept_and_told_apart() -> None:
    names = [("左",), ("右",), ("Einlaß 2",), ("منفذ ب",), ("é",), ("e\u0301",)]
    stems = file_stems(names)
    assert stems[:4] == ["port-左", "port-右", "port-einlass-2", "port-منفذ-ب"]
    # the same letter, written two ways, is one to some file systems
    assert stems[4:] == ["port-é", "port-é-2"]


def test_nothing_that_a_file_system_minds_gets_into_a_name() -> None:
    (stem,) = file_stems([('../a\\b:c*?"<>|\x00\n.. ', "..")])
    assert stem == "port-a-b-c"


def test_a_long_name_is_cut_at_a_letter() -> None:
    stems = file_stems([("進" * 300,), ("進" * 300,)])
    assert all(len(s.encode()) <= LONGEST + 2 for s in stems)
    assert stems[0].strip("進") == "port-"
    assert stems[1] == f"{stems[0]}-2"
