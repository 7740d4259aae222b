"""``profile``: the area along the path."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from ..options import found_something, open_job, question, tells_faults

if TYPE_CHECKING:
    from portgeom.job.values import Units


@click.command("profile")
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
    """Area along the path, and whether it tapers smoothly from the face to the throat."""
    from portgeom.output.words.json_doc import Numbers, document, profile_json
    from portgeom.output.words.shown import Shown
    from portgeom.output.words.text import paragraphs, profile_text
    from portgeom.questions.shape.profile import profile

    opened = open_job(job_path, port_names, stage_name, units)
    results = [(p, s, profile(p, s, opened.job.limits)) for p, s in opened.chosen]
    if as_json:
        numbers = Numbers(opened.units)
        entries = [{"port": p.port.name, "stage": s.stage.name, **profile_json(r, numbers)} for p, s, r in results]
        click.echo(document("profile", opened.units, entries))
    else:
        shown = Shown(opened.units)
        click.echo(paragraphs([profile_text(p, s, r, shown) for p, s, r in results]))
    found_something(strict, any(not r.taper.smooth for _, _, r in results))
