"""``compare``: siblings of a head, stages of one port, or ports of several heads."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

import click

from ..numbers import Finite
from ..options import Asked, Opened, found_something, open_job, question
from ..saying import say

if TYPE_CHECKING:
    from portgeom.model.lofted import LoftedPort, LoftedStage
    from portgeom.output.charts.charts import ImageKind
    from portgeom.output.words.shown import Shown
    from portgeom.questions.compare.compare import Comparison
    from portgeom.questions.compare.members import Source


@click.command("compare")
@question
@click.argument("others", nargs=-1, metavar="[OTHER_JOB]...", type=click.Path(path_type=Path))
@click.option("--stages", "every_stage", is_flag=True, help="Every stage of each port, not the latest alone.")
@click.option("--within", type=Finite(min=0.0), help="Surfaces nearer than this match; else 0.2 mm.")
@click.option("--draws", type=click.IntRange(200, 100_000), help="Draws for the uncertainties; else 1000.")
@click.option("--chart", "chart", type=click.Path(path_type=Path), help="Write the chart here, .svg or .png.")
@click.option("--force", is_flag=True, help="Write over a chart that is there.")
def command(
    asked: Asked,
    others: tuple[Path, ...],
    every_stage: bool,
    within: float | None,
    draws: int | None,
    chart: Path | None,
    force: bool,
) -> None:
    """Volume, areas and roof side by side, what differs and whether it is real, and what would make them match.

    Ports of one job at their latest stages, or at --stage; one --port alone is compared stage by stage. Ports of
    further jobs are compared along with them.
    """
    from portgeom.job.units import length_to_mm
    from portgeom.output.files.whole_file import refuse_if_there
    from portgeom.output.words.compare_doc import compare_text
    from portgeom.output.words.compare_json import compare_json
    from portgeom.output.words.json_doc import Numbers, document
    from portgeom.output.words.shown import Shown
    from portgeom.questions.compare.compare import compare_siblings
    from portgeom.questions.compare.match import WITHIN_MM

    if chart is not None:
        if chart.suffix.lower() not in (".svg", ".png"):
            raise click.UsageError(f"{chart} is neither .svg nor .png; name the chart with one of them")
        refuse_if_there(chart, force=force)
    opened = [asked.open(), *(open_job(p, asked.port_names, asked.stage_name, asked.units) for p in others)]
    units = opened[0].units
    chosen = [_chosen(o, asked, every_stage, alone=len(opened) == 1) for o in opened]
    if sum(len(c) for c in chosen) < 2:
        raise click.UsageError("there is only one stage to compare; ask for more ports, stages or jobs")
    sources = _sources(opened, chosen, draws)
    results = compare_siblings(sources, within_mm=WITHIN_MM if within is None else length_to_mm(within, units))
    if not results:
        raise click.UsageError("an intake and an exhaust port are no siblings; ask for two of a kind")
    if chart is not None:
        if len(results) > 1:
            raise click.UsageError("a chart shows ports of one kind; say which with --port")
        _write(chart, results[0], Shown(units), force=force)
    if asked.as_json:
        found = compare_json(results, Numbers(units))
        ports = found.pop("ports")
        assert isinstance(ports, list)
        click.echo(document("compare", units, ports, **found))
    else:
        say("\n\n".join(compare_text(result, Shown(units)) for result in results))
    found_something(asked.strict, any(p.volume.significant for result in results for p in result.pairs))


def _chosen(
    opened: Opened, asked: Asked, every_stage: bool, *, alone: bool
) -> tuple[tuple[LoftedPort, LoftedStage], ...]:
    """Return which stages of a job are compared: of one port alone, all."""
    one_port = alone and len(opened.chosen) == 1 and asked.stage_name is None
    if not every_stage and not one_port:
        return opened.chosen
    return tuple((port, stage) for port, _ in opened.chosen for stage in port.stages)


def _sources(
    opened: Sequence[Opened], chosen: Sequence[tuple[tuple[LoftedPort, LoftedStage], ...]], draws: int | None
) -> list[Source]:
    """Return each job with the draws of the ports that are compared; no two jobs share an error."""
    from portgeom.questions.compare.members import Source
    from portgeom.questions.uncertainty.campaign import DRAWS, campaign
    from portgeom.questions.uncertainty.chance import SEED

    found = []
    for k, (one, pairs) in enumerate(zip(opened, chosen, strict=True)):
        ports = list(dict.fromkeys(port.port.name for port, _ in pairs))
        drawn = [p for p in one.ports if p.port.name in ports]
        draw = campaign(one.job, drawn, parts=(), draws=DRAWS if draws is None else draws, seed=SEED + k)
        found.append(Source(one.job, one.ports, pairs, draw))
    return found


def _write(path: Path, result: Comparison, shown: Shown, *, force: bool) -> None:
    from portgeom.output.charts.compare_chart import compare_drawing
    from portgeom.output.files.whole_file import write_whole

    kind: ImageKind = "svg" if path.suffix.lower() == ".svg" else "png"
    write_whole(path, compare_drawing(result, shown).file(kind), force=force)
