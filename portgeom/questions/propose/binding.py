"""What limits a proposal at each distance: a wall, the person's own limit, or that no more is asked?"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from portgeom.job.values import Side
from portgeom.questions.propose.problem import Problem, State
from portgeom.questions.propose.rows import AREA, BOW, GROWTH, MATCH, MOST, NECK, SLOPE, TOO_LARGE, VOLUMES, WALL
from portgeom.questions.propose.runs import SIDES

AT_LIMIT = 0.05
"""A demand with less margin than this, in its own unit, is at its limit: mm, degrees, percent or cc."""

FELT = 0.02
"""A demand that a mm off a side would bring nearer by less than this, in its own unit, does not limit that side."""

FIRST = (*dict.fromkeys(MOST.values()), BOW, SLOPE, TOO_LARGE, NECK, GROWTH, MATCH, VOLUMES)
"""After walls, what is told first."""

NO_MORE = "no more is asked"
AS_CAST = "stays as cast"


@dataclass(frozen=True, slots=True)
class Limit:
    """What stops one side from going deeper at a point of its line.

    Attributes
    ----------
    side : Side
    distance_mm, depth_mm : float
        Where, and how much comes off there; negative where a roof line leaves so much of a boss.
    by : str
        A kind of demand, "no more is asked", or "stays as cast" where the line is held.
    """

    side: Side
    distance_mm: float
    depth_mm: float
    by: str


def limits_of(problem: Problem, state: State) -> tuple[tuple[Limit, ...], ...]:
    """Return the limits of every port, side by side and from the face on."""
    blocks = problem.blocks(state, problem.slopes(state), 1.0)
    held: list[dict[str, float]] = [{} for _ in range(problem.first[-1])]
    for b in blocks:
        if b.kind == AREA:
            continue
        at_limit = np.flatnonzero(b.margin / b.scale < AT_LIMIT)
        for row in at_limit:
            margin = float(b.margin[row] / b.scale[row])
            for column in np.flatnonzero(b.slope[row] / b.scale[row] < -FELT):
                held[column][b.kind] = min(held[column].get(b.kind, np.inf), margin)
    told = []
    for k, model in enumerate(problem.models):
        mine: list[Limit] = []
        for i, run in enumerate(model.runs):
            depth = model.line(i, problem.part(k, state.cut_mm))
            for j, at in enumerate(run.knot_mm):
                fixed = run.most_mm[j] <= run.least_mm[j]
                found = held[problem.first[k] + model.first[i] + j]
                by = AS_CAST if fixed else _first(found)
                mine.append(Limit(SIDES[i], float(at), float(depth[j]), by))
        told.append(tuple(mine))
    return tuple(told)


def _first(found: dict[str, float]) -> str:
    walls = {kind: margin for kind, margin in found.items() if kind.startswith(WALL)}
    if walls:
        return min(walls, key=lambda kind: walls[kind])
    return next((kind for kind in FIRST if kind in found), NO_MORE)
