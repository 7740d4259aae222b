"""``removal``: metal between the port as it is and the port wanted, or between two stages of it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import click

from ..options import Asked, Opened, found_something, question
from ..sure import Sured, draws_option, seed_option, tell_sure
from ..telling import Told, each, tell

if TYPE_CHECKING:
    from portgeom.model.lofted import LoftedPort, LoftedStage
    from portgeom.output.words.json_doc import Json, Numbers
    from portgeom.output.words.shown import Shown
    from portgeom.questions.shape.removal import Removal


@click.command("removal")
@question
@click.option("--from-stage", metavar="NAME", help="What came off since this stage; else since the first.")
@click.option("--to-stage", metavar="NAME", help="What came off up to this stage; else up to the latest.")
@draws_option
@seed_option
def command(asked: Asked, from_stage: str | None, to_stage: str | None, draws: int, seed: int) -> None:
    """Metal between the port as it is and the port wanted: how much, on which side, how deep.

    With --from-stage or --to-stage: what came off between two stages of it.
    """
    from portgeom.output.words import sure_doc, sure_json
    from portgeom.output.words.json_doc import removal_json
    from portgeom.output.words.text import removal_text, target_words
    from portgeom.questions.shape.removal import removal
    from portgeom.questions.whole import wanted_of

    if (from_stage is not None or to_stage is not None) and asked.stage_name is not None:
        raise click.UsageError("--stage asks for the way to the target; leave it out beside --from-stage or --to-stage")
    opened = asked.open()
    if from_stage is not None or to_stage is not None:
        _between(asked, opened, from_stage, to_stage)
        return
    job, ports = opened.job, opened.ports

    def in_words(port: LoftedPort, stage: LoftedStage, answer: Removal, shown: Shown) -> str:
        return removal_text(port, stage, answer, shown, material=job.material, target=target_words(port))

    def ask(port: LoftedPort, stage: LoftedStage) -> Sured[Removal]:
        found = removal(port, stage, wanted_of(job, ports, port), density_g_cc=job.density_g_cc)
        if draws == 0:
            return Sured(found, None)
        from portgeom.questions.uncertainty.prepared import Known
        from portgeom.questions.uncertainty.sure import stage_sure

        known = Known(removal=found)
        sure = stage_sure(job, ports, port, stage, draws=draws, seed=seed, parts=["metal"], known=known)
        return Sured(found, sure)

    told = each(opened, ask)
    tell_sure(
        "removal",
        asked,
        opened,
        told,
        as_json=removal_json,
        as_text=in_words,
        part_json=sure_json.removal_json,
        part_words=sure_doc.removal_words,
    )
    found_something(asked.strict, any(t.answer.answer.volume_mm3 > 0.0 for t in told))


@dataclass(frozen=True, slots=True)
class _Since:
    """What came off up to a later stage."""

    last: LoftedStage
    metal: Removal


def _between(asked: Asked, opened: Opened, from_stage: str | None, to_stage: str | None) -> None:
    """Tell what came off between two stages of every port that has both."""
    from portgeom.output.words.json_doc import removal_json
    from portgeom.output.words.text import between_text
    from portgeom.questions.compare.between import stage_metal

    pairs = []
    for port, _ in opened.chosen:
        names = [s.stage.name for s in port.stages]
        first = names[0] if from_stage is None else from_stage
        last = names[-1] if to_stage is None else to_stage
        if first in names and last in names:
            if names.index(first) >= names.index(last):
                raise click.UsageError(
                    f'of port {port.port.name} "{first}" was not measured before "{last}"; name the earlier stage first'
                )
            pairs.append((port, port.stage(first), port.stage(last)))
    if not pairs:
        known = dict.fromkeys(s.stage.name for port, _ in opened.chosen for s in port.stages)
        listed = ", ".join(f'"{n}"' for n in known)
        raise click.UsageError(f"no port that was asked for has both stages; there are {listed}")
    density = opened.job.density_g_cc
    told = [Told(port, a, _Since(b, stage_metal(port, a, b, density_g_cc=density))) for port, a, b in pairs]

    def in_json(since: _Since, n: Numbers) -> dict[str, Json]:
        return {"to_stage": since.last.stage.name, **removal_json(since.metal, n)}

    def in_words(port: LoftedPort, first: LoftedStage, since: _Since, shown: Shown) -> str:
        return between_text(port, first, since.last, since.metal, shown, material=opened.job.material)

    tell("removal", asked, opened, told, as_json=in_json, as_text=in_words)
    found_something(asked.strict, any(t.answer.metal.volume_mm3 > 0.0 for t in told))
