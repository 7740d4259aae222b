"""Templates on paper: true to size in the file and in its pixels, joined within a hair, nothing off the page."""

from __future__ import annotations

import re
import shutil
import subprocess
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from portgeom.job.values import Units
from portgeom.output.paper.paper import PAPER_MM, Paper
from portgeom.output.paper.template_drawing import Drawn, Stroke, drawn_piece
from portgeom.output.paper.template_layout import tiles
from portgeom.output.paper.template_page import BAR_MM, MARGIN, templates_pdf
from portgeom.output.words.shown import Shown
from portgeom.output.words.template_words import template_words
from portgeom.questions.templates.pieces import Piece

DPI = 600
PX = DPI / 25.4
PATH = re.compile(r"n ((?:[-\d.]+ [-\d.]+ [ml] ?)+)h S")
needs_poppler = pytest.mark.skipif(shutil.which("pdftoppm") is None, reason="poppler's pdftoppm is not installed")


def closed_lines(page: str) -> list[np.ndarray]:
    """Return the closed lines of a page's stream."""
    found = []
    for body in re.findall(r"n ([-\d.]+ [-\d.]+ m(?: [-\d.]+ [-\d.]+ l)+) h\b", page.replace("\n", " ")):
        numbers = [float(x) for x in re.findall(r"-?\d*\.?\d+", body)]
        found.append(np.array(numbers).reshape(-1, 2))
    return found


def pixels(pdf: bytes, folder: Path, page: int) -> np.ndarray:
    """Return one page as dark (True) and light pixels at 600 dpi, by poppler."""
    from PIL import Image

    place = folder / "a.pdf"
    place.write_bytes(pdf)
    common = ["pdftoppm", "-r", str(DPI), "-gray", "-f", str(page), "-l", str(page), "-singlefile"]
    subprocess.run([*common, str(place), str(folder / "a")], check=True)
    with Image.open(folder / "a.pgm") as image:
        return np.asarray(image) < 128


@pytest.mark.parametrize("units", ["mm", "in"])
@pytest.mark.parametrize("paper", ["a4", "letter"])
def test_every_page_has_its_bar_and_asks_to_be_printed_as_it_is(
    drawn: tuple[Drawn, ...], streams: Callable[[bytes], list[str]], units: Units, paper: Paper
) -> None:
    pdf = templates_pdf("t", drawn, units=units, paper=paper)
    assert b"/PrintScaling /None" in pdf
    pages = streams(pdf)
    assert len(pages) == int(re.search(rb"/Count (\d+)", pdf).group(1))  # type: ignore[union-attr]
    bar = {"mm": 100.0, "in": 4.0 * 25.4}[units]
    for page in pages:
        assert f"n 10 13 m {10.0 + bar:g} 13 l" in page


def test_every_piece_is_there_with_its_area_whole(
    drawn: tuple[Drawn, ...],
    pieces: tuple[Piece, ...],
    streams: Callable[[bytes], list[str]],
    area_of: Callable[[np.ndarray], float],
) -> None:
    lines = [line for page in streams(templates_pdf("t", drawn, units="mm")) for line in closed_lines(page)]
    assert [area_of(line) for line in lines] == pytest.approx([p.area_mm2 for p in pieces], rel=1e-5)


def test_as_cast_pieces_have_the_areas_of_the_measured_sections(pair, pieces: tuple[Piece, ...]) -> None:  # type: ignore[no-untyped-def]
    rows = pair.answers[1].stage.stage.sections.rows
    cast = [p.area_mm2 for p in pieces if p.kind == "cast"]
    assert cast == pytest.approx([r.outline.area_mm2 for r in rows], rel=1e-3)


def test_wanted_pieces_have_the_areas_of_the_wanted_sections(pair, pieces: tuple[Piece, ...]) -> None:  # type: ignore[no-untyped-def]
    answer = pair.answers[1]
    tips = answer.port.chart.tips_mm(answer.wanted.rho_mm)[answer.stage.slab]
    x, y = tips[..., 0], tips[..., 1]
    areas = 0.5 * (x * np.roll(y, -1, axis=1) - y * np.roll(x, -1, axis=1)).sum(axis=1)
    assert [p.area_mm2 for p in pieces if p.kind == "plug"] == pytest.approx(areas, rel=1e-3)


