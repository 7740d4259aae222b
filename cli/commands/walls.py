"""``walls``: metal left behind every wall."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from ..options import Asked, found_something, question
from ..sure import Sured, draws_option, seed_option, tell_sure
from ..telling import each

if TYPE_CHECKING:
    from portgeom.model.lofted import LoftedPort, LoftedStage
    from portgeom.questions.walls.walls import Walls


@click.command("walls")
@question
@draws_option
@seed_option
def command(asked: Asked, draws: int, seed: int) -> None:
    """Metal left between the port and every hole, pocket and water space behind it.

    Now, after each pass that the job gives, and once the port is as wanted. Thin and open walls are told
    with their place.
    """
    from portgeom.output.words import sure_doc, sure_json
    from portgeom.output.words.walls_doc import walls_json, walls_text
    from portgeom.questions.walls.plan import walls_throughout

    opened = asked.open()
    job, ports = opened.job, opened.ports

    def ask(port: LoftedPort, stage: LoftedStage) -> Sured[tuple[Walls, ...]]:
        found = walls_throughout(job, ports, port, stage)
        if draws == 0 or not found[0].walls:
            return Sured(found, None)
        from portgeom.questions.uncertainty.sure import stage_sure

        ends = found[0], found[-1]
        sure = stage_sure(job, ports, port, stage, draws=draws, seed=seed, parts=["walls"], walls=ends)
        return Sured(found, sure)

    told = each(opened, ask)
    tell_sure(
        "walls",
        asked,
        opened,
        told,
        as_json=walls_json,
        as_text=walls_text,
        part_json=sure_json.walls_json,
        part_words=sure_doc.walls_words,
    )
    found_something(asked.strict, any(wall.alarms for t in told for part in t.answer.answer for wall in part.walls))
