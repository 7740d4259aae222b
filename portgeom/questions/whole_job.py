"""What are all the answers on a job: for each stage asked about, and for all of them together?

One value carries everything that is written on a page. What takes computing is computed here, once, by the modules
of the questions; what only says or draws it takes this value.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from portgeom.geometry.at_once import at_once_and_then
from portgeom.job.values import Job, Units
from portgeom.model.lofted import LoftedPort, LoftedStage
from portgeom.questions.compare.compare import Comparison, Matches, compare_siblings, sibling_matches
from portgeom.questions.compare.members import Source
from portgeom.questions.compare.progress import Progress, progress
from portgeom.questions.flow.side_by_side import SideBySide, side_by_side
from portgeom.questions.flow.whole import FlowAnswers, all_states, flow_answers, flow_state, flow_told
from portgeom.questions.handover.sheets import NO_SHEETS, HeadSheets, head_sheets
from portgeom.questions.match.match import Match
from portgeom.questions.match.of_job import match_of
from portgeom.questions.uncertainty.campaign import DRAWS, Campaign, PortDraws, campaign
from portgeom.questions.uncertainty.chance import SEED
from portgeom.questions.uncertainty.sure import StageSure, whole_sure
from portgeom.questions.walls.behind import Behind, behind
from portgeom.questions.whole import Answers, answers
from portgeom.questions.whole_cutting import Cutting, cutting

if TYPE_CHECKING:
    from portgeom.questions.propose.proposed import Proposed


@dataclass(frozen=True, slots=True)
class WholeStage:
    """All about one stage of one port.

    What a new question answers of one stage is a field of its own here, and a line in :func:`whole_job`. ``flow`` is
    None where the job says nothing of valve, bench or engine, ``progress`` of the stage measured first, and ``sure``
    where no draws were asked for.
    """

    answers: Answers
    cutting: Cutting
    flow: FlowAnswers | None = None
    match: Match | None = None
    progress: Progress | None = None
    sure: StageSure | None = None


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
    comparisons : tuple of Comparison
        Of the stages asked about, one for each kind of port of which there are two or more.
    proposed : tuple of Proposed
        Targets proposed for the stages asked about, where they were asked for.
    """

    job: Job
    units: Units
    ports: tuple[LoftedPort, ...]
    stages: tuple[WholeStage, ...]
    flow_beside: SideBySide | None = None
    head: HeadSheets = NO_SHEETS
    comparisons: tuple[Comparison, ...] = ()
    proposed: tuple[Proposed, ...] = ()


