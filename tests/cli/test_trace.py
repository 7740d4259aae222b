"""``trace`` from pictures to files: what is written, what is said, and that bad input leaves nothing behind."""

from __future__ import annotations

import io
import json
from pathlib import Path

import click.testing
import numpy as np
import pytest
from PIL import Image
from portgeom_cli.main import main
from scan_simulation import Optics, Shape, Sheet, disc, scan

from portgeom.job.faults import Gathered, Spot
from portgeom.job.files import Folder
from portgeom.job.outlines import read_outline

DPI = 150
WIDE, TALL = 30.0, 24.0
BOX = 0.5 * np.array([[-WIDE, -TALL], [WIDE, -TALL], [WIDE, TALL], [-WIDE, TALL]])
OPTICS = Optics(blur_px=0.6, uneven=0.2, noise=0.01)


def picture(folder: Path, places: list[tuple[float, float]], *, name: str = "scan.png", dpi: int | None = DPI) -> Path:
    """Write a scan, 45 mm high, of boxes at these places and return where."""
    wide = 45.0 * len(places)
    sheet = Sheet(wide, 45.0, 0.8, [Shape(BOX + p, 0.1) for p in places])
    path = folder / name
    Image.fromarray(scan(sheet, DPI, OPTICS, seed=1)).save(path, **({} if dpi is None else {"dpi": (dpi, dpi)}))
    return path


@pytest.fixture
def one(tmp_path: Path) -> Path:
    return picture(tmp_path, [(22.0, 22.0)])


@pytest.fixture
def three(tmp_path: Path) -> Path:
    return picture(tmp_path, [(22.0, 22.0), (67.0, 23.0), (112.0, 21.0)])


def trace(*args: object) -> click.testing.Result:
    return click.testing.CliRunner().invoke(main, ["trace", *(str(a) for a in args)])


def names(folder: Path) -> list[str]:
    return sorted(p.name for p in folder.iterdir()) if folder.exists() else []


def test_a_scan_becomes_an_outline_a_note_and_an_overlay(one: Path, tmp_path: Path) -> None:
    out = tmp_path / "traced"
    result = trace(one, "--out", out)
    assert result.exit_code == 0, result.stderr
    assert names(out) == ["scan-traced.png", "station-01.csv", "station-01.json"]
    assert "720 mm2, 30.0 wide and 24.0 mm high" in result.stdout
    assert "150.0 dpi from the file (PNG pHYs)" in result.stdout
    assert result.stderr == ""
    note = json.loads((out / "station-01.json").read_text("utf-8"))
    assert note["roof"] == "towards the picture's top"
    assert note["origin"] == "the centroid"
    assert note["looking"] == "in"
    assert note["area"] == pytest.approx(WIDE * TALL, rel=2e-3)
    assert note["smoothed"] <= 0.05
    assert note["mm_per_pixel"] == pytest.approx([25.4 / DPI] * 2, rel=2e-4)
    with Image.open(out / "scan-traced.png") as overlay:
        assert min(overlay.size) > 500


def test_the_outline_is_what_a_job_reads(one: Path, tmp_path: Path) -> None:
    out = tmp_path / "traced"
    trace(one, "--out", out)
    gathered = Gathered()
    outline = read_outline("station-01.csv", Spot(gathered, "t.csv", 2, "outline"), folder=Folder(out), units="mm")
    assert outline is not None
    assert (gathered.faults, gathered.notes) == ((), ())
    assert outline.area_mm2 == pytest.approx(WIDE * TALL, rel=2e-3)


def test_inches_are_written_where_asked_for(one: Path, tmp_path: Path) -> None:
    out = tmp_path / "traced"
    result = trace(one, "--out", out, "--units", "in", "--check", f"width={WIDE / 25.4},height={TALL / 25.4}")
    assert result.exit_code == 0
    assert result.stderr == ""
    points = np.loadtxt(out / "station-01.csv", delimiter=",", skiprows=1)
    assert np.ptp(points, axis=0) == pytest.approx([WIDE / 25.4, TALL / 25.4], abs=0.003)
    assert "1.116 in2" in result.stdout


