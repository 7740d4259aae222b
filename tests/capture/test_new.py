"""A first job: by options, by questions, or from a filled sheet; whole or not at all."""

from __future__ import annotations

import csv
import re
import tomllib
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from click.testing import CliRunner, Result
from portgeom_cli.main import main

from portgeom.capture.new_job import FirstJob, Guess, Wish, distances_of, first_job, material_of, size_of, table_names
from portgeom.job.faults import JobError
from portgeom.job.read import read_job
from portgeom.model.lofted import loft_job
from portgeom.output.files.whole_folder import write_folder

ASKED = FirstJob("Head", "mm", "grey iron", ("1",), "intake", (0.0, 30.0, 60.0, 90.0))
GUESS = Guess(41.0, 49.0, 11.0, 46.0, 70.0)


def run(*arguments: str | Path, answers: str = "") -> Result:
    return CliRunner().invoke(main, [str(a) for a in arguments], input=answers)


def fill(table: Path) -> None:
    """Fill a blank table in as a person would."""
    with table.open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    for row in rows:
        row |= {"shape": "rectangle", "width": "40", "height": "48", "radius": "10"}
    with table.open("w", encoding="utf-8", newline="") as file:
        writer = csv.DictWriter(file, rows[0])
        writer.writeheader()
        writer.writerows(rows)


def test_a_blank_job_lacks_its_shapes_and_nothing_else(tmp_path: Path) -> None:
    write_folder(tmp_path / "job", first_job(ASKED))
    with pytest.raises(JobError, match="shape: is blank") as caught:
        read_job(tmp_path / "job")
    assert {(f.file, f.field) for f in caught.value.faults} == {("port-1-cast.csv", "shape")}


@pytest.mark.parametrize("wish", [None, Wish(1.0, 0.0), Wish(0.0, 0.5), Wish(1.0, 0.5)])
def test_once_its_table_is_filled_in_it_is_sound(tmp_path: Path, wish: Wish | None) -> None:
    answers = FirstJob('Köpfe "2" \\ ü', "mm", "7", ("1", "2"), "exhaust", (0.0, 30.0, 60.0), wish)
    write_folder(tmp_path / "job", first_job(answers))
    for name in ("port-1-cast.csv", "port-2-cast.csv"):
        fill(tmp_path / "job" / name)
    job = read_job(tmp_path / "job")
    assert (job.title, job.density_g_cc) == ('Köpfe "2" \\ ü', 7.0)
    assert [p.name for p in job.ports] == ["1", "2"]
    assert bool(job.targets) is (wish is not None)
    assert len(loft_job(job)) == 2
    if wish and wish.raise_roof:
        assert job.targets[0].roof is not None
        assert job.targets[0].roof.rows.tolist() == [[0.0, 1.0], [60.0, 1.0]]
    if wish and wish.widen:
        assert job.targets[0].widen is not None
        assert job.targets[0].widen.tolist() == [[0.0, 0.5, 0.5], [60.0, 0.5, 0.5]]


def test_a_first_guess_is_sound_at_once_and_ends_in_the_throat(tmp_path: Path) -> None:
    answers = FirstJob("Head", "in", "aluminium", ("1",), "intake", (0.0, 1.2, 2.4, 3.6), None,
                       Guess(1.6, 1.9, 0.4, 1.8, 60.0))  # fmt: skip
    write_folder(tmp_path / "job", first_job(answers))
    rows = loft_job(read_job(tmp_path / "job"))[0].cast.stage.sections.rows
    assert rows[0].outline.width_mm == pytest.approx(1.6 * 25.4)
    assert rows[-1].outline.width_mm == pytest.approx(1.8 * 25.4)
    assert [r.pitch_deg for r in rows] == pytest.approx([0.0, 0.0, 60.0 * (2 / 3 - 0.4) / 0.6, 60.0], abs=0.01)


BY_OPTIONS = ("--title", "Head", "--units", "mm", "--material", "grey iron", "--port", "1", "--kind", "intake",
              "--distances", "0 12 24 40 60 80 100", "--raise-roof", "1", "--widen", "0")  # fmt: skip


def test_options_alone_make_a_job_and_ask_nothing(tmp_path: Path) -> None:
    folder = tmp_path / "job"
    result = run("new", folder, *BY_OPTIONS, "--entry", "41x49x11", "--throat", "46", "--turn", "70")
    assert result.exit_code == 0, result.stderr
    assert result.stderr == ""
    checked = run("check", folder)
    assert checked.exit_code == 0, checked.stderr


