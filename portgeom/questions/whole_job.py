"""What are all the answers on a job: for each stage asked about, and for all of them together?

One value carries everything that is written on a page. What takes computing is computed here, once, by the modules
of the questions; what only says or draws it takes this value.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass

from portgeom.job.values import Job, Units
from portgeom.model.lofted import LoftedPort, LoftedStage
from portgeom.questions.flow.side_by_side import SideBySide, side_by_side
from portgeom.questions.flow.whole import FlowAnswers, all_states, flow_answers, flow_state, flow_told
from portgeom.questions.handover.sheets import NO_SHEETS, HeadSheets, head_sheets
from portgeom.questions.match.match import Match
from portgeom.questions.match.of_job import match_of
from portgeom.questions.whole import Answers, answers
from portgeom.questions.whole_cutting import Cutting, cutting


@dataclass(frozen=True, slots=True)
class WholeStage:
    """All about one stage of one port.

    What a new question answers of one stage is a field of its own here, and a line in :func:`whole_job`. ``flow`` is
    None where the job says nothing of valve, bench or engine.
    """

    answers: Answers
    cutting: Cutting
    flow: FlowAnswers | None = None
    match: Match | None = None


@dataclass(frozen=True, slots=True)
class WholeJob:
    """All about a job.

    What a new question answers of several ports or stages together is a field of its own here, and a line in
    :func:`whole_job`.

    Attributes
    ----------
    ports : tuple of LoftedPort
        Every port of the job with every stage, also those not asked about.
    stages : tuple of WholeStage
        One for every stage asked about, in the order to show them.
    flow_beside : SideBySide or None
        Flow of every stage of the ports asked about at one depression; None where the job says nothing of flow.
    head : HeadSheets
        Its valve jobs, its chamber and the quote.
    """

    job: Job
    units: Units
    ports: tuple[LoftedPort, ...]
    stages: tuple[WholeStage, ...]
    flow_beside: SideBySide | None = None
    head: HeadSheets = NO_SHEETS


def whole_job(
    job: Job,
    ports: Sequence[LoftedPort],
    chosen: Sequence[tuple[LoftedPort, LoftedStage]],
    *,
    units: Units,
    in_turn: Callable[[Sequence[Answers]], Iterable[Answers]] = iter,
) -> WholeJob:
    """Return all about some stages of a lofted job.

    Parameters
    ----------
    ports : sequence of LoftedPort
        All of the job's.
    chosen : sequence of (port, stage)
        Those asked about.
    units : "mm" or "in"
        In which marks and sizes are given.
    in_turn : callable
        Goes through the stages, for whoever shows how far it is.

    Raises
    ------
    JobError
        Where a target or a pass does not fit its port, or what lies behind a wall cannot be read.
    """
    found = [answers(job, ports, port, stage) for port, stage in chosen]
    return WholeJob(
        job=job,
        units=units,
        ports=tuple(ports),
        stages=tuple(
            WholeStage(
                answers=a,
                cutting=cutting(job, a, units=units),
                flow=flow_if_told(job, a.port, a.stage),
                match=match_of(job, a.port, a.stage),
            )
            for a in in_turn(found)
        ),
        flow_beside=flow_beside_if_told(job, ports, found),
        head=head_sheets(job, ports),
    )


def flow_if_told(job: Job, port: LoftedPort, stage: LoftedStage) -> FlowAnswers | None:
    """Return the answers on flow of one stage, None where the job says nothing of flow."""
    return flow_answers(job, flow_state(job, port, stage)) if flow_told(job) else None


def flow_beside_if_told(job: Job, ports: Sequence[LoftedPort], found: Sequence[Answers]) -> SideBySide | None:
    """Return the flow of every stage of the ports asked about, None where the job says nothing of flow."""
    if not flow_told(job) or not found:
        return None
    named = {a.port.port.name for a in found}
    states = all_states(job, [p for p in ports if p.port.name in named])
    return side_by_side(states, states[0].along.basis.depression.amount)
