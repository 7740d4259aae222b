"""``quote``: hours and price."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from ..options import Asked, question
from ..saying import say

if TYPE_CHECKING:
    from portgeom.output.paper.paper import Paper


@click.command("quote")
@question
@click.option("--out", "path", type=click.Path(path_type=Path), help="Write a page to sign here: .html or .pdf.")
@click.option("--paper", type=click.Choice(["a4", "letter"]), default="a4", show_default=True, help="Of the PDF.")
@click.option("--force", is_flag=True, help="Write over a file that is there.")
def command(asked: Asked, path: Path | None, paper: Paper, force: bool) -> None:
    """Hours from low to high, and a price, from the metal to take off, the walls to finish and fixed times.

    Asked of the ports as they came in, unless a stage is named. What is not included is told.
    """
    from portgeom.output.paper.handover_leaves import quote_leaf
    from portgeom.output.words.json_doc import document
    from portgeom.output.words.quote_doc import NO_QUOTE, quote_json, quote_text
    from portgeom.questions.handover.sheets import quote_of

    from ..leaves import refuse_leaves, write_leaves

    refuse_leaves(path, force=force)
    opened = asked.open()
    ports = [port for port, _ in opened.chosen]
    found = quote_of(opened.job, opened.ports, ports, stage_name=asked.stage_name)
    if path is not None:
        if found is None:
            raise click.UsageError(f"--out: {NO_QUOTE}")
        write_leaves(path, opened.job.title, [quote_leaf(opened.job, found)], paper=paper, force=force)
    if asked.as_json:
        click.echo(document("quote", opened.units, [], quote=quote_json(found)))
    else:
        say(quote_text(opened.job.title, found))
