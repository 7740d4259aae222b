"""``reach``: which cutters get to the metal."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from ..options import Asked, found_something, question
from ..telling import each, tell

if TYPE_CHECKING:
    from portgeom.model.lofted import LoftedPort, LoftedStage
    from portgeom.output.words.shown import Shown
    from portgeom.questions.reach.reach import Reach


@click.command("reach")
@question
def command(asked: Asked) -> None:
    """Which cutters of the job get to the metal, from the face and from the seat.

    Along straight lines on which head and shank clear the port as it will then be.
    """
    from portgeom.output.words.reach_doc import reach_json, reach_text
    from portgeom.output.words.text import target_words
    from portgeom.questions.reach.reach import needs_cutters, reach
    from portgeom.questions.shape.removal import removal
    from portgeom.questions.whole import wanted_of

    opened = asked.open()
    job, ports = opened.job, opened.ports
    needs_cutters(job)

    def ask(port: LoftedPort, stage: LoftedStage) -> Reach:
        removed = removal(port, stage, wanted_of(job, ports, port), density_g_cc=job.density_g_cc)
        return reach(port, stage, removed, job.cutters)

    def in_words(port: LoftedPort, stage: LoftedStage, answer: Reach, shown: Shown) -> str:
        return reach_text(port, stage, answer, shown, target=target_words(port))

    told = each(opened, ask)
    tell("reach", asked, opened, told, as_json=reach_json, as_text=in_words)
    found_something(asked.strict, any(t.answer.none.patches for t in told))
