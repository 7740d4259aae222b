"""``roof``: how far the roof stands above the line."""

from __future__ import annotations

import click

from ..options import Asked, found_something, question
from ..telling import each, tell


@click.command("roof")
@question
def command(asked: Asked) -> None:
    """How far the roof stands above the wanted line, and what hangs from it.

    Heights are measured into the passage: above the line is metal to take off.
    """
    from portgeom.output.words.json_doc import roof_json
    from portgeom.output.words.text import roof_text
    from portgeom.questions.shape.roof import roof
    from portgeom.questions.whole import wanted_of

    opened = asked.open()
    job, ports = opened.job, opened.ports
    told = each(opened, lambda port, stage: roof(port, stage, wanted_of(job, ports, port), job.limits))
    tell("roof", asked, opened, told, as_json=roof_json, as_text=roof_text)
    found_something(asked.strict, any(t.answer.bulges for t in told))
