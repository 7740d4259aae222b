"""``removal``: metal between the port as it is and the port wanted."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from ..options import found_something, open_job, question, tells_faults

if TYPE_CHECKING:
    from portgeom.job.values import Units


@click.command("removal")
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
    """Metal between the port as it is and the port wanted: how much, on which side, how deep."""
    from portgeom.output.words.json_doc import Numbers, document, removal_json
    from portgeom.output.words.shown import Shown
    from portgeom.output.words.text import paragraphs, removal_text, target_words
    from portgeom.questions.shape.removal import removal
    from portgeom.questions.whole import wanted_of

    opened = open_job(job_path, port_names, stage_name, units)
    job = opened.job
    results = [
        (p, s, removal(p, s, wanted_of(job, opened.ports, p), density_g_cc=job.density_g_cc)) for p, s in opened.chosen
    ]
    if as_json:
        numbers = Numbers(opened.units)
        entries = [{"port": p.port.name, "stage": s.stage.name, **removal_json(r, numbers)} for p, s, r in results]
        click.echo(document("removal", opened.units, entries))
    else:
        shown = Shown(opened.units)
        texts = [removal_text(p, s, r, shown, material=job.material, target=target_words(p)) for p, s, r in results]
        click.echo(paragraphs(texts))
    found_something(strict, any(r.volume_mm3 > 0.0 for _, _, r in results))
