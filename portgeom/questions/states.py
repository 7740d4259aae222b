"""What is a port like as measured, after a pass, or at its target? One surface with its roof held to the line."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from portgeom.geometry.arrays import Int
from portgeom.geometry.surface import Surface
from portgeom.job.values import Job, SectionTable
from portgeom.questions.cutting.passes import passes
from portgeom.questions.shape.roof import Roof, roof
from portgeom.questions.walls.behind import Behind
from portgeom.questions.walls.plan import TARGET
from portgeom.questions.whole import Answers


@dataclass(frozen=True, slots=True)
class State:
    """A surface of a port and what it is called: a stage's name, "target", or "after " and a pass's name."""

    name: str
    surface: Surface
    roof: Roof


class UnknownState(LookupError):  # noqa: N818  it names what is not there
    """There is no such pass. The message names those that there are."""


def state_after(job: Job, answer: Answers, hazards: Sequence[Behind], name: str | None) -> State:
    """Return a stage of a port after a pass, at its target, or, without a name, as it was measured.

    Raises
    ------
    UnknownState
        For the name of no pass.
    JobError
        Where a pass of the job does not fit the port.
    """
    if name is None:
        return State(answer.stage.stage.name, answer.stage.surface, answer.roof)
    if name == TARGET:
        surface = answer.removal.after
        return State(TARGET, surface, roof_of(job, answer, surface))
    results = passes(job, answer.port, answer.stage, answer.wanted, hazards).results
    found = next((r for r in results if r.plan.name == name), None)
    if found is None:
        names = ", ".join(f'"{n}"' for n in [*(r.plan.name for r in results), TARGET])
        raise UnknownState(f'there is no pass "{name}"; there is {names}')
    return State(f"after {name}", found.after, roof_of(job, answer, found.after))


def states(job: Job, answer: Answers, hazards: Sequence[Behind]) -> tuple[State, ...]:
    """Return a stage of a port as measured, after each pass that takes something off, and at its target.

    Raises
    ------
    JobError
        Where a pass of the job does not fit the port.
    """
    results = passes(job, answer.port, answer.stage, answer.wanted, hazards).results
    made = [State(answer.stage.stage.name, answer.stage.surface, answer.roof)]
    made += [
        State(f"after {r.plan.name}", r.after, roof_of(job, answer, r.after)) for r in results if r.volume_mm3 > 0.0
    ]
    after = answer.removal.after
    return (*made, State(TARGET, after, roof_of(job, answer, after)))


def roof_of(job: Job, answer: Answers, surface: Surface) -> Roof:
    """Return the roof of a surface that nobody measured, such as a port after a pass, against the same line."""
    stage = answer.stage
    nobody: Int = np.array([], dtype=np.intp)
    table = SectionTable(stage.stage.sections.file, ())
    bare = replace(stage, stage=replace(stage.stage, sections=table), slab=nobody, surface=surface)
    return roof(answer.port, bare, answer.wanted, job.limits)
