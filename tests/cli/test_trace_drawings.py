"""``trace`` of DXF and SVG files: outlines, units, layers, and what is refused with its place."""

from __future__ import annotations

import json
from math import pi, tan
from pathlib import Path

import click.testing
import ezdxf
import numpy as np
import pytest
from ezdxf.layouts import Modelspace
from PIL import Image
from portgeom_cli.main import main
from scan_simulation import Optics, Shape, Sheet, scan

WIDE, TALL, RADIUS = 44.0, 52.0, 9.0
ROUNDED = WIDE * TALL - (4.0 - pi) * RADIUS**2

SVG = '<svg xmlns="http://www.w3.org/2000/svg" width="120mm" height="80mm" viewBox="0 0 120 80">{}</svg>'


def rounded(space: Modelspace, x: float, y: float, unit_mm: float = 1.0, **attributes: str) -> None:
    """Draw a rectangle with arcs for corners, as a polyline with bulges (tan of a quarter of the turn)."""
    w, h, r, b = 0.5 * WIDE, 0.5 * TALL, RADIUS, tan(pi / 8.0)
    rows = [(-w + r, -h, 0), (w - r, -h, b), (w, -h + r, 0), (w, h - r, b)]
    rows += [(-u, -v, bulge) for u, v, bulge in rows]
    points = [((x + u) / unit_mm, (y + v) / unit_mm, bulge) for u, v, bulge in rows]
    space.add_lwpolyline(points, format="xyb", close=True, dxfattribs=attributes)


def dxf(path: Path, *, units: int = 4) -> tuple[ezdxf.document.Drawing, Modelspace]:
    document = ezdxf.new()
    document.header["$INSUNITS"] = units
    return document, document.modelspace()


def trace(*args: object) -> click.testing.Result:
    return click.testing.CliRunner().invoke(main, ["trace", *(str(a) for a in args)])


def area(path: Path) -> float:
    u, v = np.loadtxt(path, delimiter=",", skiprows=1).T
    return 0.5 * float((u * np.roll(v, -1) - np.roll(u, -1) * v).sum())


def test_a_dxf_becomes_the_files_that_a_scan_becomes(tmp_path: Path) -> None:
    path, out = tmp_path / "wall.dxf", tmp_path / "traced"
    document, space = dxf(path, units=1)
    rounded(space, 100.0, 40.0, unit_mm=25.4)
    document.saveas(path)
    result = trace(path, "--out", out)
    assert result.exit_code == 0, result.stderr
    assert sorted(p.name for p in out.iterdir()) == ["station-01.csv", "station-01.json", "wall-traced.png"]
    assert area(out / "station-01.csv") == pytest.approx(ROUNDED, rel=1e-4)
    note = json.loads((out / "station-01.json").read_text("utf-8"))
    assert (note["drawing"], note["scale"]) == ("wall.dxf", "drawn in in, by the file")
    assert note["area"] == pytest.approx(ROUNDED, rel=1e-4)
    assert "44.0 wide and 52.0 mm high" in result.stdout


def test_an_ellipse_in_svg_in_a_job_in_inches(tmp_path: Path) -> None:
    path, out = tmp_path / "e.svg", tmp_path / "traced"
    turned = '<g transform="translate(60 40) rotate(90)"><ellipse rx="22" ry="17.5"/></g>'
    path.write_text(SVG.format(turned), encoding="utf-8")
    assert trace(path, "--out", out, "--units", "in").exit_code == 0
    assert area(out / "station-01.csv") == pytest.approx(pi * 22.0 * 17.5 / 25.4**2, rel=1e-4)
    size = np.ptp(np.loadtxt(out / "station-01.csv", delimiter=",", skiprows=1), axis=0)
    assert size == pytest.approx([35.0 / 25.4, 44.0 / 25.4], abs=1e-4)


def test_several_slices_on_one_drawing_and_a_picture_run_on(tmp_path: Path) -> None:
    drawing, picture, out = tmp_path / "three.dxf", tmp_path / "scan.png", tmp_path / "traced"
    document, space = dxf(drawing)
    for x in (0.0, 80.0, 160.0):
        rounded(space, x, 0.0)
    document.saveas(drawing)
    slab = np.array([[8.0, 8.0], [38.0, 8.0], [38.0, 32.0], [8.0, 32.0]])
    seen = scan(Sheet(45.0, 40.0, 0.8, [Shape(slab, 0.1)]), 150, Optics(blur_px=0.6, uneven=0.1, noise=0.01), seed=1)
    Image.fromarray(seen).save(picture, dpi=(150, 150))
    result = trace(drawing, picture, "--out", out, "--slices", "all", "--distances", "0,10,20,32")
    assert result.exit_code == 0, result.stderr
    areas = [area(out / f"station-0{k}.csv") for k in (1, 2, 3, 4)]
    assert areas[:3] == pytest.approx([ROUNDED] * 3, rel=1e-4)
    assert areas[3] == pytest.approx(30.0 * 24.0, rel=5e-3)
    assert sorted(p.name for p in out.glob("*.png")) == ["scan-traced.png", "three-traced.png"]
    assert (out / "sections.csv").read_text("utf-8").splitlines()[4] == "4,32.000,outline,station-04.csv"


