"""``removal``: metal between the port as it is and the port wanted."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from ..options import Asked, found_something, question
from ..telling import each, tell

if TYPE_CHECKING:
    from portgeom.model.lofted import LoftedPort, LoftedStage
    from portgeom.output.words.shown import Shown
    from portgeom.questions.shape.removal import Removal


@click.command("removal")
@question
def command(asked: Asked) -> None:
    """Metal between the port as it is and the port wanted: how much, on which side, how deep."""
    from portgeom.output.words.json_doc import removal_json
    from portgeom.output.words.text import removal_text, target_words
    from portgeom.questions.shape.removal import removal
    from portgeom.questions.whole import wanted_of

    opened = asked.open()
    job, ports = opened.job, opened.ports

    def in_words(port: LoftedPort, stage: LoftedStage, answer: Removal, shown: Shown) -> str:
        return removal_text(port, stage, answer, shown, material=job.material, target=target_words(port))

    told = each(
        opened, lambda port, stage: removal(port, stage, wanted_of(job, ports, port), density_g_cc=job.density_g_cc)
    )
    tell("removal", asked, opened, told, as_json=removal_json, as_text=in_words)
    found_something(asked.strict, any(t.answer.volume_mm3 > 0.0 for t in told))
