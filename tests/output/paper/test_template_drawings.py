"""Templates as SVG and DXF: read back by other libraries with the same areas, units and layers."""

from __future__ import annotations

import io
from collections.abc import Callable
from xml.etree import ElementTree

import ezdxf
import numpy as np
import pytest
from svgpathtools import parse_path

from portgeom.job.values import Units
from portgeom.output.paper.template_drawing import Drawn, Lettering
from portgeom.output.paper.template_dxf import templates_dxf
from portgeom.output.paper.template_svg import templates_svg
from portgeom.questions.templates.pieces import Piece

SVG = "{http://www.w3.org/2000/svg}"


@pytest.mark.parametrize(("units", "code", "mm"), [("mm", 4, 1.0), ("in", 1, 25.4)])
def test_dxf_read_back_has_units_layers_and_areas(
    drawn: tuple[Drawn, ...], pieces: tuple[Piece, ...], units: Units, code: int, mm: float, area_of
) -> None:  # type: ignore[no-untyped-def]
    made = ezdxf.read(io.StringIO(templates_dxf("t", drawn, units=units).decode("utf-8")))
    assert made.header["$INSUNITS"] == code
    assert not made.audit().has_errors
    assert {"cut", "mark", "text"} <= {layer.dxf.name for layer in made.layers}
    cut = list(made.modelspace().query('LWPOLYLINE[layer=="cut"]'))
    assert all(line.closed for line in cut)
    areas = sorted(area_of(np.array(list(line.get_points("xy")))) * mm**2 for line in cut)
    assert areas == pytest.approx(sorted(p.area_mm2 for p in pieces), rel=1e-3)
    marks = [np.array(list(e.get_points("xy"))) for e in made.modelspace().query('LWPOLYLINE[layer=="mark"]')]
    bar = {"mm": 100.0, "in": 4.0}[units]
    assert any(len(m) == 2 and np.linalg.norm(m[1] - m[0]) == pytest.approx(bar) for m in marks)


def test_svg_read_back_has_its_size_in_mm_and_areas(
    drawn: tuple[Drawn, ...], pieces: tuple[Piece, ...], area_of: Callable[[np.ndarray], float]
) -> None:
    root = ElementTree.fromstring(templates_svg("t", drawn, units="mm"))
    _, _, wide, tall = (float(x) for x in root.attrib["viewBox"].split())
    assert root.attrib["width"] == f"{wide:.3f}mm"
    assert root.attrib["height"] == f"{tall:.3f}mm"
    groups = {g.attrib["id"]: g for g in root.iter(f"{SVG}g")}
    assert set(groups) == {"cut", "mark", "text"}
    areas = []
    for path in groups["cut"]:
        curve = parse_path(path.attrib["d"])
        assert curve.isclosed()
        areas.append(area_of(np.array([[seg.start.real, seg.start.imag] for seg in curve])))
    assert sorted(areas) == pytest.approx(sorted(p.area_mm2 for p in pieces), rel=1e-3)
    bar = next(p for p in groups["mark"] if p.attrib.get("id") == "check-bar")
    assert parse_path(bar.attrib["d"]).length() == pytest.approx(100.0, abs=1e-3)


def test_everything_in_the_svg_lies_in_its_view(drawn: tuple[Drawn, ...]) -> None:
    root = ElementTree.fromstring(templates_svg("t", drawn, units="in"))
    left, top, wide, tall = (float(x) for x in root.attrib["viewBox"].split())
    for path in root.iter(f"{SVG}path"):
        points = np.array([[s.start.real, s.start.imag] for s in parse_path(path.attrib["d"])])
        assert (points >= (left, top)).all()
        assert (points <= (left + wide, top + tall)).all()


def test_words_of_any_kind_stay_words() -> None:
    low, high = np.zeros(2), np.array([50.0, 50.0])
    words = "<script>alert(1)</script> & %%c ^J ]]> שער"
    piece = Drawn((), (Lettering((25.0, 25.0), words, 2.0),), low, high)
    root = ElementTree.fromstring(templates_svg("<b>&\x00", [piece], units="mm"))
    assert words in [t.text for t in root.iter(f"{SVG}text")]
    assert not list(root.iter(f"{SVG}script"))
    made = ezdxf.read(io.StringIO(templates_dxf("<b>&\x00\n", [piece], units="mm").decode("utf-8")))
    texts = [e.dxf.text for e in made.modelspace().query("TEXT")]
    assert any("<script>" in t and "שער" in t for t in texts)
    assert all("%%" not in t for t in texts)