def test_questions_are_asked_for_what_is_missing_and_again_after_a_slip(tmp_path: Path) -> None:
    answers = "My head\nfurlongs\nmm\nbronze\naluminium\n1,1\n1,2\nintake\n4\n0 20 30\n90\n1.5\n0\n"
    result = run("new", tmp_path / "job", answers=answers)
    assert result.exit_code == 0, result.stderr
    assert "'bronze' is not known" in result.stderr
    assert "3 distances for 4 stations" in result.stderr
    for name in ("port-1-cast.csv", "port-2-cast.csv"):
        fill(tmp_path / "job" / name)
    job = read_job(tmp_path / "job")
    assert (job.title, job.material, job.units) == ("My head", "aluminium", "mm")
    assert [r.distance_mm for r in job.ports[1].stages[0].sections.rows] == [0.0, 30.0, 60.0, 90.0]
    assert job.targets[0].roof_kind == "roof_raise"


@pytest.mark.parametrize(
    ("options", "told"),
    [
        ((), "--title is not given, and nobody answers"),
        (("--title", "T", "--units", "mm", "--material", "brass"), "--material: 'brass' is not known"),
        ((*BY_OPTIONS, "--stations", "5"), "give --distances, or --stations with --length"),
        ((*BY_OPTIONS, "--throat", "46"), "give --entry too"),
        ((*BY_OPTIONS, "--entry", "41x49x30", "--throat", "46"), "--entry: corner radius 30 is longer than half"),
        ((*BY_OPTIONS, "--entry", "41", "--throat", "46"), "is no section"),
        ((*BY_OPTIONS, "--entry", "41xa", "--throat", "46"), "--entry: 'a' is not a number that can be a length"),
        ((*BY_OPTIONS, "--widen", "-1"), "'--widen': -1.0 is not in the range"),
        ((*BY_OPTIONS, "--port", "1"), "--port: give each port a name of its own"),
        ((*BY_OPTIONS, "--title", "a\x07b"), "--title: write it on one line"),
        ((*BY_OPTIONS[:-6], "--distances", "0 5 5", "--raise-roof", "0", "--widen", "0"), "distances must rise"),
        ((*BY_OPTIONS, "--from-sheet", "t.csv"), "a sheet says itself where its sections are"),
    ],
)  # fmt: skip
def test_what_cannot_be_is_said_and_nothing_is_written(tmp_path: Path, options: tuple[str, ...], told: str) -> None:
    result = run("new", tmp_path / "job", *options)
    assert result.exit_code == 2
    assert told in result.stderr
    assert list(tmp_path.iterdir()) == []


def test_a_guess_whose_planes_cross_is_told_and_leaves_nothing(tmp_path: Path) -> None:
    result = run("new", tmp_path / "job", *BY_OPTIONS[:10], "--distances", "0 10 20 30", "--raise-roof", "0", "--widen",
                 "0", "--entry", "60x60x10", "--throat", "60", "--turn", "90")  # fmt: skip
    assert result.exit_code == 2
    assert "nothing was written" in result.stderr
    assert list(tmp_path.iterdir()) == []


def test_a_persons_folder_is_never_written_over(tmp_path: Path) -> None:
    folder = tmp_path / "job"
    folder.mkdir()
    (folder / "mine.txt").write_text("keep", encoding="utf-8")
    result = run("new", folder, *BY_OPTIONS)
    assert result.exit_code == 2
    assert "is there already" in result.stderr
    assert [p.name for p in folder.iterdir()] == ["mine.txt"]


def test_an_empty_folder_is_a_place_to_start_in(tmp_path: Path) -> None:
    (tmp_path / "job").mkdir()
    assert run("new", tmp_path / "job", *BY_OPTIONS).exit_code == 0
    assert (tmp_path / "job" / "job.toml").is_file()


