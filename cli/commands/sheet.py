"""``sheet``: a blank measuring sheet to print."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from ..leaves import refuse_kind
from ..options import tells_faults
from ..saying import talk

if TYPE_CHECKING:
    from portgeom.job.values import Units
    from portgeom.output.paper.paper import Paper


@click.command("sheet")
@click.option("--face", help="Depths from the face to gauge at, from 0 inwards, such as '0 12 24 36'.")
@click.option("--turn", help="Degrees round the short side, such as '20 40 60'; '' for none.")
@click.option("--bowl", help="Heights over the seat, falling to it, such as '16 8 0'; '' for none.")
@click.option("--units", type=click.Choice(["mm", "in"]), default="mm", show_default=True)
@click.option("--paper", type=click.Choice(["a4", "letter"]), default="a4", show_default=True)
@click.option("--title", default="", help="Printed at the head of every page.")
@click.option("--port", default="", metavar="NAME", help="The port's name, printed at the head of every page.")
@click.option("--out", "path", type=click.Path(path_type=Path), help="The PDF; else measuring-sheet.pdf.")
@click.option("--semicolons", is_flag=True, help="Semicolons in the table, for spreadsheets with a decimal comma.")
@click.option("--scale-card", is_flag=True, help="Print the scale card for tracing photographs instead.")
@click.option("--force", is_flag=True, help="Write over files that are there.")
@tells_faults
def command(
    face: str | None,
    turn: str | None,
    bowl: str | None,
    units: Units,
    paper: Paper,
    title: str,
    port: str,
    path: Path | None,
    semicolons: bool,
    scale_card: bool,
    force: bool,
) -> None:
    """A measuring sheet to print and fill in, and beside it the table to type the readings into.

    It shows where each reading is taken and asks for no pitch, yaw or path. `portgeom new --from-sheet` makes a job
    of the filled table.
    """
    from portgeom.output.files.whole_file import refuse_if_there, write_whole

    if path is not None:
        refuse_kind(path, "--out", (".pdf",))
    if scale_card:
        from portgeom.output.paper.scale_card_page import scale_card_pdf

        place = path or Path("scale-card.pdf")
        write_whole(place, scale_card_pdf(paper=paper), force=force)
        talk(f"The scale card lies in {place}: print it at 100 percent and check it with a ruler.")
        return
    from portgeom.capture.sheets.readings import USUAL, blank_table, marks_of
    from portgeom.output.paper.sheet_page import Named, measuring_sheet_pdf

    given = (face, turn, bowl)
    texts = [usual if text is None else text for text, usual in zip(given, USUAL[units], strict=True)]
    try:
        marks = marks_of(*texts, units=units)
    except ValueError as error:
        raise click.UsageError(str(error)) from error
    place = path or Path("measuring-sheet.pdf")
    table = place.with_suffix(".csv")
    there = [str(p) for p in (place, table) if p.exists()]
    if there and not force:
        raise FileExistsError(f"{', '.join(there)}: there already; name another file, or say --force")
    refuse_if_there(place, force=force)
    text = blank_table(marks, units=units, separator=";" if semicolons else ",")
    sheet = measuring_sheet_pdf(marks, units=units, paper=paper, named=Named(title, port))
    write_whole(place, sheet, force=force)
    write_whole(table, text.encode("utf-8"), force=force)
    talk(f"The measuring sheet lies in {place}: print it at 100 percent.")
    talk(f"Type the readings into {table}, then: portgeom new FOLDER --from-sheet {table}")
