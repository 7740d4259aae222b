"""Outlines out of DXF drawings written by ezdxf, against closed forms; and what is refused."""

from __future__ import annotations

import io
from collections.abc import Callable
from math import cos, pi, radians, sin, tan

import ezdxf
import numpy as np
import pytest
from ezdxf.layouts import Modelspace

from portgeom.job.drawing import WITHIN_MM, DrawingError, read_drawing

W, H, R = 41.5, 49.9, 11.0
RADIUSED = W * H - (4.0 - pi) * R**2
QUARTER = tan(pi / 8.0)  # bulge of a quarter turn
MM, INCH, BARE = 4, 1, 0

Draw = Callable[[Modelspace], object]


def dxf(draw: Draw, *, units: int = MM, version: str = "R2010") -> bytes:
    document = ezdxf.new(version)
    document.header["$INSUNITS"] = units
    draw(document.modelspace())
    stream = io.StringIO()
    document.write(stream)
    return stream.getvalue().encode("utf-8")


def bulged(space: Modelspace) -> object:
    x, y = 0.5 * W, 0.5 * H
    corners = [
        (x, R - y, 0.0),
        (x, y - R, QUARTER),
        (x - R, y, 0.0),
        (R - x, y, QUARTER),
        (-x, y - R, 0.0),
        (-x, R - y, QUARTER),
        (R - x, -y, 0.0),
        (x - R, -y, QUARTER),
    ]
    if space.doc is not None and space.doc.dxfversion == "AC1009":
        return space.add_polyline2d(corners, format="xyb", close=True)
    return space.add_lwpolyline(corners, format="xyb", close=True)


def lines_and_arcs(space: Modelspace) -> object:
    """The same, as loose lines and arcs in no order."""
    x, y = 0.5 * W, 0.5 * H
    space.add_line((x, R - y), (x, y - R))
    space.add_arc((R - x, R - y), R, 180.0, 270.0)
    space.add_line((-x, R - y), (-x, y - R))
    space.add_arc((x - R, y - R), R, 0.0, 90.0)
    space.add_line((x - R, y), (R - x, y))
    space.add_arc((x - R, R - y), R, 270.0, 360.0)
    space.add_line((R - x, -y), (x - R, -y))
    return space.add_arc((R - x, y - R), R, 90.0, 180.0)


def test_a_radiused_rectangle_of_bulges_has_its_area() -> None:
    drawn = read_drawing(dxf(bulged), ".dxf")
    assert drawn.outline.area_mm2 == pytest.approx(RADIUSED, rel=1e-4)
    assert drawn.outline.width_mm == pytest.approx(W)
    assert drawn.outline.height_mm == pytest.approx(H)
    assert drawn.within_mm <= WITHIN_MM
    assert drawn.told == ()


def test_an_old_polyline_of_bulges_has_the_same_area() -> None:
    outline = read_drawing(dxf(bulged, version="R12"), ".dxf", units="mm").outline
    assert outline.area_mm2 == pytest.approx(RADIUSED, rel=1e-4)


def test_loose_lines_and_arcs_are_chained_into_the_same_loop() -> None:
    assert read_drawing(dxf(lines_and_arcs), ".dxf").outline.area_mm2 == pytest.approx(RADIUSED, rel=1e-4)


@pytest.mark.parametrize("turn_deg", [0.0, 30.0, 137.0])
def test_an_ellipse_has_its_area_and_place(turn_deg: float) -> None:
    a, b = 25.0, 18.0
    axis = (a * cos(radians(turn_deg)), a * sin(radians(turn_deg)))
    outline = read_drawing(dxf(lambda m: m.add_ellipse((3.0, -2.0), axis, b / a)), ".dxf").outline
    assert outline.area_mm2 == pytest.approx(pi * a * b, rel=1e-4)
    assert outline.centroid_mm == pytest.approx([3.0, -2.0], abs=1e-6)


def test_half_an_ellipse_is_closed_by_a_line() -> None:
    def draw(space: Modelspace) -> object:
        space.add_line((-25.0, 0.0), (25.0, 0.0))
        return space.add_ellipse((0.0, 0.0), (25.0, 0.0), 0.6, 0.0, pi)

    outline = read_drawing(dxf(draw), ".dxf").outline
    assert outline.area_mm2 == pytest.approx(0.5 * pi * 25.0 * 15.0, rel=1e-4)
    assert outline.low_mm[1] == pytest.approx(0.0)