def whole_job(
    job: Job,
    ports: Sequence[LoftedPort],
    chosen: Sequence[tuple[LoftedPort, LoftedStage]],
    *,
    units: Units,
    propose: bool = False,
    draws: int = 0,
    in_turn: Callable[[Sequence[int]], Iterable[int]] = iter,
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
    propose : bool
        Whether to propose targets too, which takes seconds.
    draws : int
        Draws of the readings that the intervals of every figure come from, which take seconds too; 0 for none.
    in_turn : callable
        Goes through the parts, for whoever shows how far it is: 0 for all together, then a number for each stage.

    Raises
    ------
    JobError
        Where a target or a pass does not fit its port, or what lies behind a wall cannot be read.
    """
    hazards = [behind(job, port) for port, _ in chosen]
    compared = len(chosen) > 1

    def part(number: int) -> _OfAll | WholeStage:
        """Return what is asked of all stages together for 0, and all about one of them from 1 on."""
        if number:
            port, stage = chosen[number - 1]
            return _stage(job, ports, port, stage, hazards[number - 1], units=units)
        return _OfAll(
            # the losses take a library that is slow to start: all of them in one copy of the process
            flows=tuple(flow_if_told(job, port, stage) for port, stage in chosen),
            flow_beside=flow_beside_if_told(job, ports, [port for port, _ in chosen]),
            head=head_sheets(job, ports),
            proposed=_proposed(job, ports, chosen) if propose else (),
        )

    def then(number: int, found: _OfAll | WholeStage) -> _Then:
        """Return how sure is what was found of a stage, and for 0 what each lacks to match its siblings."""
        if isinstance(found, _OfAll):
            undrawn = Source(job, tuple(ports), tuple(chosen), Campaign(0, SEED, job.accuracy, ()))
            return _Then(matched=sibling_matches([undrawn]))
        sure = whole_sure(job, ports, found.answers, found.cutting, draws=draws) if draws else None
        return _Then(sure, _port_draws(job, found.answers, sure) if compared else None)

    asked = at_once_and_then(part, then, len(chosen) + 1, shared=_held(job, ports, hazards), in_turn=in_turn)
    of_all, then_of_all = asked[0]
    assert isinstance(of_all, _OfAll)
    each = [(stage, second) for stage, second in asked if isinstance(stage, WholeStage)]
    stages = (
        replace(stage, flow=flow, sure=second.sure) for (stage, second), flow in zip(each, of_all.flows, strict=True)
    )
    return WholeJob(
        job=job,
        units=units,
        ports=tuple(ports),
        stages=tuple(stages),
        flow_beside=of_all.flow_beside,
        head=of_all.head,
        comparisons=_comparisons(job, ports, each, then_of_all.matched, draws=draws or DRAWS),
        proposed=of_all.proposed,
    )


@dataclass(frozen=True, slots=True)
class _OfAll:
    """What is asked of all stages together; ``flows`` in their order."""

    flows: tuple[FlowAnswers | None, ...]
    flow_beside: SideBySide | None
    head: HeadSheets
    proposed: tuple[Proposed, ...]


@dataclass(frozen=True, slots=True)
class _Then:
    """What is asked second.

    How sure one stage is, None where that was not asked, and the draws of its port that a comparison takes; of all
    stages together, what each lacks to match its siblings.
    """

    sure: StageSure | None = None
    drawn: PortDraws | None = None
    matched: tuple[Matches, ...] = ()


def _held(job: Job, ports: Sequence[LoftedPort], hazards: Sequence[Sequence[Behind]]) -> list[object]:
    """Return what answers on a job refer to, besides what they hold themselves."""
    held: list[object] = [job, *job.ports, *job.hazards, *job.cutters, *job.passes, *job.targets]
    for port in ports:
        held += [port, port.chart, port.chart.planes, port.chart.path]
        held += [part for stage in port.stages for part in (stage, stage.stage, stage.surface)]
    return held + [hazard for found in hazards for hazard in found]


def _stage(
    job: Job,
    ports: Sequence[LoftedPort],
    port: LoftedPort,
    stage: LoftedStage,
    hazards: Sequence[Behind],
    *,
    units: Units,
) -> WholeStage:
    """Return all about one stage but its flow and how sure it is."""
    answer = answers(job, ports, port, stage)
    cut = cutting(job, answer, units=units, hazards=hazards)
    return WholeStage(
        answers=answer,
        cutting=cut,
        match=match_of(job, port, stage),
        progress=progress_since_cast(job, ports, answer),
    )


def _proposed(
    job: Job, ports: Sequence[LoftedPort], chosen: Sequence[tuple[LoftedPort, LoftedStage]]
) -> tuple[Proposed, ...]:
    from portgeom.questions.propose.proposed import groups_of, proposed

    return proposed(job, ports, groups_of(chosen), job.propose, curve=True)


def progress_since_cast(job: Job, ports: Sequence[LoftedPort], answer: Answers) -> Progress | None:
    """Return how far one stage is, None where nothing was measured before it."""
    port, stage = answer.port, answer.stage
    return None if stage is port.cast else progress(job, ports, port, stage)


def _comparisons(
    job: Job,
    ports: Sequence[LoftedPort],
    each: Sequence[tuple[WholeStage, _Then]],
    matched: Sequence[Matches],
    *,
    draws: int,
) -> tuple[Comparison, ...]:
    """Return how the stages asked about compare, from joint draws; none where there is only one."""
    drawn = {then.drawn.port: then.drawn for _, then in each if then.drawn is not None}
    if not drawn:
        return ()
    found = tuple(stage.answers for stage, _ in each)
    chosen = tuple((answer.port, answer.stage) for answer in found)
    joint = Campaign(draws, SEED, job.accuracy, tuple(drawn.values()))
    return compare_siblings([Source(job, tuple(ports), chosen, joint, answered=found)], matched=matched)


def _port_draws(job: Job, answer: Answers, sure: StageSure | None) -> PortDraws:
    """Return the draws of a stage's port: those of its intervals, or of areas alone where it was asked for none."""
    return campaign(job, [answer.port], draws=DRAWS, seed=SEED, parts=()).ports[0] if sure is None else sure.drawn


def flow_if_told(job: Job, port: LoftedPort, stage: LoftedStage) -> FlowAnswers | None:
    """Return the answers on flow of one stage, None where the job says nothing of flow."""
    return flow_answers(job, flow_state(job, port, stage)) if flow_told(job) else None


def flow_beside_if_told(job: Job, ports: Sequence[LoftedPort], asked: Sequence[LoftedPort]) -> SideBySide | None:
    """Return the flow of every stage of the ports asked about, None where the job says nothing of flow."""
    if not flow_told(job) or not asked:
        return None
    named = {port.port.name for port in asked}
    states = all_states(job, [p for p in ports if p.port.name in named])
    return side_by_side(states, states[0].along.basis.depression.amount)
