"""``uncertainty``: how sure every figure is, and what to measure again."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from ..options import draws_option, found_something, open_job, question, seed_option, tells_faults

if TYPE_CHECKING:
    from portgeom.job.values import Units


@click.command("uncertainty")
@question
@draws_option(least=100)
@seed_option
@tells_faults
def command(
    job_path: Path,
    port_names: tuple[str, ...],
    stage_name: str | None,
    units: Units | None,
    as_json: bool,
    strict: bool,
    draws: int,
    seed: int,
) -> None:
    """How sure the figures are: every one with its 95 percent interval, and what to measure again.

    The readings are drawn many times with the errors of [accuracy] and of the table's column sd, and every draw
    goes through the same loft.
    """
    from portgeom.output.words.json_doc import Numbers, document
    from portgeom.output.words.shown import Shown
    from portgeom.output.words.sure_doc import sure_json, sure_text
    from portgeom.output.words.text import paragraphs
    from portgeom.questions.shape.places import bench_scale
    from portgeom.questions.uncertainty.sure import stage_sure
    from portgeom.questions.whole import answers
    from portgeom.questions.whole_cutting import cutting

    opened = open_job(job_path, port_names, stage_name, units)
    job, results = opened.job, []
    for port, stage in opened.chosen:
        answer = answers(job, opened.ports, port, stage)
        cut = cutting(job, answer, units=opened.units)
        sure = stage_sure(
            job, opened.ports, port, stage, draws=draws, seed=seed, answer=answer, cutting=cut, ranked=True
        )
        results.append((stage, sure))
    if as_json:
        numbers = Numbers(opened.units)
        entries = [{"port": s.port, "stage": s.stage, **sure_json(s, numbers)} for _, s in results]
        click.echo(document("uncertainty", opened.units, entries))
    else:
        shown = Shown(opened.units)
        click.echo(paragraphs([sure_text(s, bench_scale(stage.surface), shown) for stage, s in results]))
    found_something(strict, any(s.ties for _, s in results))
