"""``progress``: what is off so far, what is left, what went too far, and whether the plan came true."""

from __future__ import annotations

import click

from ..options import Asked, found_something, question
from ..saying import say
from ..telling import each


@click.command("progress")
@question
def command(asked: Asked) -> None:
    """What is off so far and what is left, where it went past the line, and how the plan came true.

    A stage that says after = "name of a pass" is held against the plan, one that says minutes = 12.0 tells the
    rate of its cutters, and one measured right after a levelling tells how deep that ends in your hands.
    """
    from portgeom.output.words.json_doc import Json, Numbers, document
    from portgeom.output.words.progress_doc import (
        habit_json,
        habit_lines,
        progress_json,
        progress_text,
        rate_lines,
        rates_json,
    )
    from portgeom.output.words.shown import Shown
    from portgeom.output.words.text import paragraphs
    from portgeom.questions.compare.habit import habit
    from portgeom.questions.compare.progress import progress
    from portgeom.questions.compare.rates import cutter_rates

    opened = asked.open()
    told = each(opened, lambda port, stage: progress(opened.job, opened.ports, port, stage))
    levellings = [s for t in told for s in t.answer.levellings]
    mean = habit(levellings)
    rates = cutter_rates(cut for t in told for cut in t.answer.cuts)
    if asked.as_json:
        n = Numbers(opened.units)
        entries: list[Json] = [
            {"port": t.port.port.name, "stage": t.stage.stage.name, **progress_json(t.answer, n)} for t in told
        ]
        more = {"levelling": habit_json(mean, levellings, n), "rates": rates_json(rates)}
        click.echo(document("progress", opened.units, entries, **more))
    else:
        shown = Shown(opened.units)
        parts = [progress_text(t.port, t.stage, t.answer, shown) for t in told]
        habits = habit_lines(mean, levellings, shown)
        ends = ["\n".join(lines) for lines in (habits, rate_lines(rates)) if lines]
        say(paragraphs([*parts, *ends]))
    found_something(asked.strict, any(p.clear for t in told for p in t.answer.over.cut))