def test_a_spline_has_the_area_that_its_control_points_give() -> None:
    # a Bezier quarter as a clamped cubic spline: its area under the curve is an integral of polynomials
    control = np.array([[20.0, 0.0], [20.0, 12.0], [9.0, 20.0], [0.0, 20.0]])

    def draw(space: Modelspace) -> object:
        space.add_lwpolyline([(0.0, 20.0), (0.0, 0.0), (20.0, 0.0)])
        return space.add_open_spline([(x, y, 0.0) for x, y in control], degree=3)

    t, w = np.polynomial.legendre.leggauss(8)
    t = 0.5 * (t + 1.0)
    s = 1.0 - t
    basis = np.array([s**3, 3 * s**2 * t, 3 * s * t**2, t**3])
    slope = np.array([-3 * s**2, 3 * s**2 - 6 * s * t, 6 * s * t - 3 * t**2, 3 * t**2])
    x, y, dx, dy = (*(basis.T @ control).T, *(slope.T @ control).T)
    area = 0.5 * float(np.sum(0.5 * w * (x * dy - y * dx)))  # Green's theorem; the straight sides add nothing
    assert read_drawing(dxf(draw), ".dxf").outline.area_mm2 == pytest.approx(area, rel=1e-4)


def test_a_circle_drawn_from_behind_lies_where_it_is_seen() -> None:
    outline = read_drawing(dxf(lambda m: m.add_circle((5.0, 0.0), 12.0, {"extrusion": (0, 0, -1)})), ".dxf").outline
    assert outline.area_mm2 == pytest.approx(pi * 12.0**2, rel=1e-4)
    assert outline.centroid_mm == pytest.approx([-5.0, 0.0], abs=1e-6)


@pytest.mark.parametrize(("units", "mm"), [(INCH, 25.4), (MM, 1.0), (5, 10.0)])
def test_the_drawings_own_unit_is_honoured(units: int, mm: float) -> None:
    outline = read_drawing(dxf(lambda m: m.add_circle((0.0, 0.0), 2.0), units=units), ".dxf").outline
    assert outline.area_mm2 == pytest.approx(pi * (2.0 * mm) ** 2, rel=1e-4)


def test_a_drawing_without_a_unit_is_refused_unless_told() -> None:
    data = dxf(lambda m: m.add_circle((0.0, 0.0), 2.0), units=BARE)
    with pytest.raises(DrawingError, match=r"says no unit .*; save it with a unit, or tell it"):
        read_drawing(data, ".dxf")
    assert read_drawing(data, ".dxf", units="in").outline.area_mm2 == pytest.approx(pi * 50.8**2, rel=1e-4)


def test_a_unit_told_against_the_drawings_own_is_taken_and_said() -> None:
    drawn = read_drawing(dxf(lambda m: m.add_circle((0.0, 0.0), 20.0), units=INCH), ".dxf", units="mm")
    assert drawn.outline.area_mm2 == pytest.approx(pi * 20.0**2, rel=1e-4)
    assert drawn.told == ("says that its unit is in; taken as mm, as told",)


def two_layers(space: Modelspace) -> None:
    space.add_circle((0.0, 0.0), 20.0, {"layer": "Wall"})
    space.add_circle((0.0, 0.0), 25.0, {"layer": "Gasket"})
    space.add_text("looking in", dxfattribs={"layer": "Wall"})


def test_a_layer_is_chosen_in_large_or_small_letters() -> None:
    drawn = read_drawing(dxf(two_layers), ".dxf", layer="wall")
    assert drawn.outline.area_mm2 == pytest.approx(pi * 20.0**2, rel=1e-4)
    assert drawn.told == ("left out what is no line: 1 text",)


def test_a_layer_that_is_off_is_left_out() -> None:
    def draw(space: Modelspace) -> None:
        two_layers(space)
        assert space.doc is not None
        space.doc.layers.add("Gasket").off()

    assert read_drawing(dxf(draw), ".dxf").outline.area_mm2 == pytest.approx(pi * 20.0**2, rel=1e-4)


