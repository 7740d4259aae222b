"""Where not everything asked can be had: which demand is to blame, and by how much must it give?

Each demand in turn may give while all others hold, and the least it has to give is sought. What cannot be cured
by one demand alone is told as such, and the one that leaves least missing gives.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from portgeom.geometry.arrays import F64
from portgeom.questions.propose.problem import Problem, State
from portgeom.questions.propose.rows import AREA, BOW, GROWTH, MATCH, MOST, NECK, SLOPE, TOO_LARGE, VOLUMES, WALL
from portgeom.questions.propose.search import search

HELD = 1000.0
"""What a unit of a demand that holds costs while another gives: for one unit of that one."""

COST_SHARE = 1e-3
"""What a cc weighs then."""

SETTLED = 1e-3
"""What a demand has to give is sought to this, in its own unit."""

GIVES_FIRST = (AREA, MATCH, VOLUMES, TOO_LARGE, BOW, NECK, GROWTH, SLOPE, *dict.fromkeys(MOST.values()))
"""In this order demands give way for the best that can be had. Walls never do."""

NEAR_PERCENT, NEAR_MM = 0.05, 0.02
"""A demand is met when missed by less: in percent for areas, else in mm, degrees or cc."""


@dataclass(frozen=True, slots=True)
class Relief:
    """One demand that gives.

    Attributes
    ----------
    kind : str
    by : float
        In its own unit: percent of an area, degrees, cc, else mm.
    where_mm : float
        Distance along the path at which it is hardest to keep.
    port : str
        Of which port.
    alone : bool
        Whether everything else can then be met.
    """

    kind: str
    by: float
    where_mm: float
    port: str
    alone: bool


@dataclass(frozen=True, slots=True)
class Blame:
    """What can be done where not all can be met.

    Attributes
    ----------
    reliefs : tuple of Relief
        Every demand that by giving alone lets all others be met, in the order in which they are asked to.
    taken : tuple of Relief
        What has been let go for the best that can be had.
    """

    reliefs: tuple[Relief, ...]
    taken: tuple[Relief, ...]


def is_missed(kind: str, by: float) -> bool:
    """Return whether a demand is missed by more than the search can tell."""
    return by > (NEAR_PERCENT if kind in (AREA, TOO_LARGE, NECK, MATCH) else NEAR_MM)


def blame(problem: Problem, start_mm: F64, missed: Sequence[str]) -> Blame:
    """Return which demands could give, from cuts at which those named are missed."""
    blocks = problem.blocks(problem.state(start_mm), None, 0.0)
    tight = {b.kind for b in blocks if float((b.margin / b.scale).min()) < NEAR_MM} | set(missed)
    walls = sorted(kind for kind in tight if kind.startswith(WALL))
    reliefs, lacking = [], []
    for kind in [*(k for k in GIVES_FIRST if k in tight), *walls]:
        held = {b.kind: HELD for b in blocks} | {kind: 1.0}
        answer = search(problem, start_mm, dear=held, cost_weight=COST_SHARE, settled=SETTLED)
        others = {k: by for k, by in answer.missed.items() if k != kind and is_missed(k, by)}
        by = answer.missed.get(kind, 0.0)
        relief = _relief(problem, answer.state, kind, by, alone=not others)
        if not others:
            reliefs.append(relief)
        elif not kind.startswith(WALL):
            lacking.append((relief, others))
    free = [r for r in reliefs if not r.kind.startswith(WALL)]
    if free:
        return Blame(tuple(reliefs), (free[0],))
    return Blame(tuple(reliefs), _several(problem, start_mm))


def _several(problem: Problem, start_mm: F64) -> tuple[Relief, ...]:
    """Return what several demands give together while the walls hold."""
    kinds = {b.kind for b in problem.blocks(problem.state(start_mm), None, 0.0)}
    held = {kind: HELD if kind.startswith(WALL) else 1.0 for kind in kinds}
    answer = search(problem, start_mm, dear=held, cost_weight=COST_SHARE, settled=SETTLED)
    return tuple(
        _relief(problem, answer.state, kind, by, alone=False)
        for kind, by in answer.missed.items()
        if is_missed(kind, by)
    )


def _relief(problem: Problem, state: State, kind: str, by: float, *, alone: bool) -> Relief:
    where, port, least = 0.0, problem.models[0].port.port.name, np.inf
    for b in problem.blocks(state, None, 0.0):
        share = b.margin / b.scale
        if b.kind == kind and share.min() < least:
            k = int(np.argmin(share))
            least, where, port = float(share[k]), float(b.where_mm[k]), problem.models[b.port].port.port.name
    return Relief(kind, by, where, port, alone)


def relaxed(problem: Problem, taken: Sequence[Relief]) -> Problem:
    """Return a problem with demands let go by what they must give."""
    return replace(problem, allowed=tuple((r.kind, r.by) for r in taken))
