"""How is a section of a report, written as markup, put on printed pages?

So a section is written once, and shows on the screen and on paper. Only markup that this program made comes here; its
text is taken as text.
"""

from __future__ import annotations

import base64
from collections.abc import Sequence
from dataclasses import dataclass, field
from html.parser import HTMLParser

from reportlab.lib.styles import ParagraphStyle
from reportlab.platypus import Flowable, Image, KeepTogether

from portgeom.output.paper.printed_document import Styles, printed_table, words
from portgeom.output.paper.printed_figure import PrintedFigure, jpeg
from portgeom.output.paper.printed_svg import SvgDrawing
from portgeom.output.words.markup import Html

BLOCKS = frozenset({"p", "li", "dt", "dd", "h2", "h3", "h4", "h5", "figcaption", "caption", "th", "td", "summary"})
"""Elements whose text is one paragraph, or one cell."""

UNSEEN = frozenset({"script", "style", "noscript", "template", "button", "nav", "canvas", "label", "select"})
"""Elements that have no place on paper: what only acts."""

DATA = "data:image/"

HALF, WHOLE = 0.43, 0.86
"""Share of a page that a drawing takes at most, its title apart: two to a page, or one that is taller than wide."""


@dataclass(slots=True)
class _Table:
    caption: str = ""
    head: list[str] = field(default_factory=list)
    rows: list[list[str]] = field(default_factory=list)
    left: int = 0


class _Reader(HTMLParser):
    """Turns markup into what flows over pages."""

    def __init__(self, styles: Styles, wide_pt: float, tall_pt: float) -> None:
        super().__init__(convert_charrefs=True)
        self.flow: list[Flowable] = []
        self._styles, self._wide, self._tall = styles, wide_pt, tall_pt
        self._text: list[str] = []
        self._unseen: list[str] = []
        self._lists: list[int] = []
        self._table: _Table | None = None
        self._svg: SvgDrawing | None = None
        self._quiet = self._figure = self._number = False

    def handle_starttag(self, tag: str, attrs: Sequence[tuple[str, str | None]]) -> None:
        """Take an element's beginning."""
        given = {k: v or "" for k, v in attrs}
        if self._svg is not None:
            self._svg.start(tag, given)
            return
        if self._unseen or tag in UNSEEN:
            if tag not in ("br", "img", "input", "path", "use", "line", "rect", "circle", "polyline", "polygon"):
                self._unseen.append(tag)
            return
        if tag == "svg":
            self._flush()
            self._svg = SvgDrawing(given)
        elif tag == "img" and given.get("src", "").startswith(DATA):
            self._image(given["src"])
        elif tag == "table":
            self._table = _Table()
        elif tag == "tr" and self._table is not None:
            self._table.rows.append([])
        elif tag in ("ul", "ol"):
            self._flush()
            self._lists.append(0 if tag == "ol" else -1)
        elif tag in BLOCKS:
            if self._table is None:
                self._flush()
            else:
                self._text.clear()
            kind = given.get("class", "").split()
            self._quiet, self._figure, self._number = "quiet" in kind, "figure" in kind, "number" in kind
        elif tag == "br":
            self._text.append(" ")

    def handle_startendtag(self, tag: str, attrs: Sequence[tuple[str, str | None]]) -> None:
        """Take an element without an inside."""
        if not self._unseen and tag not in UNSEEN:
            self.handle_starttag(tag, attrs)

    def handle_endtag(self, tag: str) -> None:
        """Take an element's end."""
        if self._svg is not None:
            if tag != "svg":
                self._svg.end(tag)
                return
            drawn, self._svg = self._svg.drawn(), None
            most = (WHOLE if drawn.height > drawn.width else HALF) * self._tall
            self.flow.append(PrintedFigure(drawn, wide_pt=self._wide, most_tall_pt=most))
            return
        if self._unseen:
            if tag in self._unseen:
                while self._unseen.pop() != tag:
                    pass
            return
        if tag == "table":
            self._close_table()
        elif tag in ("ul", "ol"):
            self._flush()
            if self._lists:
                self._lists.pop()
        elif tag in BLOCKS:
            self._close(tag)

    def close(self) -> None:
        """End, with what was left open."""
        super().close()
        self._flush()

    def handle_data(self, data: str) -> None:
        """Take words."""
        if self._svg is not None:
            self._svg.data(data)
            return
        if not self._unseen:
            self._text.append(data)

    def _flush(self) -> None:
        """Put text that stands in no block of its own into a paragraph."""
        said = self._said()
        if said:
            self.flow.append(words(said, self._styles.body))

    def _said(self) -> str:
        said = " ".join("".join(self._text).split())
        self._text.clear()
        return said

    def _close(self, tag: str) -> None:
        said = self._said()
        table = self._table
        if table is not None and tag == "caption":
            table.caption = said
        elif table is not None and tag in ("th", "td"):
            self._cell(table, tag, said)
        elif not said:
            return
        elif tag == "li":
            self._item(said)
        else:
            look = self._styles
            styles = {"h2": look.h2, "h3": look.h3, "h4": look.h4, "h5": look.h4, "dt": look.h4}
            captions = {"figcaption": look.caption, "summary": look.h4}
            style = styles.get(tag) or captions.get(tag) or self._paragraph_style()
            self.flow.append(words(said, style))

    def _paragraph_style(self) -> ParagraphStyle:
        look = self._styles
        return look.figure if self._figure else look.quiet if self._quiet else look.body

    def _item(self, said: str) -> None:
        bullet = "•"
        if self._lists and self._lists[-1] >= 0:
            self._lists[-1] += 1
            bullet = f"{self._lists[-1]}."
        self.flow.append(words(said, self._styles.item, bullet=bullet))

    def _cell(self, table: _Table, tag: str, said: str) -> None:
        if not table.rows:
            table.rows.append([])
        if tag == "th" and len(table.rows) == 1 and not self._number:
            table.left += 1
        table.rows[-1].append(said)

    def _close_table(self) -> None:
        table, self._table = self._table, None
        if table is None or not table.rows:
            return
        head, *rows = table.rows
        count = len(head)
        if table.caption:
            self.flow.append(words(table.caption, self._styles.caption))
        even = [(row + [""] * count)[:count] for row in rows]
        self.flow.append(printed_table(head, even, left=max(1, table.left), wide_pt=self._wide))

    def _image(self, source: str) -> None:
        self.flow.append(printed_picture(base64.b64decode(source.partition(",")[2]), self._wide, 0.5 * self._tall))


def printed_picture(picture: bytes, wide_pt: float, most_tall_pt: float) -> Image:
    """Return a picture in the flow of a page, as wide as that is, or less where it would get too tall."""
    data = jpeg(picture)
    image = Image(data)
    share = min(wide_pt / image.imageWidth, most_tall_pt / image.imageHeight)
    image.drawWidth, image.drawHeight = share * image.imageWidth, share * image.imageHeight
    return image


def printed_markup(html: Html, styles: Styles, *, wide_pt: float, tall_pt: float) -> list[Flowable]:
    """Return what a piece of markup shows, to flow over pages of a width and height."""
    reader = _Reader(styles, wide_pt, tall_pt)
    reader.feed(html)
    reader.close()
    return reader.flow


def together(parts: Sequence[Flowable]) -> Flowable:
    """Return parts that stay on one page."""
    return KeepTogether(list(parts))
