"""The depth card as a page: one for every port and groove pass, escaped, depths rounded down."""

from __future__ import annotations

import re
from dataclasses import replace
from pathlib import Path

import pytest

from portgeom.job.read import read_job
from portgeom.job.values import Units
from portgeom.model.lofted import loft_job
from portgeom.output.paper.card import LETTERS, Card, card_picture
from portgeom.output.paper.card_page import card_page
from portgeom.output.words.shown import Shown, set_depth
from portgeom.questions.cutting.depth_card import depth_card
from portgeom.questions.cutting.passes import passes
from portgeom.questions.whole import wanted_of

EXAMPLE = Path(__file__).parents[3] / "examples" / "workshop-pair"


@pytest.fixture(scope="module")
def cards() -> list[Card]:
    job = read_job(EXAMPLE)
    ports = loft_job(job)
    made = []
    for port in ports:
        wanted = wanted_of(job, ports, port)
        done = passes(job, port, port.cast, wanted).results
        made += [Card(port, port.cast, result, depth_card(result, wanted, "mm")) for result in done]
    return made


def test_a_page_is_made_for_every_port_whose_pass_cuts_grooves(cards: list[Card]) -> None:
    assert card_page("job", cards, "mm").count("<section>") == len([c for c in cards if c.marks]) == 2


def test_no_card_has_more_than_eight_marks(cards: list[Card]) -> None:
    assert all(len(c.marks) <= 8 for c in cards)


def test_every_depth_on_the_page_is_at_most_the_depth_planned(cards: list[Card]) -> None:
    card = next(c for c in cards if c.marks and c.port.port.name == "2")
    shown = [float(x) for x in re.findall(r'<td class="set">([\d.]+)</td>', card_page("job", [card], "mm"))]
    planned = [r.depth_mm for m in card.marks for r in m.rows]
    assert len(shown) == len(planned)
    assert all(0.0 <= p - s < 0.1 + 1e-6 for s, p in zip(shown, planned, strict=True))


def test_names_from_the_job_are_shown_as_text_and_nothing_is_asked_for(cards: list[Card]) -> None:
    card = next(c for c in cards if c.marks)
    port = replace(card.port, port=replace(card.port.port, name="<script>x</script>", left_wall='"a"<b>'))
    page = card_page("<img src=x>", [replace(card, port=port)], "in")
    assert "<script" not in page
    assert "<img" not in page
    assert "&lt;script&gt;" in page
    assert not re.search(r"<(?:script|link|iframe|object|embed|img)", page)
    assert not re.search(r"https?://|url\(", page.split("</head>")[1])
    assert "Content-Security-Policy" in page


def test_a_plan_without_grooves_says_so() -> None:
    assert "No pass of this job cuts grooves" in card_page("job", [], "mm")


@pytest.mark.parametrize(
    ("depth_mm", "units", "words"),
    [
        (3.29, "mm", "3.2"),
        (3.3, "mm", "3.3"),
        (3.2999999999, "mm", "3.3"),
        (3.302, "in", "0.130"),
        (3.3, "in", "0.125"),
    ],
)
def test_a_depth_is_rounded_down_to_what_is_set_by_hand(depth_mm: float, units: Units, words: str) -> None:
    assert set_depth(depth_mm, units) == words


def test_the_walls_names_keep_clear_of_the_marks_numbers(cards: list[Card]) -> None:
    for card in (c for c in cards if c.marks):
        picture = card_picture(card, Shown("mm"))
        numbers = {label.place[1] for label in picture.labels if label.middle}
        names = {label.place[1] for label in picture.labels if not label.middle}
        assert min(abs(a - b) for a in numbers for b in names) > LETTERS
        assert all(picture.low[1] < y < picture.high[1] for y in numbers | names)


def test_a_card_says_its_units_in_words_that_are_read_aloud(cards: list[Card]) -> None:
    assert "All sizes in inches." in cards[0].how("in")
    assert "All sizes in mm." in cards[0].how("mm")
