"""``walls``: metal left behind every wall."""

from __future__ import annotations

import click

from ..options import Asked, found_something, question
from ..telling import each, tell


@click.command("walls")
@question
def command(asked: Asked) -> None:
    """Metal left between the port and every hole, pocket and water space behind it.

    Now, after each pass that the job gives, and once the port is as wanted. Thin and open walls are told
    with their place.
    """
    from portgeom.output.words.walls_doc import walls_json, walls_text
    from portgeom.questions.walls.plan import walls_throughout

    opened = asked.open()
    told = each(opened, lambda port, stage: walls_throughout(opened.job, opened.ports, port, stage))
    tell("walls", asked, opened, told, as_json=walls_json, as_text=walls_text)
    found_something(asked.strict, any(wall.alarms for t in told for part in t.answer for wall in part.walls))
