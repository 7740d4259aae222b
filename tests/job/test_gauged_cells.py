"""A gauged section in a table: readings, corners, and where it lies; and pointer readings in an outline file."""

from __future__ import annotations

from math import pi
from pathlib import Path

import pytest

from portgeom.job.faults import Gathered, Spot, line
from portgeom.job.files import Folder
from portgeom.job.tables import read_sections
from portgeom.job.values import SectionTable, Units

HEADER = (
    "distance,shape,width_low,width,width_high,height_left,height,height_right,radius,across,up,side,floor,outline\n"
)
LAST = "30,circle,,40,,,,,,,,,,\n"
AREA = 40.0 * 48.0 - (4.0 - pi) * 9.0**2


def read(folder: Path, row: str, *, units: Units = "mm") -> tuple[SectionTable | None, Gathered]:
    gathered = Gathered()
    (folder / "t.csv").write_text(HEADER + row + "\n" + LAST, encoding="utf-8")
    spot = Spot(gathered, "job.toml", 1, "sections")
    return read_sections("t.csv", spot, folder=Folder(folder), units=units, lays_path=True), gathered


@pytest.mark.parametrize(
    ("placed", "middle"),
    [(",,,", (0.0, 0.0)), ("2,-1,,", (2.0, -1.0)), (",,18,-25", (2.0, -1.0)), ("2,,,-25", (2.0, -1.0))],
)
def test_a_gauged_section_has_its_area_and_its_place(tmp_path: Path, placed: str, middle: tuple[float, float]) -> None:
    table, gathered = read(tmp_path, f"0,gauged,40,40,40,48,48,48,9,{placed},")
    assert table is not None, [line(f) for f in gathered.faults]
    outline = table.rows[0].outline
    assert outline.area_mm2 == pytest.approx(AREA, rel=1e-4)
    assert outline.centroid_mm == pytest.approx(middle, abs=1e-6)
    assert gathered.notes == ()


def test_inches_become_millimetres(tmp_path: Path) -> None:
    row = ",".join(str(x / 25.4) for x in (40.0, 40.0, 40.0, 48.0, 48.0, 48.0, 9.0))
    table, _ = read(tmp_path, f"0,gauged,{row},,,,,", units="in")
    assert table is not None
    assert table.rows[0].outline.area_mm2 == pytest.approx(AREA, rel=1e-4)


@pytest.mark.parametrize(
    ("row", "field", "found"),
    [
        ("0,gauged,40,40,,48,48,48,9,,,,,", "width_high", "is blank"),
        ("0,gauged,40,40,x,48,48,48,9,,,,,", "width_high", "is not a number"),
        ("0,gauged,40,40,40,48,48,48,9,1,,19,,", "across", "gives a place that side gives too"),
        ("0,gauged,40,40,40,48,48,48,21,,,,,", "width", "corner radii 21 and 21 are longer"),
        ("0,gauged,40,40,40,48,48,48,9,,,,,b.csv", "outline", "means nothing to the shape gauged"),
        ("0,rectangle,30,38,,,48,,9,,,,,", "width_low", "means nothing to the shape rectangle"),
        ("0,rectangle,,38,,,48,,9,,,4,,", "side", "means nothing to the shape rectangle"),
        ("0,gauged,38,38,38,48,48,48,18,,,,,", "height_left", "does not suit the corner radii"),
    ],
)
def test_what_is_wrong_with_readings_is_told_at_the_cell(tmp_path: Path, row: str, field: str, found: str) -> None:
    table, gathered = read(tmp_path, row)
    assert table is None
    assert [(f.row, f.field) for f in gathered.faults] == [(2, field)]
    assert found in gathered.faults[0].found


def test_readings_and_radii_that_disagree_a_little_are_told(tmp_path: Path) -> None:
    # a 38 by 48 section with corners of 16, the radius misread as 17.5
    table, gathered = read(tmp_path, "0,gauged,36.98,38,36.98,45.24,48,45.24,17.5,,,,,")
    assert table is not None
    assert "it lies on a corner there" in gathered.notes[0].found


def pointer(folder: Path, text: str) -> tuple[SectionTable | None, Gathered]:
    (folder / "p.csv").write_text(text, encoding="utf-8")
    return read(folder, "0,outline,,,,,,,,1,,,,p.csv")


def test_an_outline_file_may_hold_clock_and_radius_in_any_order(tmp_path: Path) -> None:
    rows = [f"{clock},{23}" for clock in (0, 315, 45, 90, 180, 135, 225, 270)]
    table, gathered = pointer(tmp_path, "clock,radius\n" + "\n".join(rows))
    assert table is not None, [line(f) for f in gathered.faults]
    assert table.rows[0].outline.area_mm2 == pytest.approx(pi * 23.0**2, rel=1e-4)
    assert table.rows[0].outline.centroid_mm == pytest.approx([1.0, 0.0], abs=1e-9)


@pytest.mark.parametrize(
    ("text", "field", "found"),
    [
        ("clock,radius\n0,20\n45,20\n90,20\n45,20\n180,20\n270,20\n", "clock", "45 has a radius already"),
        ("clock,radius\n0,20\n90,20\n180,20\n270,20\n", "clock, radius", "4 radii"),
        ("clock,radius\n0,20\n90,20\n180,20\n270,20\n400,20\n", "clock", "is out of range"),
        ("clock,u\n0,20\n90,20\n180,20\n", "row", "has the columns clock, u"),
        ("u\n0\n", "row", "has the columns u"),
        ("clock,radius\n0,20\n90,\n180,20\n270,20\n", "radius", "is blank"),
    ],
)
def test_what_is_wrong_with_pointer_readings_is_told(tmp_path: Path, text: str, field: str, found: str) -> None:
    table, gathered = pointer(tmp_path, text)
    assert table is None
    assert [(f.file, f.field) for f in gathered.faults] == [("p.csv", field)]
    assert found in gathered.faults[0].found
