"""``roof``: how far the roof stands above the line."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from ..options import Asked, found_something, question
from ..telling import each, tell

if TYPE_CHECKING:
    from portgeom.model.lofted import LoftedPort, LoftedStage
    from portgeom.output.words.shown import Shown
    from portgeom.questions.shape.roof import Roof


@click.command("roof")
@question
def command(asked: Asked) -> None:
    """How far the roof stands above the wanted line, and what hangs from it.

    Heights are measured into the passage: above the line is metal to take off.
    """
    from portgeom.output.words.json_doc import roof_json
    from portgeom.output.words.sketch import section_sketch
    from portgeom.output.words.text import roof_text
    from portgeom.questions.shape.roof import roof
    from portgeom.questions.templates.sections import sections_at
    from portgeom.questions.whole import wanted_of

    opened = asked.open()
    job, ports = opened.job, opened.ports
    wanted = {p.port.name: wanted_of(job, ports, p) for p, _ in opened.chosen}
    told = each(opened, lambda port, stage: roof(port, stage, wanted[port.port.name], job.limits))

    def drawn(port: LoftedPort, stage: LoftedStage, result: Roof, shown: Shown) -> str:
        (peak,) = sections_at(port, stage, wanted[port.port.name], [result.peak.distance_mm])
        return f"{roof_text(port, stage, result, shown)}\n{section_sketch(peak, port, shown)}"

    tell("roof", asked, opened, told, as_json=roof_json, as_text=drawn)
    found_something(asked.strict, any(t.answer.bulges for t in told))
