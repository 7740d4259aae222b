"""Pages to read and sign: everything escaped, nothing empty shown, large enough to read, on A4 and on Letter."""

from __future__ import annotations

import io
import re
from html.parser import HTMLParser

import pytest
from pypdf import PdfReader

from portgeom.output.paper.blocks import Facts, Leaf, Lines, Link, Part, Sign, facts, grid, leaf_text
from portgeom.output.paper.blocks_html import leaves_html
from portgeom.output.paper.blocks_pdf import SIZE_PT, column_widths, leaves_pdf
from portgeom.output.paper.paper import PAPER_MM, Paper

HOSTILE = "<script>alert('x')</script> & \"q\" </td> <b>bold</b>"

LEAF = Leaf(
    "Handover: a head",
    ("Head marked 7",),
    (
        Part("Measured", (grid(["", "port 1"], [["poured, cc", "206.0 to 219.4"]]),)),
        Part("Nothing here", (Lines(()), Facts(()), grid(["a"], []))),
        Part("Facts", (facts(("deck", "out by 0.04 mm"), ("crack test", "")),)),
        Part("Cautions", (Lines(("Wash it.", "Test it.")),)),
        Part("Signed", (Sign(("Handed over by, date", "Taken over by, date")),)),
    ),
    Link("The report", "report/a.html"),
)


class Tags(HTMLParser):
    """Gathers tags, links and text."""

    def __init__(self, page: str) -> None:
        super().__init__()
        self.tags: list[str] = []
        self.links: list[str | None] = []
        self.words: list[str] = []
        self.feed(page)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append(tag)
        self.links += [value for name, value in attrs if name in ("href", "src")]

    def handle_data(self, data: str) -> None:
        self.words.append(data)


def hostile() -> Leaf:
    """Return a page whose every word is hostile."""
    blocks = (
        grid([HOSTILE, HOSTILE], [[HOSTILE, HOSTILE]]),
        Facts(((HOSTILE, HOSTILE),)),
        Lines((HOSTILE,)),
        Sign((HOSTILE,)),
    )
    return Leaf(HOSTILE, (HOSTILE,), (Part(HOSTILE, blocks),), Link(HOSTILE, 'x" onclick="y'))


def sizes(pdf: bytes) -> set[float]:
    """Return the sizes of letters that a PDF sets, in points."""
    found: set[float] = set()
    for page in PdfReader(io.BytesIO(pdf)).pages:
        contents = page.get_contents()
        assert contents is not None
        for size in re.findall(rb"/F\S+ ([\d.]+) Tf", contents.get_data()):
            found.add(float(size))
    return found


def test_a_part_with_nothing_in_it_leaves_no_heading_anywhere() -> None:
    page, text = leaves_html("t", [LEAF]), leaf_text(LEAF)
    words = "".join(p.extract_text() for p in PdfReader(io.BytesIO(leaves_pdf("t", [LEAF]))).pages)
    for told in (page, text, words):
        assert "Nothing here" not in told
        assert "crack test" not in told
        assert "Measured" in told
    assert not re.search(r"<h2>[^<]*</h2></section>", page)


def test_every_word_is_escaped_in_html() -> None:
    page = Tags(leaves_html(HOSTILE, [hostile()]))
    assert "script" not in page.tags
    assert "b" not in page.tags
    assert "alert('x')" in " ".join(page.words)
    assert page.links == ['x" onclick="y']


def test_words_that_look_like_markup_are_printed_as_they_are() -> None:
    words = " ".join(p.extract_text() for p in PdfReader(io.BytesIO(leaves_pdf(HOSTILE, [hostile()]))).pages)
    assert "<b>bold</b>" in " ".join(words.split())


def test_the_page_asks_for_nothing_outside_itself() -> None:
    page = leaves_html("t", [LEAF])
    assert "Content-Security-Policy" in page
    assert not re.search(r"<(?:script|img|iframe|object|embed|link\s)", page)
    assert not re.search(r"https?://|url\(", page)
    assert Tags(page).links == ["report/a.html"]


@pytest.mark.parametrize("paper", ["a4", "letter"])
def test_a_pdf_has_its_paper_and_letters_that_read_at_arm_s_length(paper: Paper) -> None:
    pdf = leaves_pdf("t", [LEAF, LEAF], paper=paper)
    pages = PdfReader(io.BytesIO(pdf)).pages
    assert len(pages) == 2
    wide, tall = PAPER_MM[paper]
    assert float(pages[0].mediabox.width) == pytest.approx(wide * 72.0 / 25.4, abs=0.01)
    assert float(pages[0].mediabox.height) == pytest.approx(tall * 72.0 / 25.4, abs=0.01)
    assert min(sizes(pdf)) >= 11.0
    assert SIZE_PT >= 11.0


def test_html_prints_no_smaller_than_11_points() -> None:
    css = re.search(r"<style>(.*?)</style>", leaves_html("t", [LEAF]), re.DOTALL)
    assert css is not None
    told = [float(x) for x in re.findall(r"font(?:-size)?:(?:\d+ )?([\d.]+)pt", css.group(1))]
    assert told
    assert min(told) >= 11.0


def test_the_same_pages_are_the_same_bytes() -> None:
    assert leaves_pdf("t", [LEAF]) == leaves_pdf("t", [LEAF])


def test_columns_fill_the_room_and_none_is_lost() -> None:
    wide = grid(["what", "how"], [["a very long word story " * 6, "12.0"]])
    for room in (300.0, 520.0):
        widths = column_widths(wide, room)
        assert sum(widths) == pytest.approx(room)
        assert min(widths) > 20.0


def test_words_longer_than_the_page_still_make_one() -> None:
    long = Leaf("x" * 300, ("y" * 200,), (Part("z" * 200, (Lines(("w" * 200,)), Facts((("k" * 200, "v" * 200),)))),))
    assert len(PdfReader(io.BytesIO(leaves_pdf("t", [long]))).pages) >= 1
