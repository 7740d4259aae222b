"""Which cuts are cheapest and keep to every demand? A run of linear programmes, each true near the last answer.

At every step all margins and the cost are taken as straight within a trust region. Each kind of demand may be missed
by one slack, at a price far above any metal: so a step never fails, and what cannot be met shows by how much. A step
counts only if the true cost and the true misses have fallen with it.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from portgeom.geometry.arrays import F64
from portgeom.questions.propose.evenly import Evenness
from portgeom.questions.propose.port_model import PortSlopes
from portgeom.questions.propose.problem import Problem, State
from portgeom.questions.propose.rows import Block, worst

DEAR = 30.0
"""What one unit of a missed demand costs, in units of the cost: a percent of area never takes as many cc."""

DEAR_UNEVEN = 1000.0
"""The same where the most even cuts are sought: in units of unevenness."""

START_MM, LARGEST_MM, SMALLEST_MM = 1.0, 3.0, 0.004
"""Trust region: how far a point of a line may move in one step."""

STEPS = 40
SETTLED = 1e-4
"""A step that would lower what is minimised by a smaller share than this is the last."""

COST = "cost"
"""The kind of the demand that an even solution costs no more."""

GOOD = 0.7
"""A step that gains this share of what it promised may be followed by a larger one."""

SECOND = 0.5
"""A second step along the same slopes is at most this share of the first."""

BEYOND_MM = 20.0
"""How far lines may go past the user's own limits while those are missed."""


@dataclass(frozen=True, slots=True)
class Answer:
    """Cuts, what they make of the ports, and by how much each kind of demand is missed."""

    state: State
    missed: dict[str, float]
    steps: int


def search(
    problem: Problem,
    start_mm: F64,
    *,
    dear: Mapping[str, float] | None = None,
    cost_weight: float = 1.0,
    first_step_mm: float = START_MM,
    settled: float = SETTLED,
    even: Evenness | None = None,
    cap: float = np.inf,
) -> Answer:
    """Return the cuts of least cost from a start.

    Parameters
    ----------
    dear : mapping
        Prices of missing a kind of demand by one unit where they are not the usual.
    cost_weight : float
        What the cost itself weighs against missed demands.
    even : Evenness or None
        Ask for the most even cuts instead, at no more cost than ``cap``.
    """
    aim = _Aim(problem, dict(dear or {}), cost_weight, even, cap)
    step = first_step_mm
    state = problem.state(start_mm)
    missed = aim.missed(state, step)
    merit = aim.merit(state, missed)
    taken = 0
    while taken < STEPS and step >= SMALLEST_MM:
        taken += 1
        slopes = problem.slopes(state)
        blocks = aim.blocks(state, slopes, step)
        slope = problem.cost_slope(slopes)
        moved = False
        while step >= SMALLEST_MM and not moved:
            change, promised = _step(aim, state, cost_weight * slope, blocks, step)
            gain = merit - promised
            if gain <= settled * max(1.0, abs(merit)):
                return Answer(state, missed, taken)
            trial, trial_missed, trial_merit = aim.tried(state.cut_mm + change, step)
            share = (merit - trial_merit) / gain
            if share < GOOD:  # what bends away under the step is met by a second one along the same slopes
                again, _ = _step(aim, trial, cost_weight * slope, aim.blocks(trial, slopes, step), SECOND * step)
                second = aim.tried(trial.cut_mm + again, step)
                if second[2] < trial_merit:
                    trial, trial_missed, trial_merit = second
                    share = (merit - trial_merit) / gain
            if share > 0.05:
                state, missed, merit, moved = trial, trial_missed, trial_merit, True
                if share > GOOD:
                    step = min(LARGEST_MM, 1.7 * step)
                elif share < 0.3:
                    step = 0.5 * step
            else:
                step *= 0.4
    return Answer(state, missed, taken)


