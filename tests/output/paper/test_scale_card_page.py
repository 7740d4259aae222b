"""The printed card has its marks where the finder looks for them, at 1:1, on both kinds of paper."""

from __future__ import annotations

import re
import zlib
from base64 import a85decode

import numpy as np
import pytest

from portgeom.capture.images.scale_card import FIELD_MM, HOLE_MM, MARKS_MM, RING_MM
from portgeom.output.paper.scale_card_page import PAPER_MM, scale_card_pdf

MM_PER_POINT = 25.4 / 72.0


def streams(pdf: bytes) -> list[str]:
    """Return the drawing of each page."""
    found = re.findall(rb"stream\r?\n(.*?)endstream", pdf, flags=re.DOTALL)
    return [zlib.decompress(a85decode(data.strip().removesuffix(b"~>"))).decode() for data in found]


def circles(page: str, diameter_mm: float) -> np.ndarray:
    """Return (n, 2) the middles, in the page's own mm, of circles drawn from their rightmost point to their top."""
    starts = re.findall(r"n\s+([-\d.]+) ([-\d.]+) m\s+[-\d.]+ [-\d.]+ [-\d.]+ [-\d.]+ ([-\d.]+) ([-\d.]+) c", page)
    radius = 0.5 * diameter_mm
    ends = np.array(starts, dtype=float)
    own = np.abs(ends[:, :2] - ends[:, 2:] - [radius, -radius]).max(axis=1) < 1e-3
    return ends[own][:, [2, 1]]


@pytest.mark.parametrize("paper", ["a4", "letter"])
def test_it_has_two_pages_of_the_papers_size(paper: str) -> None:
    boxes = re.findall(rb"/MediaBox \[ 0 0 ([\d.]+) ([\d.]+) \]", scale_card_pdf(paper=paper))
    assert len(boxes) == 2
    for box in boxes:
        assert [float(x) * MM_PER_POINT for x in box] == pytest.approx(PAPER_MM[paper], abs=0.001)


def test_the_page_is_drawn_in_millimetres_about_its_middle() -> None:
    page = streams(scale_card_pdf())[0]
    matrices = [[float(x) for x in m.split()] for m in re.findall(r"((?:[-\d.]+ ){6})cm", page)]
    assert matrices[0] == [1.0, 0.0, 0.0, 1.0, 0.0, 0.0]
    # to a hundredth of a millimetre over the card's 230
    assert matrices[1][:4] == pytest.approx([1.0 / MM_PER_POINT, 0.0, 0.0, 1.0 / MM_PER_POINT], rel=4e-5)
    assert [x * MM_PER_POINT for x in matrices[1][4:]] == pytest.approx([105.0, 148.5], abs=0.001)
    assert len(matrices) == 2


def test_every_mark_is_where_it_is_looked_for_on_both_pages() -> None:
    for page in streams(scale_card_pdf()):
        for diameter in (RING_MM, HOLE_MM):
            found = circles(page, diameter)
            assert len(found) == len(MARKS_MM)
            assert np.sort(found, axis=0) == pytest.approx(np.sort(MARKS_MM, axis=0), abs=1e-3)


def test_marks_keep_clear_of_the_field_and_of_a_printers_margin() -> None:
    assert (np.abs(MARKS_MM) - 0.5 * RING_MM > np.array(FIELD_MM)).any(axis=1).all()
    for size in PAPER_MM.values():
        assert (0.5 * np.array(size) - np.abs(MARKS_MM).max(axis=0) - 0.5 * RING_MM > 6.0).all()


def test_viewers_are_told_not_to_fit_it_to_the_page_and_it_is_the_same_each_time() -> None:
    assert b"/PrintScaling /None" in scale_card_pdf()
    assert scale_card_pdf() == scale_card_pdf()
