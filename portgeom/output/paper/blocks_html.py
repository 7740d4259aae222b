"""What is a page to read and sign as HTML that prints on A4 and on Letter?"""

from __future__ import annotations

from collections.abc import Sequence

from portgeom.output.paper.blocks import Block, Facts, Grid, Leaf, Lines, Part
from portgeom.output.report.page import page
from portgeom.output.words.markup import EMPTY, Html, element, join, paragraph, text

CSS = """
:root{color-scheme:light}
*{box-sizing:border-box}
body{margin:0;font:12pt/1.32 "DejaVu Sans","Segoe UI",system-ui,sans-serif;color:#111;background:#fff}
article{max-width:196mm;margin:0 auto;padding:8mm}
h1{font-size:14.5pt;line-height:1.15;margin:0 0 1mm;overflow-wrap:anywhere}
h2{font-size:12pt;margin:2.6mm 0 .6mm;border-bottom:1.5px solid #111;overflow-wrap:anywhere}
p{margin:.6mm 0;overflow-wrap:anywhere}
ul{margin:.6mm 0;padding-left:5mm}li{margin:.5mm 0;overflow-wrap:anywhere}
table{border-collapse:collapse;width:100%;margin:1.2mm 0;font-variant-numeric:tabular-nums}
th,td{border-bottom:1px solid #999;padding:.3mm 1.6mm .3mm 0;text-align:left;vertical-align:top;
overflow-wrap:break-word;font-weight:400}
thead th{font-weight:700;vertical-align:bottom;border-bottom:1.5px solid #111}
.number{text-align:right;padding-right:0;padding-left:1.6mm}
.facts th{width:34%;color:#333;padding-right:4mm}
.sign{display:grid;grid-template-columns:1fr 1fr;gap:0 10mm}
.sign div{border-bottom:1.5px solid #111;height:11mm}
.sign p{font-size:11pt;margin:0 0 1mm}
a{color:#111}
@page{margin:11mm 12mm}
@media print{body{font-size:11pt}article{padding:0;max-width:none;break-after:page}
article:last-child{break-after:auto}tr,li,.signs{break-inside:avoid}h2{break-after:avoid}}
"""


LONGEST = 24
"""Characters of a word that are never parted."""


def leaves_html(title: str, leaves: Sequence[Leaf]) -> str:
    """Return pages as one HTML file that stands alone; each begins on a sheet of its own."""
    return page(title, CSS, join(_article(leaf) for leaf in leaves))


def breakable(words: str) -> Html:
    """Return text in which a word longer than a column may be broken.

    Examples
    --------
    >>> breakable("a<b " + "x" * 30)
    'a&lt;b xxxxxxxxxxxxxxxxxxxxxxxx<wbr>xxxxxx'
    """
    return Html(" ".join(_pieces(word) for word in words.split(" ")))


def _pieces(word: str) -> Html:
    return join((text(word[k : k + LONGEST]) for k in range(0, max(1, len(word)), LONGEST)), "<wbr>")


def _article(leaf: Leaf) -> Html:
    link = EMPTY if leaf.link is None else element("p", element("a", text(leaf.link.words), href=leaf.link.href))
    return element(
        "article",
        element("h1", text(leaf.title)),
        join(paragraph(u) for u in leaf.under),
        join(_part(p) for p in leaf.filled),
        link,
    )


def _part(part: Part) -> Html:
    return element("section", element("h2", text(part.title)), join(_block(b) for b in part.filled))


def _block(block: Block) -> Html:
    if isinstance(block, Facts):
        rows = [
            element("tr", element("th", breakable(name), scope="row"), element("td", breakable(words)))
            for name, words in block.rows
        ]
        return element("table", element("tbody", join(rows)), class_="facts")
    if isinstance(block, Grid):
        return _grid(block)
    if isinstance(block, Lines):
        return element("ul", join(element("li", text(line)) for line in block.lines))
    places = [element("section", element("div"), element("p", text(f))) for f in block.fields]
    return element("section", join(places), class_="sign signs")


def _grid(block: Grid) -> Html:
    def row(cells: Sequence[str], tag: str) -> Html:
        return element(
            "tr",
            join(
                (
                    element(
                        "th" if tag == "th" or k == 0 else "td",
                        breakable(cell),
                        **({"class_": "number"} if k >= block.left else {}),
                        **({"scope": "col"} if tag == "th" else {"scope": "row"} if k == 0 else {}),
                    )
                    for k, cell in enumerate(cells)
                ),
                "",
            ),
        )

    return element(
        "table",
        element("thead", row(block.headings, "th")),
        element("tbody", join(row(r, "td") for r in block.rows)),
    )