def test_a_layer_is_chosen_and_others_are_shown_in_grey(tmp_path: Path) -> None:
    path = tmp_path / "a.dxf"
    document, space = dxf(path)
    rounded(space, 0.0, 0.0, layer="wall")
    space.add_line((-40.0, 0.0), (40.0, 0.0), dxfattribs={"layer": "axes"})
    document.saveas(path)
    result = trace(path, "--out", tmp_path / "no")
    assert result.exit_code == 2
    assert "a.dxf: drawing: has an open line beside the closed one: from u " in result.stderr
    assert 'name one of the layers "axes", "wall"' in result.stderr
    assert trace(path, "--out", tmp_path / "wall", "--layer", "Wall").exit_code == 0
    with Image.open(tmp_path / "wall" / "a-traced.png") as overlay:
        codes = np.asarray(overlay.convert("RGB")).astype(int)
    grey = (np.ptp(codes, axis=2) < 6) & (codes[..., 0] < 230)
    # the axis runs across the whole page, most of it not under the wall, the arrow and its word
    assert grey.mean(axis=1).max() > 0.5


def test_the_origin_given_is_as_drawn_and_in_the_units_of_the_command(tmp_path: Path) -> None:
    path, out = tmp_path / "c.svg", tmp_path / "traced"
    path.write_text(SVG.format('<circle cx="50" cy="30" r="20"/>'), encoding="utf-8")
    # SVG counts downwards, an outline upwards
    assert trace(path, "--out", out, "--units", "in", "--origin", f"{45.0 / 25.4},{-28.0 / 25.4}").exit_code == 0
    points = 25.4 * np.loadtxt(out / "station-01.csv", delimiter=",", skiprows=1)
    assert points.mean(axis=0) == pytest.approx([5.0, -2.0], abs=0.01)


BAD = {
    "open": ('<path d="M10 10 H60 V60 H10"/>', (), "is open: from u 10.000, v -10.000 mm to u 10.000, v -60.000"),
    "crossing": ('<path d="M10 10 L60 60 V10 L10 60 Z"/>', (), "crosses or touches itself at u 35.00, v -35.00 mm"),
    "two that cross": (
        '<circle cx="30" cy="40" r="20"/><circle cx="60" cy="40" r="20"/>',
        ("--slices", "2"),
        "two closed lines, of 1257 and 1257 mm2, cross or touch at u 45.0",
    ),
    "two": (
        '<circle cx="25" cy="40" r="20"/><circle cx="75" cy="40" r="20"/>',
        (),
        "say --slices 2 if all of them are",
    ),
    "nothing": ("<text>slice</text>", (), "no line is drawn in it"),
    "no such layer": ('<circle id="a" r="9"/>', ("--layer", "b"), 'has no group or shape named "b"'),
    "a bomb": ("&a;", (), "drawing: "),
}


@pytest.mark.parametrize("case", BAD)
def test_a_bad_drawing_is_one_clear_line_and_nothing_is_written(case: str, tmp_path: Path) -> None:
    shapes, options, reason = BAD[case]
    text = SVG.format(shapes)
    if case == "a bomb":
        text = '<!DOCTYPE svg [<!ENTITY b "b"><!ENTITY a "&b;&b;&b;">]>' + text
    (tmp_path / "bad.svg").write_text(text, encoding="utf-8")
    result = trace(tmp_path / "bad.svg", "--out", tmp_path / "traced", *options)
    assert result.exit_code == 2
    fault, count = result.stderr.splitlines()
    assert fault.startswith("bad.svg: ")
    assert reason.replace("1257 and 1257", "1256.6 and 1256.6") in fault
    assert count == "1 fault; nothing was written."
    assert not (tmp_path / "traced").exists()


