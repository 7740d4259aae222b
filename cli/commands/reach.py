"""``reach``: which cutters get to the metal."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from ..options import found_something, open_job, question, tells_faults

if TYPE_CHECKING:
    from portgeom.job.values import Units


@click.command("reach")
@question
@tells_faults
def command(
    job_path: Path,
    port_names: tuple[str, ...],
    stage_name: str | None,
    units: Units | None,
    as_json: bool,
    strict: bool,
) -> None:
    """Which cutters of the job get to the metal, from the face and from the seat.

    Along straight lines on which head and shank clear the port as it will then be.
    """
    from portgeom.output.words.json_doc import Numbers, document
    from portgeom.output.words.reach_doc import reach_json, reach_text
    from portgeom.output.words.shown import Shown
    from portgeom.output.words.text import paragraphs, target_words
    from portgeom.questions.reach.reach import needs_cutters, reach
    from portgeom.questions.shape.removal import removal
    from portgeom.questions.whole import wanted_of

    opened = open_job(job_path, port_names, stage_name, units)
    job = opened.job
    needs_cutters(job)
    results = []
    for port, stage in opened.chosen:
        wanted = wanted_of(job, opened.ports, port)
        removed = removal(port, stage, wanted, density_g_cc=job.density_g_cc)
        results.append((port, stage, reach(port, stage, removed, job.cutters)))
    if as_json:
        numbers = Numbers(opened.units)
        entries = [{"port": p.port.name, "stage": s.stage.name, **reach_json(r, numbers)} for p, s, r in results]
        click.echo(document("reach", opened.units, entries))
    else:
        shown = Shown(opened.units)
        click.echo(paragraphs([reach_text(p, s, r, shown, target=target_words(p)) for p, s, r in results]))
    found_something(strict, any(r.none.patches for _, _, r in results))
