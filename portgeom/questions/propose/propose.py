"""Which port to aim for: the least cut that gives the area asked and leaves the walls standing?"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from portgeom.geometry.arrays import F64
from portgeom.job.propose_values import Wishes
from portgeom.job.values import CutPass, Job, Line, Target
from portgeom.model.lofted import LoftedPort, LoftedStage
from portgeom.model.wanted import Wanted, wanted_port
from portgeom.questions.propose.binding import Limit, limits_of
from portgeom.questions.propose.corner_cut import CornerCut, corner_cut
from portgeom.questions.propose.pass_plan import passes_to
from portgeom.questions.propose.port_model import PortModel
from portgeom.questions.propose.relief import is_missed
from portgeom.questions.propose.solve import Solved, most_even, problem_of, solved
from portgeom.questions.propose.sureness import WallDraws, wall_draws
from portgeom.questions.propose.target import target_from
from portgeom.questions.propose.touch_up import touched_up
from portgeom.questions.shape.removal import Removal, removal
from portgeom.questions.shape.taper import Taper, taper_of
from portgeom.questions.walls.behind import Behind, behind
from portgeom.questions.walls.plan import TARGET
from portgeom.questions.walls.walls import Walls, walls
from portgeom.questions.whole import wanted_of

CHECK_DRAWS = 500
CHECK_SEED = 2
"""Draws in which the walls of what is proposed are looked at again: others than those the margins come from."""


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
    corners : CornerCut
        How its corners suit the cutters there are.
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
    corners: CornerCut
    own: OwnTarget | None


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
    problem = problem_of(job, chosen, wishes, matched=matched)
    radii: tuple[Line | None, ...] = (None,) * len(chosen)
    found = solved(problem)
    laid = _laid(job, chosen, found, radii)
    recut = tuple(one.corners.radius for one in laid)
    if any(radius is not None for radius in recut):
        problem, radii = problem_of(job, chosen, wishes, matched=matched, radii=recut), recut
        found = solved(problem)
        laid = _laid(job, chosen, found, radii)
    if found.blame is None:
        pieces = [touched_up(p.model, p.port, p.stage, p.removal.after, p.walls) for p in laid]
        if any(piece is not None for piece in pieces):
            models = tuple(piece or p.model for piece, p in zip(pieces, laid, strict=True))
            again = most_even(replace(problem, models=models), found.answer.state.cut_mm)
            if not any(is_missed(kind, by) for kind, by in again.missed.items()):
                found = Solved(replace(problem, models=models), again, None)
                laid = _laid(job, chosen, found, radii)
    limits = limits_of(found.problem, found.answer.state)
    return Proposal(tuple(_answered(job, ports, one, told) for one, told in zip(laid, limits, strict=True)), found)


@dataclass(frozen=True, slots=True)
class _Laid:
    """Cuts laid on one port as a target, at the usual resolution."""

    port: LoftedPort
    stage: LoftedStage
    model: PortModel
    cut_mm: F64
    target: Target
    wanted: Wanted
    removal: Removal
    walls: Walls
    corners: CornerCut


def _laid(
    job: Job, chosen: Sequence[tuple[LoftedPort, LoftedStage]], found: Solved, radii: Sequence[Line | None]
) -> tuple[_Laid, ...]:
    done = []
    for k, (port, stage) in enumerate(chosen):
        model, cut = found.problem.models[k], found.problem.part(k, found.answer.state.cut_mm)
        target = target_from(model, cut, proposed_name(job, port), job.units, radius=radii[k])
        wanted = wanted_port(port, target, limits=job.limits)
        removed = removal(port, stage, wanted, density_g_cc=job.density_g_cc)
        behind_it = walls(port, removed.after, TARGET, behind(job, port))
        corners = corner_cut(job, model, found.answer.state.ports[k])
        done.append(_Laid(port, stage, model, cut, target, wanted, removed, behind_it, corners))
    return tuple(done)


def _answered(job: Job, ports: Sequence[LoftedPort], one: _Laid, limits: tuple[Limit, ...]) -> PortProposal:
    hazards = tuple(w.behind for w in one.walls.walls)
    return PortProposal(
        port=one.port,
        stage=one.stage,
        model=one.model,
        cut_mm=one.cut_mm,
        target=one.target,
        wanted=one.wanted,
        removal=one.removal,
        taper=taper_after(job, one.port, one.stage, one.removal),
        walls=one.walls,
        draws=wall_draws(
            one.port, one.stage, hazards, job.accuracy, after=one.removal.after, draws=CHECK_DRAWS, seed=CHECK_SEED
        ),
        limits=limits,
        passes=passes_to(job, one.port, one.stage, one.removal),
        corners=one.corners,
        own=_own(job, ports, one.port, one.stage, hazards),
    )


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
