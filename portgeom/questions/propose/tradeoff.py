"""What does a larger smallest area cost, in metal and in wall, and what stops it?"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from portgeom.geometry.arrays import frozen
from portgeom.questions.propose.binding import AT_LIMIT
from portgeom.questions.propose.problem import Problem, State
from portgeom.questions.propose.relief import is_missed
from portgeom.questions.propose.rows import AREA, BOW, MOST, WALL
from portgeom.questions.propose.search import search

POINTS = 8
"""Points of the curve up to what is asked, and as many beyond, as far as it goes."""

STEP_PERCENT = 0.75
"""Steps beyond what is asked, in percent of the area."""

SETTLED = 3e-4


@dataclass(frozen=True, slots=True)
class TradePoint:
    """One point of the curve.

    Attributes
    ----------
    smallest_mm2 : float
        Of the flow areas of all the ports up to the throat.
    removed_mm3 : float
        Of all the ports together.
    least_wall_mm : float
        Least over its limit, of all walls watched; infinite where none is.
    """

    smallest_mm2: float
    removed_mm3: float
    least_over_mm: float


@dataclass(frozen=True, slots=True)
class Kink:
    """Where the curve turns: from this point on a demand is at its limit that was not before."""

    point: int
    kind: str
    port: str
    where_mm: float


@dataclass(frozen=True, slots=True)
class TradeOff:
    """The curve, from the ports as they are on.

    Attributes
    ----------
    points : tuple of TradePoint
    kinks : tuple of Kink
    asked : int
        The point that was asked for.
    ends : tuple of str
        The kinds of demand at their limit where it can go no further; none where it was followed no further.
    """

    points: tuple[TradePoint, ...]
    kinks: tuple[Kink, ...]
    asked: int
    ends: tuple[str, ...]


def trade_off(problem: Problem, asked: State) -> TradeOff:
    """Return the curve through a proposal: the asked areas made smaller and larger by the same share everywhere."""
    start = np.clip(np.zeros(problem.first[-1]), problem.least_mm, problem.most_mm)
    lowest = problem.state(start)
    ratio = min(_smallest(problem, lowest) / _smallest(problem, asked), 1.0)
    shares = [float(f) for f in np.linspace(ratio, 1.0, POINTS)]
    states, cut = [], start
    for share in shares:
        answer = search(_scaled(problem, share), cut, settled=SETTLED) if share < 1.0 else None
        state = asked if answer is None else answer.state
        states.append(state)
        cut = state.cut_mm
    last = False
    for k in range(1, POINTS + 1):
        answer = search(_scaled(problem, 1.0 + 0.01 * STEP_PERCENT * k), cut, settled=SETTLED)
        last = any(is_missed(kind, by) for kind, by in answer.missed.items())
        if last:
            reached = search(_scaled(problem, 1.0 + 0.01 * (STEP_PERCENT * k - answer.missed.get(AREA, 0.0))), cut)
            states.append(reached.state)
            break
        states.append(answer.state)
        cut = answer.state.cut_mm
    points = tuple(TradePoint(_smallest(problem, s), s.removed_mm3, _least_over(problem, s)) for s in states)
    ends = tuple(dict.fromkeys(kind for kind, _, _ in _at_limit(problem, states[-1]))) if last else ()
    return TradeOff(points, _kinks(problem, states), POINTS - 1, ends)


def _scaled(problem: Problem, share: float) -> Problem:
    """Return a problem that asks for a share of the areas; what was too large before is no more than that."""
    models = tuple(
        replace(
            m,
            demand=replace(
                m.demand,
                least_mm2=frozen(share * m.demand.least_mm2),
                most_mm2=frozen(max(share, 1.0) * m.demand.most_mm2),
            ),
        )
        for m in problem.models
    )
    return replace(problem, models=models)


def _smallest(problem: Problem, state: State) -> float:
    areas = []
    for model, port in zip(problem.models, state.ports, strict=True):
        chart = model.port.chart
        inner = chart.distance_mm < chart.distance_mm[chart.slab_at(model.port.throat_mm)]
        areas.append(float(port.flow_mm2[inner].min()))
    return min(areas)


def _least_over(problem: Problem, state: State) -> float:
    over = [
        float((wall - gauge.behind.stop_mm).min())
        for model, port in zip(problem.models, state.ports, strict=True)
        for gauge, wall in zip(model.gauges, port.walls_mm, strict=True)
        if len(wall)
    ]
    return min(over, default=float("inf"))


def _kinks(problem: Problem, states: Sequence[State]) -> tuple[Kink, ...]:
    told: dict[tuple[str, str], Kink] = {}
    for point, state in enumerate(states):
        for kind, port, where in _at_limit(problem, state):
            told.setdefault((kind, port), Kink(point, kind, port, where))
    return tuple(told.values())


def _at_limit(problem: Problem, state: State) -> list[tuple[str, str, float]]:
    """Return kind, port and place of the walls and the person's own limits that are reached."""
    found = []
    for b in problem.blocks(state, None, 0.0):
        if b.kind.startswith(WALL) or b.kind in (*MOST.values(), BOW):
            share = b.margin / b.scale
            k = int(np.argmin(share))
            if share[k] < AT_LIMIT:
                found.append((b.kind, problem.models[b.port].port.port.name, float(b.where_mm[k])))
    return found
