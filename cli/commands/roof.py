"""``roof``: how far the roof stands above the line."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from ..options import Asked, found_something, question
from ..sure import Sured, draws_option, seed_option, tell_sure
from ..telling import each

if TYPE_CHECKING:
    from portgeom.model.lofted import LoftedPort, LoftedStage
    from portgeom.output.words.shown import Shown
    from portgeom.questions.shape.roof import Roof


@click.command("roof")
@question
@draws_option
@seed_option
def command(asked: Asked, draws: int, seed: int) -> None:
    """How far the roof stands above the wanted line, and what hangs from it.

    Heights are measured into the passage: above the line is metal to take off.
    """
    from portgeom.output.words import sure_doc, sure_json
    from portgeom.output.words.json_doc import roof_json
    from portgeom.output.words.sketch import section_sketch
    from portgeom.output.words.text import roof_text
    from portgeom.questions.shape.roof import roof
    from portgeom.questions.templates.sections import sections_at
    from portgeom.questions.whole import wanted_of

    opened = asked.open()
    job, ports = opened.job, opened.ports
    wanted = {p.port.name: wanted_of(job, ports, p) for p, _ in opened.chosen}

    def ask(port: LoftedPort, stage: LoftedStage) -> Sured[Roof]:
        found = roof(port, stage, wanted[port.port.name], job.limits)
        if draws == 0:
            return Sured(found, None)
        from portgeom.questions.uncertainty.prepared import Known
        from portgeom.questions.uncertainty.sure import stage_sure

        known = Known(roof=found)
        sure = stage_sure(job, ports, port, stage, draws=draws, seed=seed, parts=["roof"], known=known)
        return Sured(found, sure)

    def drawn(port: LoftedPort, stage: LoftedStage, result: Roof, shown: Shown) -> str:
        (peak,) = sections_at(port, stage, wanted[port.port.name], [result.peak.distance_mm])
        return f"{roof_text(port, stage, result, shown)}\n{section_sketch(peak, port, shown)}"

    told = each(opened, ask)
    tell_sure(
        "roof",
        asked,
        opened,
        told,
        as_json=roof_json,
        as_text=drawn,
        part_json=sure_json.roof_json,
        part_words=sure_doc.roof_words,
    )
    found_something(asked.strict, any(t.answer.answer.bulges for t in told))
