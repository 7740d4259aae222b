"""How does text become HTML without anything in it ever being read as markup?

Text is ``str``, markup is ``Html``. Only the functions here make one of the other, and they escape.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Sequence
from html import escape
from typing import NewType

from portgeom.output.words.names import harmless

Html = NewType("Html", str)

EMPTY = Html("")


def text(words: str) -> Html:
    """Return text as markup that shows exactly it.

    Examples
    --------
    >>> text("<b> & 'c'")
    '&lt;b&gt; &amp; &#x27;c&#x27;'
    """
    return Html(escape(harmless(words), quote=True))


def join(parts: Iterable[Html], between: str = "\n") -> Html:
    """Return pieces of markup in a row."""
    return Html(between.join(parts))


def element(tag: str, *inside: Html, **attributes: str) -> Html:
    """Return an element round markup; its attributes' values are escaped.

    A trailing underscore of an attribute's name goes, and other underscores become dashes.
    """
    given = "".join(f' {k.rstrip("_").replace("_", "-")}="{text(v)}"' for k, v in attributes.items())
    return Html(f"<{tag}{given}>{''.join(inside)}</{tag}>")


def paragraph(words: str) -> Html:
    """Return a paragraph of text."""
    return element("p", text(words))


def items(lines: Iterable[str]) -> Html:
    """Return a list of lines of text; nothing where there is none."""
    rows = [element("li", text(line)) for line in lines]
    return element("ul", join(rows)) if rows else EMPTY


def numbered(lines: Iterable[str]) -> Html:
    """Return a numbered list of lines of text; nothing where there is none."""
    rows = [element("li", text(line)) for line in lines]
    return element("ol", join(rows)) if rows else EMPTY


def table(
    caption: str,
    headings: Sequence[str],
    rows: Sequence[Sequence[str]],
    *,
    left: int = 1,
    strong: Collection[int] = (),
) -> Html:
    """Return a table in a box of its own that scrolls sideways where the page is narrow.

    The first ``left`` columns are words, the others numbers, of which those in ``strong`` stand out.
    """

    def line(cells: Sequence[str], tag: str) -> Html:
        return element(
            "tr",
            join(
                (
                    element("th" if tag == "th" or k == 0 else "td", text(cell), **_kind(tag, k, left, strong))
                    for k, cell in enumerate(cells)
                ),
                "",
            ),
        )

    return element(
        "div",
        element(
            "table",
            element("caption", text(caption)),
            element("thead", line(headings, "th")),
            element("tbody", join(line(row, "td") for row in rows)),
        ),
        class_="scroll",
        tabindex="0",
        role="region",
        aria_label=caption,
    )


def _kind(tag: str, column: int, left: int, strong: Collection[int]) -> dict[str, str]:
    """Return a cell's attributes: what it heads, and whether it holds a number."""
    number = "number strong" if tag == "td" and column in strong else "number"
    scope = {"scope": "col"} if tag == "th" else ({"scope": "row"} if column == 0 else {})
    return scope if column < left else {**scope, "class_": number}
