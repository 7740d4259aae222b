"""Which port to aim for: the least cut that gives the area asked and leaves the walls standing?"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from portgeom.geometry.arrays import F64
from portgeom.geometry.chart import Resolution
from portgeom.job.propose_values import Wishes
from portgeom.job.values import CutPass, Job, Line, Target
from portgeom.model.lofted import LoftedPort, LoftedStage, loft_job
from portgeom.model.wanted import Wanted, wanted_port
from portgeom.questions.propose.binding import Limit, limits_of
from portgeom.questions.propose.evenly import evenness
from portgeom.questions.propose.pass_plan import passes_to
from portgeom.questions.propose.port_model import PortModel, port_model, port_slopes, port_state
from portgeom.questions.propose.price import price_of
from portgeom.questions.propose.problem import Problem
from portgeom.questions.propose.relief import Blame, blame, is_missed, relaxed
from portgeom.questions.propose.search import Answer, search
from portgeom.questions.propose.sureness import WallDraws, wall_draws
from portgeom.questions.propose.target import target_from
from portgeom.questions.shape.removal import Removal, removal
from portgeom.questions.shape.taper import Taper, taper_of
from portgeom.questions.walls.behind import Behind, behind
from portgeom.questions.walls.plan import TARGET
from portgeom.questions.walls.walls import Walls, walls
from portgeom.questions.whole import wanted_of

COARSE = Resolution(slab_mm=1.0, rays=128)
"""The search runs on this; what it finds is then answered for at the usual resolution."""

EVEN_SHARE = 1e-4
"""The most even answer may cost so much more than the cheapest."""

EVEN_SETTLED = 1e-3

CHECK_DRAWS = 1000
"""Draws in which the walls of what is proposed are looked at again."""


@dataclass(frozen=True, slots=True)
class OwnTarget:
    """What the target that a port has already takes off, leaves of area and leaves of walls."""

    removal: Removal
    taper: Taper
    walls: Walls


@dataclass(frozen=True, slots=True)
class PortProposal:
    """What is proposed for one port, answered for at the usual resolution.

    Attributes
    ----------
    port, stage : LoftedPort, LoftedStage
    model : PortModel
        Of the search, with what was asked.
    cut_mm : (n,) float
    target : Target
        To be written into the job.
    wanted : Wanted
    removal : Removal
    taper : Taper
        Of the port once cut.
    walls : Walls
        Behind the port once cut.
    draws : tuple of WallDraws
        What each of these would be, were all readings taken again.
    limits : tuple of Limit
        What stops each side at each point of its line.
    passes : tuple of CutPass
        What gets there.
    own : OwnTarget or None
        What the port's own target does, where it has one.
    """

    port: LoftedPort
    stage: LoftedStage
    model: PortModel
    cut_mm: F64
    target: Target
    wanted: Wanted
    removal: Removal
    taper: Taper
    walls: Walls
    draws: tuple[WallDraws, ...]
    limits: tuple[Limit, ...]
    passes: tuple[CutPass, ...]
    own: OwnTarget | None


@dataclass(frozen=True, slots=True)
class Solved:
    """Cuts, the problem as far as it could be met, and what had to give."""

    problem: Problem
    answer: Answer
    blame: Blame | None


@dataclass(frozen=True, slots=True)
class Proposal:
    """Targets for one port or a pair."""

    ports: tuple[PortProposal, ...]
    found: Solved


def propose(
    job: Job,
    ports: Sequence[LoftedPort],
    chosen: Sequence[tuple[LoftedPort, LoftedStage]],
    wishes: Wishes,
    *,
    matched: bool,
) -> Proposal:
    """Return targets for the chosen ports and stages; ``matched`` ports end with like areas and volumes.

    Raises
    ------
    JobError
        Where minutes are asked for without rates, or a hazard cannot be read.
    """
    return answered_for(job, ports, chosen, solved(problem_of(job, chosen, wishes, matched=matched)))


def problem_of(
    job: Job,
    chosen: Sequence[tuple[LoftedPort, LoftedStage]],
    wishes: Wishes,
    *,
    matched: bool,
    radius: Line | None = None,
) -> Problem:
    """Return what is to be solved for ports and stages of a job."""
    coarse = {p.port.name: p for p in loft_job(replace(job, ports=tuple(p.port for p, _ in chosen)), resolution=COARSE)}
    models, prices = [], []
    for fine, stage in chosen:
        port = coarse[fine.port.name]
        same = port.stage(stage.stage.name)
        draws = wall_draws(port, same, behind(job, port), job.accuracy)
        model = port_model(port, same, wishes, job.limits, draws, radius=radius)
        models.append(model)
        prices.append(price_of(job, model, port_slopes(model, port_state(model, np.zeros(model.count)))))
    return Problem(tuple(models), tuple(prices), matched and len(models) > 1)


def solved(problem: Problem) -> Solved:
    """Return the most even of the cheapest cuts; where not all can be met, of those that miss least."""
    start = np.clip(np.zeros(problem.first[-1]), problem.least_mm, problem.most_mm)
    cheapest = search(problem, start)
    missed = [kind for kind, by in cheapest.missed.items() if is_missed(kind, by)]
    found = None
    if missed:
        found = blame(problem, cheapest.state.cut_mm, missed)
        problem = relaxed(problem, found.taken)
        cheapest = search(problem, cheapest.state.cut_mm)
    even = search(
        problem,
        cheapest.state.cut_mm,
        even=evenness(problem),
        cap=cheapest.state.cost * (1.0 + EVEN_SHARE),
        settled=EVEN_SETTLED,
    )
    return Solved(problem, even, found)


def answered_for(
    job: Job, ports: Sequence[LoftedPort], chosen: Sequence[tuple[LoftedPort, LoftedStage]], found: Solved
) -> Proposal:
    """Return an answer as targets, with what they do at the usual resolution."""
    done = []
    limits = limits_of(found.problem, found.answer.state)
    for k, (port, stage) in enumerate(chosen):
        model, cut = found.problem.models[k], found.problem.part(k, found.answer.state.cut_mm)
        target = target_from(model, cut, proposed_name(job, port), job.units)
        wanted = wanted_port(port, target, limits=job.limits)
        removed = removal(port, stage, wanted, density_g_cc=job.density_g_cc)
        hazards: tuple[Behind, ...] = behind(job, port)
        done.append(
            PortProposal(
                port,
                stage,
                model,
                cut,
                target,
                wanted,
                removed,
                taper_after(job, port, stage, removed),
                walls(port, removed.after, TARGET, hazards),
                wall_draws(port, stage, hazards, job.accuracy, after=removed.after, draws=CHECK_DRAWS),
                limits[k],
                passes_to(job, port, stage, removed),
                _own(job, ports, port, stage, hazards),
            )
        )
    return Proposal(tuple(done), found)


def _own(
    job: Job, ports: Sequence[LoftedPort], port: LoftedPort, stage: LoftedStage, hazards: Sequence[Behind]
) -> OwnTarget | None:
    if port.port.target is None:
        return None
    removed = removal(port, stage, wanted_of(job, ports, port), density_g_cc=job.density_g_cc)
    return OwnTarget(removed, taper_after(job, port, stage, removed), walls(port, removed.after, TARGET, hazards))


def taper_after(job: Job, port: LoftedPort, stage: LoftedStage, removed: Removal) -> Taper:
    """Return how smoothly the area of a port runs once it is cut."""
    return taper_of(
        port.chart.distance_mm,
        removed.after.flow_area_mm2,
        station_slab=stage.slab,
        places=tuple(r.place for r in stage.stage.sections.rows),
        throat_mm=port.throat_mm,
        schedule=port.port.schedule,
        limits=job.limits,
        exhaust=port.port.kind == "exhaust",
    )


def proposed_name(job: Job, port: LoftedPort) -> str:
    """Return a name for a port's proposed target that no target of the job has."""
    taken = {t.name.casefold() for t in job.targets}
    base = name = f"proposed {port.port.name}"
    count = 2
    while name.casefold() in taken:
        name, count = f"{base} ({count})", count + 1
    return name
