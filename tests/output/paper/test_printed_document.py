"""Printed pages: numbered, with every word of every table on them, whatever the names."""

from __future__ import annotations

import io
import re

import numpy as np
import pytest
from pypdf import PdfReader
from reportlab.pdfgen.canvas import Canvas

from portgeom.output.charts.sheet import Curve, Painting, Region, Sheet, Spot, Stroke, Words, place, sheet
from portgeom.output.charts.sheet_svg import svg_of
from portgeom.output.paper.lettering import printable, width
from portgeom.output.paper.printed_document import CELL_PAD, printed_document, printed_table, room_pt, styles, words
from portgeom.output.paper.printed_figure import PrintedFigure
from portgeom.output.paper.printed_markup import printed_markup
from portgeom.output.words.markup import Html, element, items, join, numbered, paragraph, table, text

WIDE, TALL = room_pt("a4")


def text_of(pdf: bytes) -> list[str]:
    return [page.extract_text() for page in PdfReader(io.BytesIO(pdf)).pages]


def squeezed(words: str) -> str:
    return "".join(words.split())


def test_pages_say_which_of_how_many_they_are() -> None:
    body = styles().body
    pages = text_of(printed_document("t", "foot", [words(f"line {k}", body) for k in range(200)], paper="a4"))
    assert len(pages) > 2
    for k, page in enumerate(pages, 1):
        assert f"page {k} of {len(pages)}" in page


@pytest.mark.parametrize("columns", [2, 6, 13, 19])
def test_no_table_is_wider_than_the_page_and_no_column_narrower_than_its_words(columns: int) -> None:
    heads = [f"flow area {k}, mm2" for k in range(columns)]
    made = printed_table(heads, [["1234.5"] * columns] * 3, left=1, wide_pt=WIDE)
    across = made._colWidths
    assert sum(across) <= WIDE + 1e-6
    size = made._cellvalues[0][0].style.fontSize
    if size > 5.0:
        assert min(across) >= width("1234.5", size) + 2.0 * CELL_PAD


def test_a_word_too_wide_for_the_page_is_broken_and_nothing_of_it_is_lost() -> None:
    name = "".join(chr(97 + k % 26) for k in range(300))
    rows = [[name, name, str(k)] for k in range(3)]
    made = printed_table(["hazard", "surface", "least, mm"], rows, left=2, wide_pt=WIDE)
    page = squeezed("".join(text_of(printed_document("t", "f", [made], paper="a4"))))
    for row in rows:
        assert row[2] in page
    # two columns of a row are read one line of each after the other, so letters are counted
    assert page.count("q") >= 6 * name.count("q")


def test_a_long_table_goes_on_with_its_headings() -> None:
    made = printed_table(["station", "area"], [[f"s{k}", f"{k}.5"] for k in range(160)], left=1, wide_pt=WIDE)
    pages = text_of(printed_document("t", "f", [made], paper="letter"))
    assert len(pages) > 1
    assert all("station" in page for page in pages)
    assert all(f"s{k}\n" in "\n".join(pages) for k in range(160))


HOSTILE = ("<script>alert(1)</script>", "<b>&amp;</para>", "\"quotes' \U0001f9ff", "שער 7", "a\x00b\x1b[2J")


@pytest.mark.parametrize("name", HOSTILE)
def test_words_of_any_kind_are_shown_as_words(name: str) -> None:
    look = styles()
    html = join(
        (
            element("h3", text(name)),
            paragraph(name),
            items([name]),
            table(name, [name, "mm"], [[name, "1.0"]]),
        )
    )
    flow = printed_markup(html, look, wide_pt=WIDE, tall_pt=TALL)
    (page,) = text_of(printed_document(name, name, flow, paper="a4"))
    shown = squeezed(printable(name))
    # readers of PDF turn right-to-left words back into the order they were written in
    assert max(squeezed(page).count(way) for way in (shown, squeezed(name))) >= 5


def test_markup_keeps_the_order_of_its_parts_and_leaves_out_what_only_acts() -> None:
    html = join(
        (
            element("h4", text("Alpha")),
            Html('<script>drawing</script><nav><ul><li>link</li></ul></nav><button type="button">press</button>'),
            numbered(["beta", "gamma"]),
            Html("<div><details><summary>delta</summary><p>epsilon <strong>bold</strong> rest</p></details></div>"),
            table("zeta", ["kappa", "theta"], [["1", "2"]]),
            Html("loose words"),
        )
    )
    (page,) = text_of(
        printed_document("t", "f", printed_markup(html, styles(), wide_pt=WIDE, tall_pt=TALL), paper="a4")
    )
    told = ["Alpha", "1.", "beta", "2.", "gamma", "delta", "epsilon bold rest", "zeta", "kappa", "theta", "loose words"]
    places = [page.rindex(words) if words[0].isalpha() else page.index(f"{words} ") for words in told]
    assert places == sorted(places)
    for hidden in ("drawing", "link", "press"):
        assert hidden not in page