@pytest.mark.parametrize("paper", ["a4", "letter"])
def test_nothing_leaves_the_margins_and_no_pieces_overlap(drawn: tuple[Drawn, ...], paper: Paper, streams) -> None:  # type: ignore[no-untyped-def]
    wide, tall = PAPER_MM[paper]
    for page in streams(templates_pdf("t", drawn, units="in", paper=paper)):
        places = np.array([[float(x), float(y)] for x, y in re.findall(r"([-\d.]+) ([-\d.]+) [ml]\b", page)])
        assert (places > 5.0).all()
        assert (places < (wide - 5.0, tall - 5.0)).all()
        boxes = [(line.min(axis=0), line.max(axis=0)) for line in closed_lines(page)]
        for k, (low, high) in enumerate(boxes):
            for other_low, other_high in boxes[:k]:
                assert (low > other_high).any() or (other_low > high).any()


@needs_poppler
def test_at_600_dpi_bars_are_within_a_tenth_and_areas_within_a_thousandth(
    drawn: tuple[Drawn, ...], pieces: tuple[Piece, ...], tmp_path: Path
) -> None:
    from scipy import ndimage

    chosen = [k for k, p in enumerate(pieces) if p.kind in ("plug", "cast")][:9]
    dark = pixels(templates_pdf("t", [drawn[k] for k in chosen], units="mm"), tmp_path, 1)
    bar = dark[round((297.0 - 13.0) * PX) - 3 : round((297.0 - 13.0) * PX) + 4].all(axis=0)
    columns = np.flatnonzero(bar[: round(130.0 * PX)])
    assert (columns[-1] - columns[0]) / PX == pytest.approx(100.0, abs=0.1 + 0.5)  # round ends of a thick line: 0.5
    ends = np.flatnonzero(dark[round((297.0 - 14.6) * PX)])
    # two thin lines: their middles stand at the ends
    groups = np.split(ends, np.flatnonzero(np.diff(ends) > 1) + 1)
    assert len(groups) == 2
    assert (groups[1].mean() - groups[0].mean()) / PX == pytest.approx(100.0, abs=0.1)
    label, count = ndimage.label(dark, structure=np.ones((3, 3)))
    found = []
    for k, box in enumerate(ndimage.find_objects(label), 1):
        tall, wide = (s.stop - s.start for s in box)
        if min(tall, wide) < 25.0 * PX:
            continue
        line = np.pad(label[box] == k, 1)
        outer = ndimage.binary_fill_holes(line).sum()
        # the middle of the line is the edge: half the line belongs inside
        found.append((outer - 0.5 * line.sum()) / PX**2)
    assert count > len(chosen)
    assert sorted(found) == pytest.approx(sorted(pieces[k].area_mm2 for k in chosen), rel=1e-3)


def large_circle(radius: float) -> Drawn:
    angle = np.linspace(0.0, 2.0 * np.pi, 721)[:-1]
    circle = radius * np.column_stack([np.cos(angle), np.sin(angle)])
    low, high = circle.min(axis=0) - 3.0, circle.max(axis=0) + 3.0
    return Drawn((Stroke("cut", circle, closed=True),), (), low, high)


