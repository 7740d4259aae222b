"""``match``: how port, gasket and manifold meet at the face."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from ..options import Asked, found_something, question
from ..saying import talk
from ..telling import each, tell

if TYPE_CHECKING:
    from portgeom.output.paper.paper import Paper


@click.command("match")
@question
@click.option(
    "--template",
    "template",
    type=click.Path(path_type=Path),
    help="Write the common line with its holes at 1:1 here: a .pdf to print, a .dxf or an .svg.",
)
@click.option("--paper", type=click.Choice(["a4", "letter"]), default="a4", show_default=True, help="Of the PDF.")
@click.option("--force", is_flag=True, help="Write over a file that is there.")
def command(asked: Asked, template: Path | None, paper: Paper, force: bool) -> None:
    """Steps between port, gasket and manifold at the face, placed by their bolts or dowels with their play.

    At every hour: how far the other edge lies outside the port's, whether that faces the flow, and how far the gasket
    stands into it. Where the job says that deck or face is milled, what that shifts.
    """
    from portgeom.output.files.whole_file import refuse_if_there, write_whole
    from portgeom.output.words.match_doc import match_json, match_text
    from portgeom.questions.match.of_job import match_of

    kind = "" if template is None else template.suffix[1:].casefold()
    if template is not None:
        if kind not in ("pdf", "dxf", "svg"):
            raise click.UsageError("--template: name a file that ends in .pdf, .dxf or .svg")
        refuse_if_there(template, force=force)
    opened = asked.open()
    told = each(opened, lambda port, stage: match_of(opened.job, port, stage))
    if template is not None:
        from portgeom.output.paper.match_template import match_pieces
        from portgeom.output.paper.template_files import template_file

        pieces = [
            piece
            for t in told
            if t.answer is not None
            for piece in match_pieces(t.answer, f"Match, port {t.port.port.name}, {t.stage.stage.name}")
        ]
        if not pieces:
            raise click.UsageError("--template: the job names nothing that meets a port's face; add a [port.match]")
        title = f"Match: {opened.job.title}"
        write_whole(template, template_file(kind, title, pieces, units=opened.units, paper=paper), force=force)
        talk(f"The template lies in {template}: print it at 100 percent and measure the bar.", err=True)
    tell("match", asked, opened, told, as_json=match_json, as_text=match_text)
    found_something(asked.strict, any(t.answer is not None and t.answer.found for t in told))
