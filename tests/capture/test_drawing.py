"""A drawing anywhere becomes an outline, or one clear fault."""

from __future__ import annotations

from math import pi
from pathlib import Path

import pytest

from portgeom.capture.drawing import drawn_in, outline_from_drawing
from portgeom.job.faults import JobError

SVG = '<svg xmlns="http://www.w3.org/2000/svg"><circle id="a" r="20"/><circle id="b" r="30"/></svg>'


def test_layer_and_units_choose_the_outline(tmp_path: Path) -> None:
    path = tmp_path / "Slice.SVG"
    path.write_text(SVG, encoding="utf-8")
    assert outline_from_drawing(path, layer="b", units="mm").area_mm2 == pytest.approx(pi * 30.0**2, rel=1e-4)
    assert drawn_in(path, layer="a", units="mm").within_mm == pytest.approx(1e-5 * 40.0, rel=1e-3)


@pytest.mark.parametrize(
    ("name", "text", "found"),
    [
        ("a.svg", SVG, r"a\.svg: drawing: does not say how large its unit is; .+"),
        ("a.svg", SVG[:40], r"a\.svg: drawing: is not whole XML.+"),
        ("a.dxf", "0\nSECTION\n", r"a\.dxf: drawing: ends before its end.+"),
        ("a.dwg", "", r"a\.dwg: drawing: is no drawing that can be read; .+\.dxf or \.svg"),
        ("none.svg", None, r"none\.svg: drawing: .+ is not there; .+"),
    ],
)
def test_a_drawing_that_cannot_be_had_is_one_fault(tmp_path: Path, name: str, text: str | None, found: str) -> None:
    if text is not None:
        (tmp_path / name).write_text(text, encoding="utf-8")
    with pytest.raises(JobError, match=f"^{found}$"):
        outline_from_drawing(tmp_path / name)
