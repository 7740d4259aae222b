"""``roof``: how far the roof stands above the line."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from ..options import found_something, open_job, question, tells_faults

if TYPE_CHECKING:
    from portgeom.job.values import Units


@click.command("roof")
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
    """How far the roof stands above the wanted line, and what hangs from it.

    Heights are measured into the passage: above the line is metal to take off.
    """
    from portgeom.output.words.json_doc import Numbers, document, roof_json
    from portgeom.output.words.shown import Shown
    from portgeom.output.words.text import paragraphs, roof_text
    from portgeom.questions.shape.roof import roof
    from portgeom.questions.whole import wanted_of

    opened = open_job(job_path, port_names, stage_name, units)
    job = opened.job
    results = [(p, s, roof(p, s, wanted_of(job, opened.ports, p), job.limits)) for p, s in opened.chosen]
    if as_json:
        numbers = Numbers(opened.units)
        entries = [{"port": p.port.name, "stage": s.stage.name, **roof_json(r, numbers)} for p, s, r in results]
        click.echo(document("roof", opened.units, entries))
    else:
        shown = Shown(opened.units)
        click.echo(paragraphs([roof_text(p, s, r, shown) for p, s, r in results]))
    found_something(strict, any(r.bulges for _, _, r in results))
