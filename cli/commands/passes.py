"""``passes``: what each pass takes off, and the depth card."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from ..options import Asked, found_something, question

if TYPE_CHECKING:
    from portgeom.job.values import Note
    from portgeom.output.paper.card import Card
    from portgeom.output.paper.paper import Paper

    from ..options import Opened


@click.command("passes")
@question
@click.option("--csv", "csv_path", type=click.Path(path_type=Path), help="Write the depth cards as a table here.")
@click.option(
    "--card", "card_path", type=click.Path(path_type=Path), help="Write the depth cards to print: as .pdf or .html."
)
@click.option("--paper", type=click.Choice(["a4", "letter"]), default="a4", show_default=True, help="Of a PDF.")
@click.option("--force", is_flag=True, help="Write over a table that is there.")
def command(asked: Asked, csv_path: Path | None, card_path: Path | None, paper: Paper, force: bool) -> None:
    """What each pass takes off, what is left after it, and the depth card for the grooves.

    Where the job gives no passes the usual plan is followed: grooves, level, again where much is left, blend.
    """
    from portgeom.job.faults import JobError
    from portgeom.output.files.whole_file import write_whole
    from portgeom.output.paper.card import Card
    from portgeom.output.words.json_doc import Numbers, document
    from portgeom.output.words.passes_doc import card_csv, passes_json, passes_text
    from portgeom.output.words.shown import Shown
    from portgeom.output.words.text import paragraphs
    from portgeom.questions.cutting.depth_card import depth_card
    from portgeom.questions.cutting.passes import passes
    from portgeom.questions.walls.behind import behind
    from portgeom.questions.whole import wanted_of

    opened = asked.open()
    done = []
    faults: list[Note] = []
    for port, stage in opened.chosen:
        try:
            wanted = wanted_of(opened.job, opened.ports, port)
            plan = passes(opened.job, port, stage, wanted, behind(opened.job, port))
        except JobError as error:
            faults += error.faults
        else:
            done.append((port, stage, plan, [depth_card(r, wanted, opened.units) for r in plan.results]))
    if faults:
        raise JobError(tuple(dict.fromkeys(faults)))
    if csv_path is not None:
        tables = [card_csv(p.port.name, plan.results, cards, opened.units) for p, _, plan, cards in done]
        whole = tables[0] + "".join(t.split("\n", 1)[1] for t in tables[1:])
        write_whole(csv_path, whole.encode("utf-8"), force=force)
    if card_path is not None:
        cards = [
            Card(p, s, result, tuple(marks))
            for p, s, plan, its_cards in done
            for result, marks in zip(plan.results, its_cards, strict=True)
        ]
        write_whole(card_path, _printed(card_path, opened, cards, paper), force=force)
    if asked.as_json:
        numbers = Numbers(opened.units)
        entries = [
            {"port": p.port.name, "stage": s.stage.name, **passes_json(plan, cards, numbers)}
            for p, s, plan, cards in done
        ]
        click.echo(document("passes", opened.units, entries))
    else:
        shown = Shown(opened.units)
        click.echo(paragraphs([passes_text(p, s, plan, cards, shown) for p, s, plan, cards in done]))
    found_something(
        asked.strict, any(wall.alarms for _, _, plan, _ in done for r in plan.results for wall in r.walls.walls)
    )


def _printed(path: Path, opened: Opened, cards: list[Card], paper: Paper) -> bytes:
    """Return the cards as what the file's name asks for."""
    if path.suffix.lower() == ".pdf":
        from portgeom.output.paper.card_pdf import card_pdf

        return card_pdf(opened.job.title, cards, opened.units, paper=paper)
    from portgeom.output.paper.card_page import card_page

    return card_page(opened.job.title, cards, opened.units).encode("utf-8")
