"""Printed pages: numbered, with every word of every table on them, whatever the names."""

from __future__ import annotations

import io

import numpy as np
import pytest
from pypdf import PdfReader
from reportlab.pdfgen.canvas import Canvas

from portgeom.output.paper.lettering import printable, width
from portgeom.output.paper.printed_document import CELL_PAD, printed_document, printed_table, room_pt, styles, words
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
            Html(
                '<svg><text>drawing</text></svg><nav><ul><li>link</li></ul></nav><button type="button">press</button>'
            ),
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


def test_a_chart_is_drawn_to_scale_with_its_letters() -> None:
    from matplotlib.figure import Figure

    from portgeom.output.charts.figures import new_figure
    from portgeom.output.paper.printed_figure import PrintedFigure

    def draw() -> Figure:
        figure = new_figure(4.0, 2.0)
        axes = figure.add_axes((0.0, 0.0, 1.0, 1.0))
        axes.set_axis_off()
        axes.set_xlim(0.0, 4.0)
        axes.set_ylim(0.0, 2.0)
        axes.plot([1.0, 3.0], [0.5, 1.5], color="black", linewidth=1.0)
        axes.text(1.0, 1.0, "<b>neck</b>")
        axes.imshow(np.eye(2), extent=(0.0, 0.5, 0.0, 0.5), aspect="auto")
        axes.set_xlim(0.0, 4.0)
        axes.set_ylim(0.0, 2.0)
        return figure

    chart = PrintedFigure(draw, wide_pt=144.0, most_tall_pt=500.0)
    assert (chart.width, chart.height) == (144.0, 72.0)
    out = io.BytesIO()
    canvas = Canvas(out, pagesize=(200.0, 200.0), pageCompression=0, invariant=1)
    chart.drawOn(canvas, 10.0, 20.0)
    canvas.save()
    drawn = out.getvalue().decode("latin-1")
    assert ".5 0 0 .5 10 20 cm" in drawn
    # an inch of the chart is 72 points, halved by the scale; y runs up
    assert "n 72 36 m 216 108 l" in drawn
    assert text_of(out.getvalue())[0].strip() == "<b>neck</b>"
