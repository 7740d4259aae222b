"""``profile``: the area along the path."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from ..options import Asked, found_something, question
from ..sure import Sured, draws_option, seed_option, tell_sure
from ..telling import each

if TYPE_CHECKING:
    from portgeom.model.lofted import LoftedPort, LoftedStage
    from portgeom.questions.shape.profile import Profile


@click.command("profile")
@question
@draws_option
@seed_option
def command(asked: Asked, draws: int, seed: int) -> None:
    """Area along the path, and whether it tapers smoothly from the face to the throat."""
    from portgeom.output.words.json_doc import profile_json
    from portgeom.output.words.sketch import area_sketch
    from portgeom.output.words.sure_doc import areas_words
    from portgeom.output.words.sure_json import areas_json
    from portgeom.output.words.text import profile_text
    from portgeom.questions.shape.profile import profile

    opened = asked.open()
    job, ports = opened.job, opened.ports

    def ask(port: LoftedPort, stage: LoftedStage) -> Sured[Profile]:
        found = profile(port, stage, job.limits, valves=job.valves)
        if draws == 0:
            return Sured(found, None)
        from portgeom.questions.uncertainty.sure import stage_sure

        return Sured(found, stage_sure(job, ports, port, stage, draws=draws, seed=seed))

    told = each(opened, ask)
    tell_sure(
        "profile",
        asked,
        opened,
        told,
        as_json=profile_json,
        as_text=lambda p, s, r, shown: f"{profile_text(p, s, r, shown)}\n{area_sketch(r, shown)}",
        part_json=areas_json,
        part_words=areas_words,
    )
    found_something(asked.strict, any(not t.answer.answer.taper.smooth for t in told))