def every_mark() -> Sheet:
    """Return a drawing of 200 by 100 points with every kind of mark."""
    ring = np.array([[150.0, 50.0], [190.0, 50.0], [190.0, 90.0], [150.0, 90.0]])
    pixels = np.zeros((4, 4, 3), dtype=np.uint8)
    pixels[:2] = (255, 0, 0)
    marks = [
        Curve(np.array([[50.0, 75.0], [150.0, 25.0]]), Stroke("#112233", 1.0, (3.0, 2.0), 0.5)),
        Region(np.array([[10.0, 10.0], [30.0, 10.0], [30.0, 30.0]]), "#00aa00", Stroke("#000000", 0.5), 0.25),
        Region(np.array([[40.0, 10.0], [60.0, 10.0], [60.0, 30.0]]), None, Stroke("#000000", 2.0)),
        *(
            Spot(place(20.0 + 10.0 * k, 60.0), s, 4.0, "#0000ff")
            for k, s in enumerate(("dot", "diamond", "plus", "tick"))
        ),
        Words(place(100.0, 50.0), "<b>neck</b> & 2", 8.0, "#333333", "middle", bold=True, ground="#ffffff"),
        Words(place(5.0, 50.0), "up the side", 6.0, "#333333", "end", turned=True),
        Painting(place(150.0, 50.0), place(190.0, 90.0), pixels, ring),
    ]
    return sheet(200.0, 100.0, marks)


def test_a_drawing_is_drawn_to_scale_with_its_letters() -> None:
    chart = PrintedFigure(every_mark(), wide_pt=100.0, most_tall_pt=500.0)
    assert (chart.width, chart.height) == (100.0, 50.0)
    out = io.BytesIO()
    canvas = Canvas(out, pagesize=(200.0, 200.0), pageCompression=0, invariant=1)
    chart.drawOn(canvas, 10.0, 20.0)
    canvas.save()
    drawn = out.getvalue().decode("latin-1")
    # half the size, y down from its upper left corner, 50 points over the place it stands at
    scaled = re.search(r"\n([-.0-9]+) 0 0 (-[.0-9]+) ([-.0-9]+) ([-.0-9]+) cm", drawn)
    assert scaled is not None
    assert [float(x) for x in scaled.groups()] == pytest.approx([0.5, -0.5, 10.0, 70.0])
    assert "n 50 75 m 150 25 l" in drawn
    said = text_of(out.getvalue())[0]
    assert "<b>neck</b> & 2" in said
    assert "up the side" in said.replace("\n", "")


def test_a_drawing_read_back_from_its_page_is_the_same_drawing() -> None:
    first = every_mark()
    html = Html(f"<figure>{svg_of(first, name='d', describe='all marks')}</figure>")
    (figure,) = printed_markup(html, styles(), wide_pt=WIDE, tall_pt=TALL)
    again = figure._drawn
    assert (again.width, again.height) == (first.width, first.height)
    curves = [[m for m in s.marks if isinstance(m, Curve)] for s in (first, again)]
    assert curves[1][0].points == pytest.approx(curves[0][0].points, abs=0.05)
    assert curves[1][0].stroke == curves[0][0].stroke
    regions = [[m for m in s.marks if isinstance(m, Region)] for s in (first, again)]
    for a, b in zip(*regions, strict=False):
        assert b.points == pytest.approx(a.points, abs=0.05)
        assert (b.fill, b.opacity, b.edge) == (a.fill, a.opacity, a.edge)
    words = [[m for m in s.marks if isinstance(m, Words)] for s in (first, again)]
    for a, b in zip(*words, strict=True):
        assert (b.text, b.size, b.colour, b.anchor, b.bold, b.turned) == (
            a.text,
            a.size,
            a.colour,
            a.anchor,
            a.bold,
            a.turned,
        )
        assert b.at == pytest.approx(a.at, abs=0.05)
    (a,), (b,) = ([m for m in s.marks if isinstance(m, Painting)] for s in (first, again))
    assert (b.pixels == a.pixels).all()
    assert b.ring == pytest.approx(a.ring)
    assert (*b.low, *b.high) == pytest.approx((*a.low, *a.high))
    dots = [[m.at for m in s.marks if isinstance(m, Spot) and m.shape == "dot"] for s in (first, again)]
    assert np.array(dots[1]) == pytest.approx(np.array(dots[0]))
