"""How are pages to read and sign written: as HTML or as PDF, by the file's name?"""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

import click

from .saying import talk

if TYPE_CHECKING:
    from portgeom.output.paper.blocks import Leaf
    from portgeom.output.paper.paper import Paper

KINDS = (".html", ".pdf")


def refuse_leaves(path: Path | None, *, force: bool) -> None:
    """Refuse a file of another kind, or one that is there; before any work on what it would hold."""
    from portgeom.output.files.whole_file import refuse_if_there

    if path is None:
        return
    refuse_kind(path, "--out", KINDS)
    refuse_if_there(path, force=force)


def refuse_kind(path: Path, option: str, kinds: tuple[str, ...]) -> None:
    """Refuse a name that does not say by its end what kind of file it is of."""
    if path.suffix.casefold() not in kinds:
        raise click.UsageError(f"{option}: name a file that ends in {' or '.join(kinds)}")


def write_leaves(path: Path, title: str, leaves: Sequence[Leaf], *, paper: Paper, force: bool) -> None:
    """Write pages, whole or not at all, and say on standard error where they lie."""
    from portgeom.output.files.whole_file import write_whole
    from portgeom.output.paper.blocks_html import leaves_html
    from portgeom.output.paper.blocks_pdf import leaves_pdf

    if path.suffix.casefold() == ".pdf":
        data = leaves_pdf(title, leaves, paper=paper)
    else:
        data = leaves_html(title, leaves).encode("utf-8")
    write_whole(path, data, force=force)
    talk(f"The page lies in {path}", err=True)
