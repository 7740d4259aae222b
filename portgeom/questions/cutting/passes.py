"""What does each pass take off, and what is the port like after it?"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from portgeom.job.faults import JobError
from portgeom.job.values import Job
from portgeom.model.lofted import LoftedPort, LoftedStage
from portgeom.model.wanted import Wanted
from portgeom.questions.cutting.bench import Bench, PassResult
from portgeom.questions.cutting.pass_faults import narrowest, pass_faults
from portgeom.questions.cutting.plan import (
    SECOND_GROOVES,
    SECOND_LEVEL,
    SECOND_ROUND_MM,
    PlannedPass,
    planned,
    usual_plan,
)
from portgeom.questions.walls.behind import Behind


@dataclass(frozen=True, slots=True)
class KeptBack:
    """What respecting the walls costs: metal left standing, and smallest flow area given up."""

    volume_mm3: float
    smallest_mm2: float


@dataclass(frozen=True, slots=True)
class Passes:
    """A whole plan for one stage of a port.

    Attributes
    ----------
    results : tuple of PassResult
        In cutting order.
    kept_back : KeptBack or None
        Where the job asks for walls to be respected: what the plan would take without that, less what it takes.
    """

    results: tuple[PassResult, ...]
    kept_back: KeptBack | None


def passes(job: Job, port: LoftedPort, stage: LoftedStage, wanted: Wanted, hazards: Sequence[Behind] = ()) -> Passes:
    """Return what each pass of the job takes off a stage of a port, in order.

    Where the job gives no passes the usual plan is followed. Where it asks for walls to be respected no
    pass goes where less than the least wall would be left to a hazard.

    Raises
    ------
    JobError
        Naming every pass that runs off the path, sets a row into a wall or uses too wide a cutter.
    """
    results = pass_results(job, port, stage, wanted, hazards)
    if not job.respect_walls or not hazards:
        return Passes(results, None)
    free = _worked(Bench(job, port, stage, wanted, (), respect=False))
    if not results or not free:
        return Passes(results, None)
    held, most = results[-1], free[-1]
    return Passes(results, KeptBack(most.total_mm3 - held.total_mm3, most.smallest.area_mm2 - held.smallest.area_mm2))


def pass_results(
    job: Job,
    port: LoftedPort,
    stage: LoftedStage,
    wanted: Wanted,
    hazards: Sequence[Behind] = (),
    *,
    told: bool = True,
) -> tuple[PassResult, ...]:
    """Return what ``passes`` does pass by pass, without asking what respecting the walls costs.

    Without ``told`` walls may be respected, but what is left of them is not told.
    """
    faults = pass_faults(job, port, stage, wanted)
    if faults:
        raise JobError(faults)
    respect = job.respect_walls and len(hazards) > 0
    return _worked(Bench(job, port, stage, wanted, hazards, respect=respect, told=told))


def _worked(bench: Bench) -> tuple[PassResult, ...]:
    again = False
    for one in _plan(bench.job, bench.port, bench.stage, bench.wanted):
        if not one.said and one.name == SECOND_GROOVES:
            again = bench.left_over_mm(one.side) > SECOND_ROUND_MM
        # grooves of a second round are levelled, however little they leave
        if again or one.said or one.name not in (SECOND_GROOVES, SECOND_LEVEL):
            bench.work(one)
    return tuple(bench.results)


def _plan(job: Job, port: LoftedPort, stage: LoftedStage, wanted: Wanted) -> tuple[PlannedPass, ...]:
    length, roof = port.chart.path.length_mm, wanted.roof_end.distance_mm
    if not job.passes:
        return usual_plan(job, length_mm=length, roof_end_mm=roof, room_mm=narrowest(stage).width_mm)
    return tuple(planned(p, job.cutters, length_mm=length, roof_end_mm=roof) for p in job.passes)
