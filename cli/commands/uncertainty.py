"""``uncertainty``: how sure every figure is, and what to measure again."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from ..options import Asked, found_something, question
from ..sure import draws_option, seed_option
from ..telling import each, tell

if TYPE_CHECKING:
    from portgeom.model.lofted import LoftedPort, LoftedStage
    from portgeom.output.words.shown import Shown
    from portgeom.questions.uncertainty.sure import StageSure


@click.command("uncertainty")
@question
@draws_option
@seed_option
def command(asked: Asked, draws: int, seed: int) -> None:
    """How sure the figures are: every one with its 95 percent interval, and what to measure again.

    The readings are drawn many times with the errors that [accuracy] and the table's column sd give them, and every
    draw goes through the same loft.
    """
    from portgeom.output.words.sure_doc import sure_text
    from portgeom.output.words.sure_json import sure_json
    from portgeom.questions.shape.places import bench_scale
    from portgeom.questions.uncertainty.sure import whole_sure
    from portgeom.questions.whole import answers
    from portgeom.questions.whole_cutting import cutting

    if draws == 0:
        raise click.UsageError("without draws there is nothing to tell; leave --draws out")
    opened = asked.open()
    job, ports = opened.job, opened.ports

    def ask(port: LoftedPort, stage: LoftedStage) -> StageSure:
        answer = answers(job, ports, port, stage)
        return whole_sure(job, ports, answer, cutting(job, answer, units=opened.units), draws=draws, seed=seed)

    def in_words(port: LoftedPort, stage: LoftedStage, sure: StageSure, shown: Shown) -> str:
        return sure_text(sure, bench_scale(stage.surface), shown)

    told = each(opened, ask)
    tell("uncertainty", asked, opened, told, as_json=sure_json, as_text=in_words)
    found_something(asked.strict, any(t.answer.ties for t in told))
