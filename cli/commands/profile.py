"""``profile``: the area along the path."""

from __future__ import annotations

import click

from ..options import Asked, found_something, question
from ..telling import each, tell


@click.command("profile")
@question
def command(asked: Asked) -> None:
    """Area along the path, and whether it tapers smoothly from the face to the throat."""
    from portgeom.output.words.json_doc import profile_json
    from portgeom.output.words.text import profile_text
    from portgeom.questions.shape.profile import profile

    opened = asked.open()
    told = each(opened, lambda port, stage: profile(port, stage, opened.job.limits, valves=opened.job.valves))
    tell("profile", asked, opened, told, as_json=profile_json, as_text=profile_text)
    found_something(asked.strict, any(not t.answer.taper.smooth for t in told))