def test_json_is_one_document_with_every_slice(three: Path, tmp_path: Path) -> None:
    result = trace(three, "--out", tmp_path / "traced", "--slices", "3", "--json")
    document = json.loads(result.stdout)
    assert document["command"] == "trace"
    assert document["units"] == {"length": "mm", "area": "mm2", "volume": "cc"}
    assert [s["number"] for s in document["slices"]] == [1, 2, 3]
    assert [s["outline"] for s in document["slices"]] == [f"station-0{k}.csv" for k in (1, 2, 3)]


def test_numbers_run_on_from_picture_to_picture(one: Path, tmp_path: Path) -> None:
    more = picture(tmp_path, [(22.0, 22.0), (67.0, 23.0)], name="more.png")
    out = tmp_path / "traced"
    assert trace(more, one, "--out", out, "--slices", "all", "--first", "4", "--stem", "cast").exit_code == 0
    assert [n for n in names(out) if n.endswith(".csv")] == ["cast-04.csv", "cast-05.csv", "cast-06.csv"]
    assert json.loads((out / "cast-06.json").read_text("utf-8"))["image"] == "scan.png"


def test_pictures_of_one_name_keep_an_overlay_each(one: Path, tmp_path: Path) -> None:
    (tmp_path / "two").mkdir()
    again = picture(tmp_path / "two", [(22.0, 22.0)])
    out = tmp_path / "traced"
    assert trace(one, again, "--out", out).exit_code == 0
    assert [n for n in names(out) if n.endswith(".png")] == ["scan-2-traced.png", "scan-traced.png"]


def test_marks_of_known_distance_give_the_scale(tmp_path: Path) -> None:
    path = picture(tmp_path, [(22.0, 22.0)], dpi=None)
    pixels = 200.0 / 25.4 * DPI / 10.0  # 20 mm
    out = tmp_path / "traced"
    result = trace(path, "--out", out, "--marks", f"10,20,{10.0 + pixels},20", "--distance", "20")
    assert result.exit_code == 0, result.stderr
    assert "720 mm2" in result.stdout
    assert "150.0 dpi from two marks" in result.stdout


def test_a_given_resolution_wins_and_the_difference_is_told(one: Path, tmp_path: Path) -> None:
    result = trace(one, "--out", tmp_path / "traced", "--dpi", "300")
    assert "180 mm2" in result.stdout
    assert "the file itself claims 150.0 dpi" in result.stdout


def test_a_mould_is_grown_and_its_faces_set_off_by_half_the_kerf(three: Path, tmp_path: Path) -> None:
    out = tmp_path / "traced"
    options = ("--slices", "3", "--scanned", "entry", "--shrink", "1", "--kerf", "1.2", "--distances", "0,12,25.5")
    result = trace(three, "--out", out, *options)
    assert result.exit_code == 0, result.stderr
    note = json.loads((out / "station-02.json").read_text("utf-8"))
    assert note["width"] == pytest.approx(WIDE / 0.99, abs=0.05)
    assert note["mould"] == {"scanned": "entry", "shrink_percent": 1.0, "kerf": 1.2, "face_beyond_mark": 0.6}
    table = (out / "sections.csv").read_text("utf-8").splitlines()
    assert table == [
        "station,distance,shape,outline",
        "1,0.000,outline,station-01.csv",
        "2,12.600,outline,station-02.csv",
        "3,26.100,outline,station-03.csv",
    ]


def test_a_scale_that_calipers_gainsay_is_warned_of_in_words(one: Path, tmp_path: Path) -> None:
    result = trace(one, "--out", tmp_path / "traced", "--check", "width=30.6,height=24.48")
    assert result.exit_code == 0
    assert "its width traces as 30.0" in result.stderr
    assert "both are 1.9 percent too small, so the picture's scale is off" in result.stderr


def test_what_is_missing_of_a_mould_is_refused_where_nobody_can_be_asked(one: Path, tmp_path: Path) -> None:
    result = trace(one, "--out", tmp_path / "traced", "--mould", "--kerf", "1")
    assert result.exit_code == 2
    assert "slices of a mould also need --scanned, --shrink" in result.stderr
    assert not (tmp_path / "traced").exists()