@dataclass(frozen=True, slots=True)
class _Aim:
    """What is minimised: the cost, or the unevenness under a cap on it, and what is missed."""

    problem: Problem
    prices: Mapping[str, float]
    cost_weight: float
    even: Evenness | None
    cap: float

    def price(self, kind: str) -> float:
        return self.prices.get(kind, DEAR if self.even is None else DEAR_UNEVEN)

    def missed(self, state: State, step_mm: float) -> dict[str, float]:
        missed = worst(self.problem.blocks(state, None, step_mm))
        if self.even is not None:
            missed[COST] = max(0.0, state.cost - self.cap)
        return missed

    def merit(self, state: State, missed: Mapping[str, float]) -> float:
        own = self.cost_weight * state.cost if self.even is None else self.even.of(state.cut_mm)
        return own + sum(self.price(kind) * by for kind, by in missed.items())

    def tried(self, cut_mm: F64, step_mm: float) -> tuple[State, dict[str, float], float]:
        state = self.problem.state(cut_mm)
        missed = self.missed(state, step_mm)
        return state, missed, self.merit(state, missed)

    def blocks(self, state: State, slopes: Sequence[PortSlopes], step_mm: float) -> list[Block]:
        made = self.problem.blocks(state, slopes, step_mm)
        if self.even is not None:
            made.append(self.cost_block(state, self.problem.cost_slope(slopes)))
        return made

    def cost_block(self, state: State, slope: F64) -> Block:
        return Block(COST, 0, np.array([self.cap - state.cost]), np.ones(1), np.zeros(1), -slope[None])


def _step(aim: _Aim, state: State, slope: F64, blocks: Sequence[Block], step_mm: float) -> tuple[F64, float]:
    """Return the change of the cuts, and the merit that it promises."""
    problem = aim.problem
    kinds = sorted({b.kind for b in blocks})
    least = np.maximum(problem.least_mm - state.cut_mm, -step_mm)
    open_to = np.where(problem.most_mm > problem.least_mm, problem.most_mm + BEYOND_MM, problem.most_mm)
    most = np.minimum(open_to - state.cut_mm, step_mm)
    price = np.array([aim.price(kind) for kind in kinds])
    even = aim.even
    if even is None:
        change, slack = programme(slope, blocks, kinds, price, np.minimum(least, most), most)
        return change, aim.cost_weight * state.cost + float(slope @ change + price @ slack)
    change, slack = programme(
        np.zeros(len(slope)),
        blocks,
        kinds,
        price,
        np.minimum(least, most),
        most,
        absolute=Evenness(even.rows, even.rows @ state.cut_mm + even.start, even.weight),
    )
    return change, even.of(state.cut_mm + change) + float(price @ slack)


def programme(
    slope: F64,
    blocks: Sequence[Block],
    kinds: Sequence[str],
    price: F64,
    least: F64,
    most: F64,
    *,
    absolute: Evenness | None = None,
) -> tuple[F64, F64]:
    """Return the change (n,) and the slacks (g,) of least cost: min slope x + price e, margins kept within e.

    ``absolute`` are differences whose weighted absolute values are added to the cost.
    """
    from scipy.optimize import linprog
    from scipy.sparse import csr_array

    n, count = len(slope), len(kinds)
    place = {kind: i for i, kind in enumerate(kinds)}
    rows, bounds = [], []
    for b in blocks:
        # what no step can bring to its limit needs no row
        reach = np.where(b.slope > 0.0, b.slope * least, b.slope * most).sum(axis=1)
        near = np.flatnonzero(b.margin + reach < 0.0)
        slack = np.zeros((len(near), count))
        slack[:, place[b.kind]] = -b.scale[near]
        rows.append(np.concatenate([-b.slope[near], slack], axis=1))
        bounds.append(b.margin[near])
    matrix, bound = np.concatenate(rows), np.concatenate(bounds)
    cost, low, high = np.concatenate([slope, price]), np.zeros(count), np.full(count, np.inf)
    if absolute is not None:  # a size t of each difference, no less than it and than its negative
        q = len(absolute.weight)
        between = np.zeros((q, count))
        both = [np.concatenate([sign * absolute.rows, between, -np.eye(q)], axis=1) for sign in (1.0, -1.0)]
        matrix = np.concatenate([np.pad(matrix, ((0, 0), (0, q))), *both])
        bound = np.concatenate([bound, -absolute.start, absolute.start])
        cost = np.concatenate([cost, absolute.weight])
        low, high = np.concatenate([low, np.zeros(q)]), np.concatenate([high, np.full(q, np.inf)])
    found = linprog(
        cost,
        A_ub=csr_array(matrix) if len(matrix) else None,
        b_ub=bound if len(matrix) else None,
        bounds=np.column_stack([np.concatenate([least, low]), np.concatenate([most, high])]),
        method="highs",
    )
    if found.x is None:  # never infeasible, since every demand has its slack; a stopped solver takes no step
        return np.zeros(n), np.zeros(count)
    return found.x[:n], found.x[n : n + count]
