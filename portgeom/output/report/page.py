"""What is a page that stands alone, whatever it shows? It asks for nothing outside itself, and forbids it.

Its policy names the one style and the one script by their hashes, so nothing else that may ever get into the page
is obeyed, not even an element's own style.
"""

from __future__ import annotations

from pathlib import Path as FilePath

from portgeom.output.report.script import hash_of
from portgeom.output.words.markup import EMPTY, Html, element, join, text

MADE_HERE = '<meta name="generator" content="portgeom report">'
"""Tells a report from a page that a person wrote, which is never written over unasked."""


def is_report(path: FilePath) -> bool:
    """Return whether a file is there and is a report made here, which may be made again in its place."""
    if not path.is_file():
        return False
    with path.open("rb") as file:
        return MADE_HERE.encode("ascii") in file.read(4096)


def policy(css: str, script: str) -> str:
    """Return the content security policy of a page with this style and this script."""
    scripts = f"'{hash_of(script)}'" if script else "'none'"
    return (
        f"default-src 'none'; script-src {scripts}; style-src '{hash_of(css)}'; img-src data:; "
        "base-uri 'none'; form-action 'none'"
    )


def page(title: str, css: str, body: Html, *, mark: Html = EMPTY, script: str = "") -> str:
    """Return an HTML page as text.

    Parameters
    ----------
    mark : Html
        An element of the head that tells what made the page.
    script : str
        What the page runs once it is there; without one, it may run none.
    """
    rules = policy(css, script)
    head = join(
        part
        for part in (
            Html('<meta charset="utf-8">'),
            Html(f'<meta http-equiv="Content-Security-Policy" content="{rules}">'),
            Html('<meta name="viewport" content="width=device-width, initial-scale=1">'),
            Html('<meta name="referrer" content="no-referrer">'),
            Html('<meta name="color-scheme" content="light dark">'),
            mark,
            element("title", text(title)),
            element("style", Html(css)),
        )
        if part
    )
    run = f"\n<script>{script}</script>" if script else ""
    return f'<!DOCTYPE html>\n<html lang="en">\n<head>\n{head}\n</head>\n<body>\n{body}{run}\n</body>\n</html>\n'