def crossing(space: Modelspace) -> object:
    return space.add_lwpolyline([(-10, -10), (10, 10), (10, -10), (-10, 12)], close=True)


def block(space: Modelspace) -> object:
    assert space.doc is not None
    space.doc.blocks.new("section").add_circle((0.0, 0.0), 20.0)
    return space.add_blockref("section", (0.0, 0.0))


def tilted(space: Modelspace) -> object:
    return space.add_circle((0.0, 0.0), 20.0, {"extrusion": (0.0, 0.2, 1.0)})


def branched(space: Modelspace) -> object:
    space.add_lwpolyline([(-9, -9), (9, -9), (9, 9), (-9, 9)], close=True)
    return space.add_line((9, 9), (20, 20))


def stray(space: Modelspace) -> object:
    space.add_circle((0.0, 0.0), 20.0)
    return space.add_line((-30.0, 0.0), (30.0, 0.0))


@pytest.mark.parametrize(
    ("draw", "found"),
    [
        (
            lambda m: m.add_lwpolyline([(-9, -9), (9, -9), (9, 9), (-9, 9)]),
            r"is open: from u -9.000, v -9.000 mm to u -9.000, v 9.000 mm, 18.000 mm apart",
        ),
        (crossing, r"crosses or touches itself at u -?\d+\.\d\d, v -?\d+\.\d\d mm"),
        (two_layers, 'holds 2 closed lines.*or name one of the layers "Gasket", "Wall"'),
        (branched, "more than two ends meet at u 9.000, v 9.000 mm"),
        (stray, "has an open line beside the closed one: from u -30.000"),
        (block, 'has a block "section"'),
        (tilted, "does not lie flat"),
        (lambda m: m.add_text("nothing"), "no line is drawn in it"),
        (lambda m: None, "no line is drawn in it"),
        (lambda m: m.add_circle((0, 0), 9000.0), "is 18000 mm across"),
        (lambda m: m.add_circle((0, 0), 1e-5), "is 2e-05 mm across"),
        (lambda m: m.add_circle((1e9, 0), 20.0), "no place in a workshop"),
        (lambda m: m.add_circle((0, 0), 1e308), "no place in a workshop"),
        (lambda m: m.add_lwpolyline([(i, i % 2) for i in range(20_001)]), "has a polyline of 20001 corners"),
    ],
)
def test_what_is_no_one_closed_line_is_refused_with_where(draw: Draw, found: str) -> None:
    with pytest.raises(DrawingError, match=found):
        read_drawing(dxf(draw), ".dxf")


def test_a_truncated_file_is_refused_wherever_it_was_cut() -> None:
    data = dxf(bulged).rstrip()
    for cut in range(0, len(data), len(data) // 40):
        with pytest.raises(DrawingError, match="the last line is not EOF"):
            read_drawing(data[:cut], ".dxf")


def test_a_file_that_lost_its_middle_is_refused() -> None:
    data = dxf(bulged)
    middle = data.index(b"ENTITIES")
    with pytest.raises(DrawingError, match=r"cannot|can be read|no line"):
        read_drawing(data[: middle - 200] + data[middle + 400 :], ".dxf")


@pytest.mark.parametrize("data", [b"EOF", b"0\nEOF\n", b"\x00\x01 EOF", b"solid\nEOF", "ß\nEOF".encode("latin-1")])
def test_bytes_that_are_no_drawing_are_refused(data: bytes) -> None:
    with pytest.raises(DrawingError, match=r"is not a DXF|says no unit|no line is drawn"):
        read_drawing(data, ".dxf")


def test_a_spoilt_drawing_never_ends_in_anything_but_a_plain_refusal() -> None:
    data = dxf(bulged)
    entities = data.index(b"ENTITIES")
    end = data.index(b"ENDSEC", entities)
    rng = np.random.default_rng(11)
    refused = 0
    for _ in range(120):
        spoilt = bytearray(data)
        for at in rng.integers(entities, end, 2):
            spoilt[at] = int(rng.choice(bytearray(b"0123456789.-eE \nnaif")))
        try:
            read_drawing(bytes(spoilt), ".dxf")
        except DrawingError:
            refused += 1
    assert refused > 20