def test_a_sheet_goes_out_and_comes_back_as_a_job(tmp_path: Path) -> None:
    sheet = tmp_path / "sheet.pdf"
    printed = run("sheet", "--out", sheet, "--face", "0 20 40", "--turn", "30 60", "--bowl", "12 0", "--semicolons")
    assert printed.exit_code == 0, printed.stderr
    table = tmp_path / "sheet.csv"
    values = {
        "face_to_deck": "90", "arbor_away": "90", "arbor_right": "90", "face_to_arbor": "83", "seat_below_deck": "8",
        "floor_above_deck": "40", "roof_above_deck": "86", "short_radius": "20", "crest_depth": "40",
        "crest_height": "0",
    }  # fmt: skip
    face = ["39,84", "46", "39,84", "39,84", "46", "39,84", "23", "23", "23", "23", "0", "23"]
    lines = []
    for line in table.read_text(encoding="utf-8").splitlines():
        kind, at, *rest = line.split(";")
        if kind in values:
            rest[0] = values[kind]
        elif kind == "face":
            rest[1:13] = face
        elif kind == "turn":
            rest[2], rest[5] = "46", "46"
        elif kind == "bowl":
            rest[13:21] = ["23"] * 8
        lines.append(";".join([kind, at, *rest, "", ""]))
    table.write_text("\n".join(lines) + "\n;;\n", encoding="utf-8-sig")
    made = run("new", tmp_path / "job", "--from-sheet", table, "--title", "T", "--material", "7.1", "--port", "2",
               "--kind", "intake", "--raise-roof", "0", "--widen", "0")  # fmt: skip
    assert made.exit_code == 0, made.stderr
    assert "turn 1: held 3 degrees wrong, its area would be 0.0 percent another" in made.stdout
    assert "corner radii and side position not gauged; carried over" in made.stderr
    assert (tmp_path / "job" / "measuring-sheet.csv").is_file()
    areas = [r.outline.area_mm2 for r in read_job(tmp_path / "job").ports[0].stages[0].sections.rows]
    assert areas == pytest.approx([1661.9] * 7, rel=2e-3)  # pi 23^2
    assert run("check", tmp_path / "job").exit_code == 0
    blank = run("new", tmp_path / "other", "--from-sheet", tmp_path / "none.csv")
    assert blank.exit_code == 2
    assert not (tmp_path / "other").exists()


def test_the_sheet_is_not_written_over_unasked(tmp_path: Path) -> None:
    out = tmp_path / "s.pdf"
    assert run("sheet", "--out", out).exit_code == 0
    again = run("sheet", "--out", out)
    assert again.exit_code == 2
    assert "s.pdf" in again.stderr
    assert run("sheet", "--out", out, "--force").exit_code == 0


def test_marks_that_are_none_are_a_plain_fault(tmp_path: Path) -> None:
    result = run("sheet", "--out", tmp_path / "s.pdf", "--turn", "x")
    assert result.exit_code == 2
    assert "turn mark 'x' is not a number" in result.stderr
    assert list(tmp_path.iterdir()) == []


def test_the_scale_card_is_printed_on_its_own(tmp_path: Path) -> None:
    assert run("sheet", "--scale-card", "--out", tmp_path / "card.pdf").exit_code == 0
    assert [p.name for p in tmp_path.iterdir()] == ["card.pdf"]
    assert (tmp_path / "card.pdf").read_bytes().startswith(b"%PDF-")


def test_names_of_tables_are_plain_and_apart() -> None:
    assert table_names(["A/B", "a b", "../x", "Ж"]) == (
        "port-a-b-cast.csv", "port-a-b-b-cast.csv", "port-x-cast.csv", "port-x-b-cast.csv"
    )  # fmt: skip


@pytest.mark.parametrize("text", ["", "1 2", "0", "0 a", "0 5 5", "0 inf", " ".join(["1"] * 300)])
def test_distances_that_are_none_are_refused(text: str) -> None:
    with pytest.raises(ValueError, match=r"."):
        distances_of(text)


@pytest.mark.parametrize("text", ["0x4", "4", "4x4x3", "4x4x-1", "axb"])
def test_sizes_that_are_none_are_refused(text: str) -> None:
    with pytest.raises(ValueError, match=r"section|half a side|not a number"):
        size_of(text)


@pytest.mark.parametrize("text", ["", "iron", "0.5", "21", "7.1 g/cc", "1e1"])
def test_materials_that_are_none_are_refused(text: str) -> None:
    with pytest.raises(ValueError, match="is not known"):
        material_of(text)


def _uncommented(toml: str) -> dict:  # type: ignore[type-arg]
    """Return a first job with its commented-out examples taken at their word."""
    lines = [re.sub(r"^(\s*)# (?=\[|[a-z_]+\s*= )", r"\1", line) for line in toml.splitlines()]
    return tomllib.loads("\n".join(lines))


def test_the_examples_in_a_first_job_are_in_its_own_units() -> None:
    """What a person would uncomment stands for the same sizes in either unit, to a fiftieth of an inch."""
    by_unit = {
        "mm": _uncommented(first_job(replace(ASKED, ports=("1", "2")))["job.toml"]),
        "in": _uncommented(first_job(replace(ASKED, units="in", ports=("1", "2")))["job.toml"]),
    }
    metric, inch = by_unit["mm"], by_unit["in"]
    for key in ("start", "end", "diameter"):
        assert 25.4 * np.array(inch["hazard"][0][key]) == pytest.approx(np.array(metric["hazard"][0][key]), abs=0.5)
    assert 25.4 * np.array(inch["port"][0]["position"]) == pytest.approx(
        np.array(metric["port"][0]["position"]), abs=0.5
    )
    for key in ("roof_raise", "widen"):
        assert 25.4 * inch["target"][0][key][0][1] == pytest.approx(metric["target"][0][key][0][1], abs=0.1)
