"""What does the report open with: the answers for every port, in a few words each and then in more?

One or two ports open with a picture each and the answers under it. More of them open with one table, a row a port,
so that all are seen at once; their pictures follow.
"""

from __future__ import annotations

from collections.abc import Sequence

from portgeom.output.words.first_words import Answer
from portgeom.output.words.markup import EMPTY, Html, element, join, paragraph, text

FEW = 2
"""As many ports have their answers under their pictures; of more there is a table."""

HEADINGS = ("roof", "metal", "area", "thinnest wall", "first")
"""What the columns of that table are called: the questions in a word or two."""


def glance_card(name: str, link: str, picture: Html, told: Sequence[Answer], *, alone: bool) -> Html:
    """Return the picture of a port and, where there are few of them, its answers in a few words each."""
    rows = [join((element("dt", text(a.question)), element("dd", text(sentence(a.figure))))) for a in told]
    return element(
        "article",
        element("h2", element("a", text(name), href=link)),
        picture,
        element("dl", join(rows)) if alone else EMPTY,
        class_="glance",
    )


def glance_table(names: Sequence[str], links: Sequence[str], told: Sequence[Sequence[Answer]]) -> Html:
    """Return the answers for every port, a row each; nothing where few ports tell them under their pictures."""
    if len(names) <= FEW:
        return EMPTY
    head = [element("th", text(words), scope="col") for words in ("port", *HEADINGS)]
    rows = [
        element(
            "tr",
            element("th", element("a", text(name), href=link), scope="row"),
            *(element("td", text(a.figure)) for a in answers),
        )
        for name, link, answers in zip(names, links, told, strict=True)
    ]
    caption = "All ports at a glance"
    return element(
        "div",
        element(
            "table",
            element("caption", text(caption)),
            element("thead", element("tr", *head)),
            element("tbody", join(rows)),
        ),
        class_="scroll all-ports",
        tabindex="0",
        role="region",
        aria_label=caption,
    )


def answers_card(name: str, held_against: str, told: Sequence[Answer]) -> Html:
    """Return the answers for a port with all that is said of each."""
    rows = [
        join(
            (
                element("dt", text(a.question)),
                element(
                    "dd",
                    element("p", text(sentence(a.figure)), class_="figure"),
                    join(paragraph(words) for words in a.words),
                ),
            )
        )
        for a in told
    ]
    return element(
        "article",
        element("h2", text(name)),
        element("p", text(f"Held against {held_against}."), class_="quiet"),
        element("dl", join(rows)),
        class_="answers",
    )


def sentence(words: str) -> str:
    """Return words as a sentence begins."""
    return words[:1].upper() + words[1:]
