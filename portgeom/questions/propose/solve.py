"""Which cuts give all that is asked at least cost, and of those are the most even?"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from portgeom.geometry.arrays import F64
from portgeom.geometry.chart import Resolution
from portgeom.job.propose_values import Wishes
from portgeom.job.values import Job, Line
from portgeom.model.lofted import LoftedPort, LoftedStage, loft_job
from portgeom.questions.propose.evenly import evenness
from portgeom.questions.propose.port_model import port_model, port_slopes, port_state
from portgeom.questions.propose.price import price_of
from portgeom.questions.propose.problem import Problem
from portgeom.questions.propose.relief import Blame, blame, is_missed, relaxed
from portgeom.questions.propose.search import Answer, search
from portgeom.questions.propose.sureness import wall_draws
from portgeom.questions.walls.behind import behind

COARSE = Resolution(slab_mm=1.0, rays=128)
"""The search runs on this; what it finds is then answered for at the usual resolution."""

EVEN_SHARE = 1e-4
"""The most even answer may cost so much more than the cheapest."""

EVEN_SETTLED = 2e-3

NEARLY_MM = 0.2
"""How far lines may move in the first step from cuts that are nearly right."""


@dataclass(frozen=True, slots=True)
class Solved:
    """Cuts, the problem as far as it could be met, and what had to give."""

    problem: Problem
    answer: Answer
    blame: Blame | None


def problem_of(
    job: Job,
    chosen: Sequence[tuple[LoftedPort, LoftedStage]],
    wishes: Wishes,
    *,
    matched: bool,
    radii: Sequence[Line | None] = (),
) -> Problem:
    """Return what is to be solved for ports and stages of a job, with the roofs' corner radii where recut."""
    coarse = {p.port.name: p for p in loft_job(replace(job, ports=tuple(p.port for p, _ in chosen)), resolution=COARSE)}
    models, prices = [], []
    for (fine, stage), radius in zip(chosen, radii or [None] * len(chosen), strict=True):
        port = coarse[fine.port.name]
        same = port.stage(stage.stage.name)
        draws = wall_draws(port, same, behind(job, port), job.accuracy)
        model = port_model(port, same, wishes, job.limits, draws, radius=radius)
        models.append(model)
        prices.append(price_of(job, model, port_slopes(model, port_state(model, np.zeros(model.count)))))
    return Problem(tuple(models), tuple(prices), matched and len(models) > 1)


def solved(problem: Problem) -> Solved:
    """Return the most even of the cheapest cuts; where not all can be met, of those that miss least."""
    nothing = np.clip(np.zeros(problem.first[-1]), problem.least_mm, problem.most_mm)
    cheapest = search(problem, nothing)
    missed = [kind for kind, by in cheapest.missed.items() if is_missed(kind, by)]
    found = None
    if missed:
        found = blame(problem, cheapest.state.cut_mm, missed)
        problem = relaxed(problem, found.taken)
        cheapest = search(problem, cheapest.state.cut_mm)
    return Solved(problem, _even(problem, cheapest), found)


def most_even(problem: Problem, start_mm: F64) -> Answer:
    """Return the most even of the cheapest cuts from a start that is nearly one of them."""
    return _even(problem, search(problem, start_mm, first_step_mm=NEARLY_MM))


def _even(problem: Problem, cheapest: Answer) -> Answer:
    """Return the most even cuts at the cost of the cheapest; these themselves where evening them misses a demand."""
    even = search(
        problem,
        cheapest.state.cut_mm,
        even=evenness(problem),
        cap=cheapest.state.cost * (1.0 + EVEN_SHARE),
        settled=EVEN_SETTLED,
    )
    worse = any(is_missed(kind, by) and by > cheapest.missed.get(kind, 0.0) for kind, by in even.missed.items())
    return cheapest if worse else even
