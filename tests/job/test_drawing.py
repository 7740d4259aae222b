"""Drawings in a job: an outline in a section table may be a DXF or an SVG."""

from __future__ import annotations

import io
from math import pi
from pathlib import Path

import ezdxf
import pytest

from portgeom.job.drawing import DRAWING_BYTES, DrawingError, read_drawing, tally
from portgeom.job.faults import Gathered, Spot, line
from portgeom.job.files import Folder
from portgeom.job.tables import read_sections
from portgeom.job.values import SectionTable, Units

CIRCLE = '<svg xmlns="http://www.w3.org/2000/svg" width="60mm" height="60mm" viewBox="-30 -30 60 60">{}</svg>'


def dxf_circle(units: int, radius: float = 20.0) -> str:
    document = ezdxf.new()
    document.header["$INSUNITS"] = units
    document.modelspace().add_circle((0.0, 0.0), radius, dxfattribs={"layer": "wall"})
    document.modelspace().add_circle((0.0, 0.0), 9.0, dxfattribs={"layer": "notes"})
    stream = io.StringIO()
    document.write(stream)
    return stream.getvalue()


def read(folder: Path, rows: str, *, units: Units = "mm") -> tuple[SectionTable | None, Gathered]:
    gathered = Gathered()
    (folder / "a.dxf").write_text(dxf_circle(4), encoding="utf-8")
    (folder / "bare.dxf").write_text(dxf_circle(0, 0.8), encoding="utf-8")
    (folder / "b.svg").write_text(CIRCLE.format('<circle r="21"/>'), encoding="utf-8")
    text = "distance,shape,width,outline,layer,drawing_units,across\n" + rows
    (folder / "t.csv").write_text(text, encoding="utf-8")
    at = Spot(gathered, "job.toml", 1, "sections")
    return read_sections("t.csv", at, folder=Folder(folder), units=units, lays_path=True), gathered


def test_a_section_table_takes_outlines_from_drawings(tmp_path: Path) -> None:
    rows = "0,outline,,a.dxf,wall,,\n20,outline,,b.svg,,,1.5\n40,outline,,bare.dxf,wall,in,\n"
    table, gathered = read(tmp_path, rows)
    assert table is not None, [line(f) for f in gathered.faults]
    areas = [row.outline.area_mm2 for row in table.rows]
    assert areas == pytest.approx([pi * 20.0**2, pi * 21.0**2, pi * (0.8 * 25.4) ** 2], rel=1e-4)
    assert table.rows[1].outline.centroid_mm == pytest.approx([1.5, 0.0], abs=1e-6)


def test_a_drawing_has_its_own_unit_whatever_the_job_is_in(tmp_path: Path) -> None:
    table, _ = read(tmp_path, "0,outline,,a.dxf,wall,,\n2,circle,1.6,,,,\n", units="in")
    assert table is not None
    assert table.rows[0].outline.area_mm2 == pytest.approx(pi * 20.0**2, rel=1e-4)


@pytest.mark.parametrize(
    ("row", "file", "field", "found"),
    [
        ("0,outline,,a.dxf,,,", "a.dxf", "drawing", "holds 2 closed lines"),
        ("0,outline,,a.dxf,wal,,", "a.dxf", "drawing", 'has nothing on a layer "wal"'),
        ("0,outline,,bare.dxf,wall,,", "bare.dxf", "drawing", r"says no unit \(\$INSUNITS\)"),
        ("0,outline,,bare.dxf,wall,inches,", "t.csv", "drawing_units", '"inches" is not known'),
        ("0,outline,,c.svg,,,", "t.csv", "outline", '"c.svg" is not in the job folder'),
        ("0,circle,40,,wall,,", "t.csv", "layer", "means nothing to the shape circle"),
        ("0,outline,,t.csv,wall,,", "t.csv", "layer", 'means nothing to "t.csv"'),
    ],
)
def test_what_is_wrong_with_a_drawing_is_told_once(tmp_path: Path, row: str, file: str, field: str, found: str) -> None:
    table, gathered = read(tmp_path, f"{row}\n20,circle,40,,,,\n")
    assert table is None
    assert [(f.file, f.field) for f in gathered.faults] == [(file, field)]
    with pytest.raises(AssertionError, match=found):
        raise AssertionError(gathered.faults[0].found)


def test_a_drawing_away_from_its_origin_is_told(tmp_path: Path) -> None:
    (tmp_path / "far.svg").write_text(CIRCLE.format('<circle cx="40" r="21"/>'), encoding="utf-8")
    _, gathered = read(tmp_path, "0,outline,,far.svg,,,\n20,circle,40,,,,\n")
    assert [(n.file, n.found) for n in gathered.notes] == [
        ("far.svg", "its origin lies outside the outline, so the path does too")
    ]


@pytest.mark.parametrize("suffix", [".dxf", ".svg"])
def test_a_drawing_is_bounded_before_it_is_read(suffix: str) -> None:
    with pytest.raises(DrawingError, match=r"has \d+ bytes; at most"):
        read_drawing(b" " * (DRAWING_BYTES[suffix] + 1), suffix)


def test_a_tally_says_the_commonest_first_and_ends() -> None:
    assert tally(["a", "b", "b", "c", "d", "e"]).startswith("2 b, ")
    assert tally(["a", "b", "b", "c", "d", "e"]).endswith(" and more")
