"""A section table and its outlines become a job, or are told what is missing."""

from __future__ import annotations

from pathlib import Path

import click.testing
import pytest
from portgeom_cli.main import main

from portgeom.job.read import read_job
from portgeom.model.lofted import loft_job

TABLE = "station,distance,pitch,yaw,shape,outline\n1,0,0,0,outline,a.csv\n2,30,4,0,outline,sub/b.csv\n"
OUTLINE = "u,v\n-20,-25\n20,-25\n20,25\n-20,25\n"
SAID = ("--title", "T", "--units", "mm", "--material", "aluminium", "--port", "2", "--kind", "intake")
NOTHING = ("--raise-roof", "0", "--widen", "0")


def traced(folder: Path, table: str = TABLE) -> Path:
    (folder / "sub").mkdir(parents=True)
    (folder / "a.csv").write_text(OUTLINE, encoding="utf-8")
    (folder / "sub" / "b.csv").write_text(OUTLINE.replace("25", "24"), encoding="utf-8")
    (folder / "sections.csv").write_text(table, encoding="utf-8")
    return folder / "sections.csv"


def new(*args: object) -> click.testing.Result:
    return click.testing.CliRunner().invoke(main, ["new", *(str(a) for a in args)])


def test_a_table_and_its_outlines_become_a_sound_job(tmp_path: Path) -> None:
    table = traced(tmp_path / "traced")
    result = new(tmp_path / "job", "--sections", table, *SAID, "--raise-roof", "1.5", "--widen", "0")
    assert result.exit_code == 0, result.output
    assert "2 stations" in result.stdout
    assert result.stderr == ""
    job = read_job(tmp_path / "job")
    assert [r.outline.area_mm2 for r in job.ports[0].stages[0].sections.rows] == pytest.approx([2000.0, 1920.0])
    volume = float(loft_job(job)[0].cast.surface.volume_mm3.sum())
    assert volume == pytest.approx(0.5 * (2000.0 + 1920.0) * 30.0, rel=2e-3)
    assert (tmp_path / "job" / "port-2-cast.csv").read_bytes() == table.read_bytes()
    assert "roof_raise = [[0.0, 1.5], [30.0, 1.5]]" in (tmp_path / "job" / "job.toml").read_text("utf-8")


def test_a_table_without_directions_is_told_to_be_straight(tmp_path: Path) -> None:
    table = traced(tmp_path / "traced", "distance,shape,width,height\n0,rectangle,40,50\n30,rectangle,40,48\n")
    result = new(tmp_path / "job", "--sections", table, *SAID, *NOTHING)
    assert result.exit_code == 0, result.output
    assert "sections.csv: table: says nothing of where the port points, so it is taken as straight" in result.stderr


@pytest.mark.parametrize(
    ("table", "found"),
    [
        (TABLE.replace("a.csv", "gone.csv"), 'sections.csv: row 2: outline: "gone.csv" is not in the job folder'),
        (TABLE.replace("a.csv", "../../x.csv"), "sections.csv: row 2: outline: "),
        (TABLE.replace("shape", "shap"), "sections.csv: row 1: shap: is not a column of this table"),
        (TABLE.replace("a.csv", "job.toml"), "is the name of a file that the job makes itself"),
        ("", "sections.csv: table: is empty"),
        (TABLE.replace("30,4", "0,4"), "does not rise above"),
    ],
)
def test_what_is_wrong_is_told_at_its_row_and_nothing_is_written(tmp_path: Path, table: str, found: str) -> None:
    result = new(tmp_path / "job", "--sections", traced(tmp_path / "traced", table), *SAID, *NOTHING)
    assert result.exit_code == 2
    assert found in result.stderr
    assert "nothing was written" in result.stderr
    assert not (tmp_path / "job").exists()


def test_a_table_that_is_not_there_is_told(tmp_path: Path) -> None:
    result = new(tmp_path / "job", "--sections", tmp_path / "none.csv", *SAID, *NOTHING)
    assert result.exit_code == 2
    assert "none.csv" in result.stderr


@pytest.mark.parametrize("more", [("--from-sheet", "s.csv"), ("--distances", "0 10"), ("--entry", "40x50x8")])
def test_a_table_says_itself_where_its_sections_are(tmp_path: Path, more: tuple[str, str]) -> None:
    result = new(tmp_path / "job", "--sections", traced(tmp_path / "traced"), *SAID, *NOTHING, *more)
    assert result.exit_code == 2
    assert "says itself where its sections are" in result.stderr or "give --sections or --from-sheet" in result.stderr
