"""``passes``: what each pass takes off, and the depth card."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

import click

from ..leaves import refuse_kind
from ..options import Asked, found_something, question
from ..pacing import in_turn
from ..sure import Sured, draws_option, seed_option, tell_sure
from ..telling import each

if TYPE_CHECKING:
    from portgeom.job.values import Note
    from portgeom.model.lofted import LoftedPort, LoftedStage
    from portgeom.output.paper.card import Card
    from portgeom.output.paper.paper import Paper
    from portgeom.questions.cutting.depth_card import CardMark
    from portgeom.questions.cutting.passes import Passes

    from ..options import Opened


@click.command("passes")
@question
@click.option("--csv", "csv_path", type=click.Path(path_type=Path), help="Write the depth cards as a table here.")
@click.option(
    "--card", "card_path", type=click.Path(path_type=Path), help="Write the depth cards to print: as .pdf or .html."
)
@click.option("--paper", type=click.Choice(["a4", "letter"]), default="a4", show_default=True, help="Of a PDF.")
@click.option("--force", is_flag=True, help="Write over files that are there.")
@draws_option
@seed_option
def command(
    asked: Asked, csv_path: Path | None, card_path: Path | None, paper: Paper, force: bool, draws: int, seed: int
) -> None:
    """What each pass takes off, what is left after it, and the depth card for the grooves.

    Where the job gives no passes the usual plan is followed: grooves, level, again where much is left, blend.
    """
    from portgeom.job.faults import JobError
    from portgeom.output.files.whole_file import refuse_if_there, write_whole
    from portgeom.output.paper.card import Card
    from portgeom.output.words import sure_doc, sure_json
    from portgeom.output.words.passes_doc import card_csv, passes_json, passes_text
    from portgeom.questions.cutting.depth_card import depth_card
    from portgeom.questions.cutting.passes import passes
    from portgeom.questions.walls.behind import behind
    from portgeom.questions.whole import wanted_of

    if card_path is not None:
        refuse_kind(card_path, "--card", (".pdf", ".html"))
    opened = asked.open()
    for path in (csv_path, card_path):
        if path is not None:
            refuse_if_there(path, force=force)
    done = []
    faults: list[Note] = []
    for port, stage in in_turn(opened.chosen, "passes", lambda chosen: f"port {chosen[0].port.name}"):
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

    def ask(port: LoftedPort, stage: LoftedStage) -> Sured[_Done]:
        plan, cards = next((plan, cards) for p, s, plan, cards in done if p is port and s is stage)
        if draws == 0 or not plan.results:
            return Sured(_Done(plan, cards), None)
        from portgeom.questions.uncertainty.sure import stage_sure

        sure = stage_sure(
            opened.job,
            opened.ports,
            port,
            stage,
            draws=draws,
            seed=seed,
            parts=("roof", "metal", "walls"),
            passes=plan.results,
        )
        return Sured(_Done(plan, cards), sure)

    tell_sure(
        "passes",
        asked,
        opened,
        each(opened, ask),
        as_json=lambda one, n: passes_json(one.plan, one.cards, n),
        as_text=lambda port, stage, one, shown: passes_text(port, stage, one.plan, one.cards, shown),
        part_json=lambda sure, n: {**sure_json.passes_json(sure, n), **sure_json.walls_json(sure, n)},
        part_words=sure_doc.passes_words,
    )
    found_something(
        asked.strict, any(wall.alarms for _, _, plan, _ in done for r in plan.results for wall in r.walls.walls)
    )


@dataclass(frozen=True, slots=True)
class _Done:
    """A plan as worked, and the depth card of each of its passes."""

    plan: Passes
    cards: list[tuple[CardMark, ...]]


def _printed(path: Path, opened: Opened, cards: list[Card], paper: Paper) -> bytes:
    """Return the cards as what the file's name asks for."""
    if path.suffix.lower() == ".pdf":
        from portgeom.output.paper.card_pdf import card_pdf

        return card_pdf(opened.job.title, cards, opened.units, paper=paper)
    from portgeom.output.paper.card_page import card_page

    return card_page(opened.job.title, cards, opened.units).encode("utf-8")