def test_a_drawing_without_a_unit_is_told_how_to_say_it(tmp_path: Path) -> None:
    path = tmp_path / "bare.dxf"
    document, space = dxf(path, units=0)
    rounded(space, 0.0, 0.0)
    document.saveas(path)
    result = trace(path, "--out", tmp_path / "traced")
    assert (
        "bare.dxf: drawing: says no unit ($INSUNITS); save it with a unit, or tell it (drawing_units in a table, "
        in result.stderr
    )
    assert trace(path, "--out", tmp_path / "traced", "--drawing-units", "mm").exit_code == 0


@pytest.mark.parametrize(
    ("names", "options", "reason"),
    [
        (("a.svg",), ("--dpi", "300"), "--dpi is of pictures"),
        (("a.png",), ("--layer", "wall"), "--layer is of DXF and SVG drawings"),
        (("a.png",), ("--drawing-units", "in"), "--drawing-units is of DXF and SVG drawings"),
        (("a.png", "a.svg"), ("--origin", "drawing"), "trace them apart"),
        (("a.png", "a.svg"), ("--origin", "3,4"), "trace them apart"),
    ],
)
def test_options_of_the_other_kind_are_told(tmp_path: Path, names, options, reason: str) -> None:  # type: ignore[no-untyped-def]
    result = trace(*(tmp_path / n for n in names), "--out", tmp_path / "traced", *options)
    assert result.exit_code == 2
    assert reason in result.stderr


POCKETED = "M10 10 H50 V35 H53 V25 H57 V45 H53 V39 H50 V60 H10 Z"
"""A box of 40 by 50 with a chamber of 4 by 20 behind a slot in its right wall."""


def test_what_a_job_would_refuse_is_cut_off_and_told_in_the_same_run(tmp_path: Path) -> None:
    path, out = tmp_path / "pocket.svg", tmp_path / "traced"
    path.write_text(SVG.format(f'<path d="{POCKETED}"/>'), encoding="utf-8")
    result = trace(path, "--out", out, "--distances", "0")
    assert result.exit_code == 0
    warning = result.stderr.strip()
    assert warning.startswith("station-01: ")
    assert "percent of it, " in warning
    assert "at 3 o'clock, lies behind its own wall: cut off and not counted" in warning
    lost = float(warning.partition(" mm2")[0].rpartition(" ")[2])
    assert area(out / "station-01.csv") == pytest.approx(40.0 * 50.0 + 3.0 * 4.0 + 4.0 * 20.0 - lost, abs=0.1)
    note = json.loads((out / "station-01.json").read_text("utf-8"))
    assert note["warnings"] == [warning.removeprefix("station-01: ")]
    with Image.open(out / "pocket-traced.png") as overlay:
        codes = np.asarray(overlay.convert("RGB")).astype(int)
    orange = (codes[..., 0] > 240) & (codes[..., 2] < 130) & (codes[..., 1] > 120) & (codes[..., 1] < 220)
    # as much of the page as of the drawing: its 40 mm between the left and the slot's wall give the scale
    magenta = np.flatnonzero(((codes[..., 0] > 190) & (codes[..., 1] < 60)).any(axis=0))
    per_mm = (magenta[-1] - magenta[0]) / 47.0
    assert orange.sum() / per_mm**2 == pytest.approx(lost, rel=0.1)


def test_what_is_traced_of_pockets_is_a_job_that_check_takes(tmp_path: Path) -> None:
    out = tmp_path / "job"
    for name in ("a.svg", "b.svg"):
        (tmp_path / name).write_text(SVG.format(f'<path d="{POCKETED}"/>'), encoding="utf-8")
    assert trace(tmp_path / "a.svg", tmp_path / "b.svg", "--out", out, "--distances", "0,30").exit_code == 0
    job = """title = "t"\nunits = "mm"\nmaterial = "grey iron"\n[[port]]\nname = "1"\nkind = "intake"\n"""
    job += """  [[port.stage]]\n  name = "as cast"\n  sections = "sections.csv"\n"""
    (out / "job.toml").write_text(job, encoding="utf-8")
    assert click.testing.CliRunner().invoke(main, ["check", str(out)]).exit_code == 0


def test_a_shape_without_its_middle_is_warned_of(tmp_path: Path) -> None:
    path = tmp_path / "hook.svg"
    path.write_text(SVG.format('<path d="M10 10 H70 V20 H20 V60 H70 V70 H10 Z"/>'), encoding="utf-8")
    result = trace(path, "--out", tmp_path / "traced")
    assert result.exit_code == 0
    assert "station-01: its middle lies outside it: a job will refuse it; check --roof" in result.stderr
