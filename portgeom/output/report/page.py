"""What is a page that stands alone, whatever it shows? It asks for nothing outside itself, and forbids it."""

from __future__ import annotations

from portgeom.output.words.markup import EMPTY, Html, element, join, text

POLICY = "default-src 'none'; style-src 'unsafe-inline'; img-src data:; base-uri 'none'; form-action 'none'"


def page(title: str, css: str, body: Html, *, mark: Html = EMPTY) -> str:
    """Return an HTML page as text.

    Parameters
    ----------
    mark : Html
        An element of the head that tells what made the page.
    """
    head = join(
        part
        for part in (
            Html('<meta charset="utf-8">'),
            Html(f'<meta http-equiv="Content-Security-Policy" content="{POLICY}">'),
            Html('<meta name="viewport" content="width=device-width, initial-scale=1">'),
            Html('<meta name="referrer" content="no-referrer">'),
            mark,
            element("title", text(title)),
            element("style", Html(css)),
        )
        if part
    )
    return f'<!DOCTYPE html>\n<html lang="en">\n<head>\n{head}\n</head>\n<body>\n{body}\n</body>\n</html>\n'
