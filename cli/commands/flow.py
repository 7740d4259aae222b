"""``flow``: bench arithmetic on the measured sections."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from ..options import Asked, found_something, question
from ..saying import say, talk

if TYPE_CHECKING:
    from portgeom.job.amounts import Amount
    from portgeom.job.flow_values import Stated


def _stated(name: str, kind: Amount, value: str | None) -> Stated | None:
    """Return an amount given as an option, or refuse it with what would be right."""
    from portgeom.job.flow_values import Stated

    if value is None:
        return None
    found = kind.understood(value)
    if isinstance(found, Stated):
        return found
    raise click.BadParameter("; ".join(found), param_hint=f"--{name}")


@click.command("flow")
@question
@click.option("--depression", metavar="AMOUNT", help='Test depression, as "28 inH2O"; else the readings\' own.')
@click.option("--rate", metavar="AMOUNT", help='Flow to tell speeds for, as "225 cfm"; else the largest reading.')
@click.option("--out", type=click.Path(path_type=Path), metavar="FILE", help="Write a chart, .svg or .png.")
@click.option("--force", is_flag=True, help="Write over a chart that is there.")
def command(asked: Asked, depression: str | None, rate: str | None, out: Path | None, force: bool) -> None:
    """Flow arithmetic on the measured sections, the valve and the bench readings.

    Speed at every station, the valve's opening against lift, what each bench reading says, what the engine asks
    for, and where total pressure is lost. It ranks places and compares states; it does not predict a bench.
    """
    from portgeom.job.amounts import flow_rate, pressure
    from portgeom.output.words.flow_doc import flow_text, limits_text, side_by_side_text
    from portgeom.output.words.flow_json import flow_json, side_by_side_json
    from portgeom.output.words.flow_shown import flow_shown
    from portgeom.output.words.json_doc import Numbers, document
    from portgeom.output.words.shown import Shown
    from portgeom.output.words.text import paragraphs
    from portgeom.questions.flow.along import ChokedFlow
    from portgeom.questions.flow.bench import in_its_unit
    from portgeom.questions.flow.side_by_side import side_by_side
    from portgeom.questions.flow.whole import FlowAsked, all_states, flow_answers, flow_state

    wanted = FlowAsked(_stated("depression", pressure(), depression), _stated("rate", flow_rate(), rate))
    if out is not None and out.suffix.lower() not in (".svg", ".png"):
        raise click.BadParameter("name a file that ends in .svg or .png", param_hint="--out")
    opened = asked.open()
    job, shown = opened.job, Shown(opened.units)
    answers = []
    for port, stage in opened.chosen:
        try:
            answers.append(flow_answers(job, flow_state(job, port, stage, wanted)))
        except ChokedFlow as choked:
            assert wanted.rate is not None
            limit = in_its_unit(choked.limit_kg_s, wanted.rate, choked.air)
            raise click.UsageError(
                f"port {port.port.name}, {stage.stage.name}: {rate} is more than its smallest section, "
                f"{shown.area(choked.area_mm2)} at {shown.length(choked.distance_mm)}, passes at the speed of sound: "
                f"{limit}; give less"
            ) from choked
    states = [a.state for a in answers]
    fs = flow_shown(shown, states, wanted.rate)
    named = {s.port.port.name for s in states}
    common = states[0].along.basis.depression
    beside = side_by_side(all_states(job, [p for p in opened.ports if p.port.name in named]), common.amount)
    if out is not None:
        from portgeom.output.charts.flow_chart import write_flow_chart

        write_flow_chart(answers, fs, out, force=force)
        talk(f"{out} written.", err=True)
    if asked.as_json:
        numbers = Numbers(opened.units)
        entries = [flow_json(a, numbers) for a in answers]
        click.echo(document("flow", opened.units, entries, side_by_side=side_by_side_json(beside, numbers)))
    else:
        texts = [flow_text(job, a, fs) for a in answers]
        say(paragraphs([*texts, *filter(None, [side_by_side_text(beside, fs, states[0])]), limits_text()]))
    found_something(asked.strict, any(a.found for a in answers))