@pytest.mark.parametrize("paper", ["a4", "letter"])
def test_a_large_piece_comes_in_tiles_whose_crosses_lie_on_each_other(paper: Paper, streams) -> None:  # type: ignore[no-untyped-def]
    piece = large_circle(170.0)
    pdf = templates_pdf("t", [piece], units="mm", paper=paper)
    pages = streams(pdf)
    wide, tall = PAPER_MM[paper]
    room = wide - 2.0 * MARGIN, tall - 44.0
    sheets = tiles(piece, *room)
    assert len(pages) == len(sheets) == sheets[0].rows * sheets[0].columns >= 4
    # the circle's own place on each page, from the points drawn there
    origins = [closed_lines(page)[0].mean(axis=0) for page in pages]
    seen: dict[str, np.ndarray] = {}
    for origin, sheet, page in zip(origins, sheets, pages, strict=True):
        assert len(sheet.join_names) >= 4
        for name, place in zip(sheet.join_names, sheet.joins_mm, strict=True):
            x, y = origin + place
            assert f"n {x - 4.0:.6g}"[:7] in page
            assert MARGIN <= x <= wide - MARGIN
            assert 20.0 <= y <= tall - 15.0
            assert name not in seen or seen[name] == pytest.approx(place, abs=1e-9)
            seen[name] = place
    every = [name for sheet in sheets for name in sheet.join_names]
    assert all(every.count(name) == 2 for name in every)
    assert {s.column for s in sheets} == set(range(sheets[0].columns))


@needs_poppler
def test_tiles_join_within_a_tenth_at_600_dpi(tmp_path: Path) -> None:
    # a slanting line over two sheets: joined by one cross, it goes on where it left off
    line = np.array([[0.0, 0.0], [330.0, 60.0]])
    piece = Drawn((Stroke("cut", line),), (), np.array([-3.0, -3.0]), np.array([333.0, 63.0]))
    pdf = templates_pdf("t", [piece], units="mm")
    left, right = tiles(piece, 190.0, 253.0)
    name = left.join_names[0]
    assert name in right.join_names
    heights = []
    for page, sheet in enumerate((left, right), 1):
        dark = pixels(pdf, tmp_path, page)
        place = sheet.joins_mm[sheet.join_names.index(name)]
        corner = np.array([10.0 - sheet.low[0], 297.0 - 20.0 - sheet.high[1]])
        x, y = place + corner
        column, row = round(x * PX), round((297.0 - y) * PX)
        reach = round(5.0 * PX)
        # middle of the cross, as its arms' pixels say: 3 mm out they stand alone
        arm = dark[row - reach : row + reach, column - round(3.0 * PX)]
        cross = row - reach + float(np.flatnonzero(arm).mean())
        away = round(1.2 * PX) + round(4.2 * PX)
        at = dark[:, column - away]
        seen = np.flatnonzero(at[round(15 * PX) : round(270 * PX)]) + round(15 * PX)
        want = (297.0 - (corner[1] + (place[0] - away / PX) * 60.0 / 330.0)) * PX
        near = seen[np.abs(seen - want) < 2.0 * PX]
        heights.append((float(near.mean()) - cross) / PX)
    assert heights[0] == pytest.approx(heights[1], abs=0.1)


HOSTILE = (
    "<script>alert(1)</script>",
    "\u05e9\u05e2\u05e8 12 \u05d9\u05de\u05d9\u05df",
    "\u202eevil \U0001f9ff\U0001f600",
    "x" * 300,
    "a\x1b[2Jb\n(c) \\ Tj ET %%c ^J",
)


@pytest.mark.parametrize("name", HOSTILE)
def test_names_of_any_kind_break_no_page(pair, pieces: tuple[Piece, ...], name: str, streams) -> None:  # type: ignore[no-untyped-def]
    answer = pair.answers[1]
    named = replace(answer.port.port, name=name, target=name, left_wall=name, right_wall=name)
    port = replace(answer.port, port=named)
    some = [replace(p, station=name) for p in pieces[:4]]
    made = [drawn_piece(p, template_words(p, port, answer.stage, Shown("mm"))) for p in some]
    for one in made:
        for text in one.letters:
            from portgeom.output.paper.lettering import width

            half = width(text.words, text.size, bold=text.bold) * (0.5 if text.middle else 1.0)
            assert text.place[0] + half <= one.high[0] + 0.1
    assert len(streams(templates_pdf(name, made, units="mm"))) >= 1


def test_bar_is_four_inches_where_the_job_is_in_inches() -> None:
    assert BAR_MM["in"] == pytest.approx(4.0 * 25.4)
