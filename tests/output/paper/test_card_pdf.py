"""The depth card on paper: one page a card, the same depths as on the screen, nothing off the page."""

from __future__ import annotations

import io
from dataclasses import replace

import pytest
from pypdf import PdfReader

from portgeom.job.values import Units
from portgeom.output.paper.card import Card
from portgeom.output.paper.card_pdf import card_pdf
from portgeom.output.paper.paper import Paper
from portgeom.output.words.depth_cells import depth_cells


@pytest.fixture(scope="module")
def cards(drilled, cut) -> list[Card]:  # type: ignore[no-untyped-def]
    (answer,), (done,) = drilled.answers, cut(drilled)
    return [Card(answer.port, answer.stage, r, c) for r, c in zip(done.results, done.cards, strict=True)]


def text_of(pdf: bytes) -> list[str]:
    return [page.extract_text() for page in PdfReader(io.BytesIO(pdf)).pages]


@pytest.mark.parametrize("paper", ["a4", "letter"])
@pytest.mark.parametrize("units", ["mm", "in"])
def test_a_page_a_card_with_every_depth_and_stop(cards: list[Card], units: Units, paper: Paper) -> None:
    pages = text_of(card_pdf("job", cards, units, paper=paper))
    with_marks = [c for c in cards if c.marks]
    assert len(pages) == len(with_marks) == 1
    cells = [cell for m in with_marks[0].marks for r in m.rows for cell in depth_cells(r, units)]
    words = pages[0].split()
    for cell in set(cells):
        assert words.count(cell) >= cells.count(cell)


def test_a_card_of_many_marks_stays_on_one_page(cards: list[Card]) -> None:
    card = next(c for c in cards if c.marks)
    many = replace(card, marks=card.marks * 6)
    assert len(text_of(card_pdf("job", [many, many], "in", paper="letter"))) == 2


def test_names_of_any_kind_break_no_card(cards: list[Card]) -> None:
    card = next(c for c in cards if c.marks)
    for name in ("<script>", "y" * 300, "שער\u202e\U0001f9ff"):
        port = replace(card.port, port=replace(card.port.port, name=name, left_wall=name))
        assert len(text_of(card_pdf(name, [replace(card, port=port)], "mm"))) == 1


def test_without_grooves_it_says_so() -> None:
    assert "No pass of this job cuts grooves" in text_of(card_pdf("job", [], "mm"))[0]