def test_what_is_missing_of_a_mould_is_asked_for_at_a_terminal(
    one: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("portgeom_cli.tracing.somebody_there", lambda: True)
    out = tmp_path / "traced"
    runner = click.testing.CliRunner()
    result = runner.invoke(main, ["trace", str(one), "--out", str(out), "--mould", "--kerf", "1"], input="far\n0.5\n")
    assert result.exit_code == 0, result.stderr
    assert "Which face of each slice was scanned" in result.stderr
    note = json.loads((out / "station-01.json").read_text("utf-8"))
    assert note["mould"] == {"scanned": "far", "shrink_percent": 0.5, "kerf": 1.0, "face_beyond_mark": -0.5}
    assert note["looking"] == "out"


def test_files_there_are_kept_without_force(one: Path, tmp_path: Path) -> None:
    out = tmp_path / "traced"
    out.mkdir()
    (out / "station-01.json").write_text("mine")
    result = trace(one, "--out", out)
    assert result.exit_code == 2
    assert "station-01.json: there already" in result.stderr
    assert names(out) == ["station-01.json"]
    assert trace(one, "--out", out, "--force").exit_code == 0
    assert len(names(out)) == 3


def bare_jpeg() -> bytes:
    out = io.BytesIO()
    Image.new("L", (300, 300), 200).save(out, format="JPEG")
    return out.getvalue()


BAD = {
    "a drawing": (b"<svg/>", (), "file: is no PNG, TIFF or JPEG picture"),
    "gone": (None, (), "file: is not there"),
    "text": (b"no picture", (), "file: is no PNG, TIFF or JPEG picture"),
    "empty": (b"", (), "file: is no PNG, TIFF or JPEG picture"),
    "no scale": (bare_jpeg(), (), "scale: holds a resolution without a unit"),
    "nothing on it": (bare_jpeg(), ("--dpi", "200"), "shows no shape of at least 60 mm2"),
    "odd dpi": (bare_jpeg(), ("--dpi", "20"), "--dpi 20 is out of range"),
    "marks outside": (bare_jpeg(), ("--marks", "0,0,900,0", "--distance", "20"), "the mark at 900,0 is outside"),
    "marks too near": (bare_jpeg(), ("--marks", "0,0,9,0", "--distance", "20"), "the marks lie 9 pixels apart"),
    "no card": (bare_jpeg(), ("--card",), "shows 0 ring marks that do not make up the scale card"),
}


@pytest.mark.parametrize("case", BAD)
def test_a_bad_picture_is_one_clear_line_and_nothing_is_written(case: str, tmp_path: Path) -> None:
    data, options, reason = BAD[case]
    path = tmp_path / "bad.jpg"
    if data is not None:
        path.write_bytes(data)
    result = trace(path, "--out", tmp_path / "traced", *options)
    assert result.exit_code == 2
    fault, count = result.stderr.splitlines()
    assert fault.startswith("bad.jpg: ")
    assert reason in fault
    assert "; " in fault
    assert count == "1 fault; nothing was written."
    assert result.stdout == ""
    assert not (tmp_path / "traced").exists()


def test_every_bad_picture_is_told_and_the_good_one_is_not_written(one: Path, tmp_path: Path) -> None:
    for name in ("a.png", "b.png"):
        (tmp_path / name).write_bytes(b"")
    result = trace(tmp_path / "a.png", one, tmp_path / "b.png", "--out", tmp_path / "traced")
    assert result.exit_code == 2
    assert [line.partition(":")[0] for line in result.stderr.splitlines()] == [
        "a.png",
        "b.png",
        "2 faults; nothing was written.",
    ]
    assert not (tmp_path / "traced").exists()


USAGE = {
    "two scales": (("--dpi", "300", "--card"), "both give the scale"),
    "marks alone": (("--marks", "0,0,200,0"), "--marks needs --distance"),
    "distance alone": (("--distance", "20"), "--distance goes with --marks or --card"),
    "distance of nothing": (("--marks", "0,0,200,0", "--distance", "0"), "--distance is out of range"),
    "three numbers": (("--marks", "0,0,200", "--distance", "2"), "holds 3 numbers, not 4"),
    "no numbers": (("--marks", "a,b,c,d", "--distance", "2"), "is not a list of numbers"),
    "not a number": (("--distances", "0,nan"), "holds a number out of range"),
    "half a height": (("--above", "5"), "--above and --camera go together"),
    "a height over nothing": (("--above", "5", "--camera", "300"), "--above goes with --marks or --card"),
    "roof": (("--roof", "ceiling"), "is not one of up, right, down, left, mark"),
    "origin": (("--origin", "middle"), "is not one of centroid, lowest, mark"),
    "origin of several": (("--origin", "10,20", "--slices", "3"), "is of one slice"),
    "slices": (("--slices", "few"), "give how many each file shows, or all"),
    "mirror and mould": (
        ("--mirror", "--scanned", "far", "--shrink", "0", "--kerf", "0"),
        "leave --mirror out",
    ),
    "shrink": (("--scanned", "far", "--shrink", "30", "--kerf", "0"), "30 percent is out of range"),
    "kerf": (("--scanned", "far", "--shrink", "0", "--kerf", "-1"), "is out of range"),
    "check": (("--check", "depth=3"), "give width, height or both"),
    "check of words": (("--check", "width=wide"), "is not like width=41.2"),
}


@pytest.mark.parametrize("case", USAGE)
def test_options_that_do_not_go_together_are_told(case: str, one: Path, tmp_path: Path) -> None:
    options, reason = USAGE[case]
    result = trace(one, "--out", tmp_path / "traced", *options)
    assert result.exit_code == 2
    assert reason in result.stderr
    assert "Traceback" not in result.stderr
    assert not (tmp_path / "traced").exists()


FITS_NO_SLICE = {
    "distances": (("--distances", "0,12"), "--distances: 2 distances for 3 slices"),
    "falling": (("--distances", "0,12,11"), "--distances: they do not rise"),
    "check of no slice": (("--check", "9:width=30"), "--check: there is no slice 9"),
    "check of any": (("--check", "width=30"), "--check: there are 3 slices"),
    "check twice": (("--check", "1:width=30", "--check", "1:height=24"), "--check: slice 1 is given twice"),
    "stem": (("--stem", "../up"), "--stem: "),
}


@pytest.mark.parametrize("case", FITS_NO_SLICE)
def test_options_that_fit_no_slice_are_told(case: str, three: Path, tmp_path: Path) -> None:
    options, reason = FITS_NO_SLICE[case]
    result = trace(three, "--out", tmp_path / "traced", "--slices", "3", *options)
    assert result.exit_code == 2
    assert f"trace: {reason}" in result.stderr
    assert not (tmp_path / "traced").exists()


def test_a_folder_that_cannot_be_made_leaves_nothing(one: Path, tmp_path: Path) -> None:
    (tmp_path / "file").write_text("in the way")
    result = trace(one, "--out", tmp_path / "file" / "traced")
    assert result.exit_code != 0
    assert names(tmp_path) == ["file", "scan.png"]


def test_a_roof_mark_and_an_origin_hole_are_taken(tmp_path: Path) -> None:
    middle = np.array([22.0, 21.0])
    shapes = [
        Shape(BOX + middle, 0.1),
        Shape(disc(*(middle + [4.0, -3.0]), 1.6), 0.8),
        Shape(disc(*(middle + [19.0, -3.0]), 2.4), 0.1),
    ]
    path = tmp_path / "m.png"
    Image.fromarray(scan(Sheet(50.0, 45.0, 0.8, shapes), DPI, OPTICS, seed=1)).save(path, dpi=(DPI, DPI))
    result = trace(path, "--out", tmp_path / "traced", "--roof", "mark", "--origin", "mark")
    assert result.exit_code == 0, result.stderr
    points = np.loadtxt(tmp_path / "traced" / "station-01.csv", delimiter=",", skiprows=1)
    # the roof lay to the right, so the sheet's right is up and its top is left
    assert points.max(axis=0) == pytest.approx([0.5 * TALL - 3.0, 0.5 * WIDE - 4.0], abs=0.12)
    assert points.min(axis=0) == pytest.approx([-0.5 * TALL - 3.0, -0.5 * WIDE - 4.0], abs=0.12)
