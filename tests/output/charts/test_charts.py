"""Drawings come out as files whole, all or none."""

from __future__ import annotations

import pytest

from portgeom.output.charts.charts import cutting_drawings, drawings, write_charts
from portgeom.output.words.shown import Shown


def test_every_drawing_becomes_a_file(plain, cut, tmp_path):
    made = write_charts(plain.answers[0], cut(plain)[0], Shown("mm"), tmp_path, limits=plain.job.limits, stem="port-1")
    assert [p.name for p in made] == [
        "port-1-side.svg",
        "port-1-roof.svg",
        "port-1-area.svg",
        "port-1-sections.svg",
    ]
    assert all(p.read_bytes().startswith(b"<svg ") for p in made)


def test_pngs_are_pngs(plain, cut, tmp_path):
    made = write_charts(
        plain.answers[0], cut(plain)[0], Shown("in"), tmp_path, limits=plain.job.limits, stem="p", kind="png"
    )
    assert all(p.read_bytes().startswith(b"\x89PNG") for p in made)


def test_no_file_is_written_where_one_is_in_the_way(plain, cut, tmp_path):
    (tmp_path / "p-area.svg").write_text("mine")
    with pytest.raises(FileExistsError, match=r"p-area\.svg is there already"):
        write_charts(plain.answers[0], cut(plain)[0], Shown("mm"), tmp_path, limits=plain.job.limits, stem="p")
    assert [p.name for p in tmp_path.iterdir()] == ["p-area.svg"]


def test_drawings_describe_themselves_for_those_who_cannot_see(boss):
    told = {d.name: d.describe for d in drawings(boss.answers[0], Shown("mm"), boss.job.limits)}
    assert "at most 6.0 mm above the line: metal to take off, at 50" in told["roof"]


def test_passes_and_walls_are_drawn_where_there_are_any(drilled, plain, cut):
    shown = Shown("mm")
    assert [d.name for d in cutting_drawings(drilled.answers[0], cut(drilled)[0], shown)] == ["passes", "walls"]
    assert cutting_drawings(plain.answers[0], cut(plain)[0], shown) == ()


def test_wall_map_tells_those_who_cannot_see_what_is_thin(drilled, cut):
    told = {d.name: d.describe for d in cutting_drawings(drilled.answers[0], cut(drilled)[0], Shown("mm"))}
    assert "bolt hole: 3.0 mm, thin" in told["walls"]
    assert "at the target" in told["walls"]
