"""``walls``: metal left behind every wall."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from ..options import found_something, open_job, question, tells_faults

if TYPE_CHECKING:
    from portgeom.job.values import Units


@click.command("walls")
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
    """Metal left between the port and every hole, pocket and water space behind it.

    Now, after each pass that the job gives, and once the port is as wanted. Thin and open walls are told
    with their place.
    """
    from portgeom.output.words.json_doc import Numbers, document
    from portgeom.output.words.shown import Shown
    from portgeom.output.words.text import paragraphs
    from portgeom.output.words.walls_doc import walls_json, walls_text
    from portgeom.questions.walls.plan import walls_throughout

    opened = open_job(job_path, port_names, stage_name, units)
    results = [(p, s, walls_throughout(opened.job, opened.ports, p, s)) for p, s in opened.chosen]
    if as_json:
        numbers = Numbers(opened.units)
        entries = [{"port": p.port.name, "stage": s.stage.name, **walls_json(r, numbers)} for p, s, r in results]
        click.echo(document("walls", opened.units, entries))
    else:
        shown = Shown(opened.units)
        click.echo(paragraphs([walls_text(p, s, r, shown) for p, s, r in results]))
    found_something(strict, any(w.alarms for _, _, r in results for part in r for w in part.walls))
