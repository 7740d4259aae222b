"""What does a larger smallest area cost, in metal and in wall, and what stops it?"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from portgeom.geometry.arrays import frozen
from portgeom.questions.propose.binding import AT_LIMIT
from portgeom.questions.propose.problem import Problem, State
from portgeom.questions.propose.relief import is_missed
from portgeom.questions.propose.rows import AREA, MOST, SLOPE, TOO_LARGE, WALL
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
    """Where the curve turns: from this point on a demand is at its limit that was not before.

    ``end`` marks the demand that ends the curve.
    """

    point: int
    kind: str
    port: str
    where_mm: float
    end: bool


@dataclass(frozen=True, slots=True)
class TradeOff:
    """The curve, from the port as it is to the largest area that can be had. ``asked`` is the point asked for."""

    points: tuple[TradePoint, ...]
    kinks: tuple[Kink, ...]
    asked: int


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
    return TradeOff(points, _kinks(problem, states, ends=last), POINTS - 1)


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


def _kinks(problem: Problem, states: list[State], *, ends: bool) -> tuple[Kink, ...]:
    told: dict[tuple[str, str], Kink] = {}
    for point, state in enumerate(states):
        for b in problem.blocks(state, None, 0.0):
            if not (b.kind.startswith(WALL) or b.kind in MOST.values() or b.kind in (SLOPE, TOO_LARGE)):
                continue
            share = b.margin / b.scale
            k = int(np.argmin(share))
            port = problem.models[b.port].port.port.name
            if share[k] < AT_LIMIT and (b.kind, port) not in told and b.kind != TOO_LARGE:
                told[b.kind, port] = Kink(point, b.kind, port, float(b.where_mm[k]), ends and point == len(states) - 1)
    return tuple(told.values())
