"""The measuring sheet on paper: true to size, every reading with its letter and its box, nothing off the page."""

from __future__ import annotations

import base64
import re
import zlib

import pytest

from portgeom.capture.sheets.readings import BOWL, FACE, SET_UP, SHORT_SIDE, TURN, Marks
from portgeom.output.paper.paper import PAPER_MM, POINTS_PER_MM, Paper
from portgeom.output.paper.sheet_page import Named, measuring_sheet_pdf

MARKS = Marks((0.0, 12.0, 24.0, 36.0), (20.0, 40.0, 60.0), (16.0, 8.0, 0.0))
SCALE = re.compile(rb"\n([0-9.]+) 0 0 ([0-9.]+) 0 0 cm\n")


def pages(pdf: bytes) -> list[bytes]:
    """Return what is drawn on every page, in the PDF's own words."""
    found = []
    for head, data in re.findall(rb"<<([^<>]*)>>\s*stream\r?\n(.*?)endstream", pdf, re.DOTALL):
        if b"ASCII85" not in head:
            continue
        drawn = zlib.decompress(base64.a85decode(b"<~" + data.strip(), adobe=True))
        if SCALE.search(drawn):
            found.append(drawn)
    return found


@pytest.mark.parametrize("paper", ["a4", "letter"])
def test_every_page_has_a_bar_of_100_mm(paper: Paper) -> None:
    drawn = pages(measuring_sheet_pdf(MARKS, units="mm", paper=paper))
    assert len(drawn) == 4
    for page in drawn:
        across, up = (float(s) for s in SCALE.search(page).groups())  # type: ignore[union-attr]
        assert across == up
        assert across == pytest.approx(POINTS_PER_MM, abs=5e-7)  # of the six places that are written
        assert b"n 10 14 m 110 14 l\nS\n" in page


@pytest.mark.parametrize("paper", ["a4", "letter"])
def test_the_page_is_the_paper_and_asks_to_be_printed_as_it_is(paper: Paper) -> None:
    pdf = measuring_sheet_pdf(MARKS, units="mm", paper=paper)
    wide, tall = (float(x) for x in re.search(rb"/MediaBox \[ 0 0 ([0-9.]+) ([0-9.]+) \]", pdf).groups())  # type: ignore[union-attr]
    assert (wide, tall) == pytest.approx([POINTS_PER_MM * mm for mm in PAPER_MM[paper]], abs=1e-3)
    assert b"/PrintScaling /None" in pdf


@pytest.mark.parametrize("paper", ["a4", "letter"])
def test_no_line_leaves_the_margins_of_any_printer(paper: Paper) -> None:
    wide, tall = PAPER_MM[paper]
    crowded = Marks(
        tuple(map(float, range(0, 60, 2))), tuple(map(float, range(5, 80, 5))), tuple(map(float, range(20, -1, -1)))
    )
    for page in pages(measuring_sheet_pdf(crowded, units="mm", paper=paper)):
        for x, y in re.findall(rb"([-0-9.]+) ([-0-9.]+) [ml]\b", page):
            assert 5.0 <= float(x) <= wide - 5.0
            assert 5.0 <= float(y) <= tall - 5.0


@pytest.mark.parametrize("count", [1, 13, 14, 15, 60])
def test_every_mark_has_a_row_however_many_pages_it_takes(count: int) -> None:
    marks = Marks(tuple(float(k) for k in range(count)))
    drawn = pages(measuring_sheet_pdf(marks, units="mm", paper="letter"))
    boxes = b"".join(drawn[1:])
    # a row's upper line runs over all the table; each page closes its table with one more
    rows = len(re.findall(rb"n 10 [0-9.]+ m 200 [0-9.]+ l\nS\n", boxes)) - len(drawn[1:])
    assert rows == count


def words_of(pdf: bytes) -> str:
    """Return the words of a PDF by the map from glyphs to letters that it holds for each of its fonts."""
    text = b"".join(pages(pdf))
    return re.sub(rb"[^\x20-\x7e]", b"", text).decode("ascii")


def test_every_reading_is_named_as_in_the_table() -> None:
    words = words_of(measuring_sheet_pdf(MARKS, units="mm"))
    for reading in (*SET_UP, *SHORT_SIDE, *FACE, *TURN, *BOWL):
        assert reading.key in words, reading.key


def test_without_a_turn_the_short_side_is_not_asked_for() -> None:
    words = words_of(measuring_sheet_pdf(Marks((0.0, 10.0), (), (0.0,)), units="mm"))
    assert "short_radius" not in words
    assert "face_to_deck" in words


def test_nothing_is_asked_that_nobody_can_gauge() -> None:
    words = words_of(measuring_sheet_pdf(MARKS, units="mm")).casefold()
    for unheard in ("pitch", "yaw", "roll", "path"):
        assert unheard not in words


def test_titles_in_any_script_and_of_any_length_are_printed_harmlessly() -> None:
    for title in ("Головка «Ж»", "x" * 5000, "a\x1b[2Jb\n(c) \\ Tj ET", "‮evil"):
        drawn = pages(measuring_sheet_pdf(MARKS, units="in", named=Named(title, title)))
        assert len(drawn) == 4


def test_the_same_sheet_is_the_same_bytes() -> None:
    assert measuring_sheet_pdf(MARKS, units="mm") == measuring_sheet_pdf(MARKS, units="mm")
