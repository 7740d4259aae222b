"""What does one port become for given cuts along its lines, and how does that change with each?"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from portgeom.geometry.arrays import F64, frozen
from portgeom.geometry.chart import Chart
from portgeom.geometry.flow_area import flow_area_mm2
from portgeom.geometry.moments import Moments
from portgeom.job.propose_values import Wishes
from portgeom.job.values import Limits, Line
from portgeom.model.lofted import LoftedPort, LoftedStage
from portgeom.questions.propose.demand import Demand, demand_of
from portgeom.questions.propose.fixed_rows import FixedRows, fixed_rows
from portgeom.questions.propose.gauges import Gauge, gauges_of
from portgeom.questions.propose.runs import Run, runs_of
from portgeom.questions.propose.shaped import STEP_MM, CutShape, Shaped, shaped
from portgeom.questions.propose.sureness import WallDraws


@dataclass(frozen=True, slots=True)
class PortModel:
    """A stage of a port, its lines, what is asked of it and what lies behind it.

    ``swept`` (3, m) is how much volume an area and its two first moments sweep at every slab. ``first`` (5,) is
    where each line begins among the port's unknowns, and their number at the end.
    """

    port: LoftedPort
    stage: LoftedStage
    wishes: Wishes
    limits: Limits
    runs: tuple[Run, ...]
    first: tuple[int, ...]
    shaped: Shaped
    fixed: FixedRows
    demand: Demand
    gauges: tuple[Gauge, ...]
    swept: F64

    @property
    def count(self) -> int:
        """Return the number of unknowns."""
        return self.first[-1]

    def line(self, side: int, values: F64) -> F64:
        """Return the part of values (n,) that belongs to a line."""
        return values[self.first[side] : self.first[side + 1]]

    def depth_mm(self, cut_mm: F64) -> F64:
        """Return the depth (4, m) off every side at every slab."""
        return np.stack([run.hat @ self.line(i, cut_mm) for i, run in enumerate(self.runs)])

    def to_unknowns(self, by_side: F64) -> F64:
        """Return derivatives (r, n) with respect to the unknowns from those (4, r, m) with respect to depths."""
        return np.concatenate([by_side[i] @ run.hat for i, run in enumerate(self.runs)], axis=1)


@dataclass(frozen=True, slots=True)
class PortState:
    """A port for one set of cuts.

    Attributes
    ----------
    cut_mm : (n,) float
    shape : CutShape
    flow_mm2 : (m,) float
        Area square to the flow.
    removed_mm3 : float
    walls_mm : one (c,) float a gauge
    """

    cut_mm: F64
    shape: CutShape
    flow_mm2: F64
    removed_mm3: float
    walls_mm: tuple[F64, ...]


@dataclass(frozen=True, slots=True)
class PortSlopes:
    """Derivatives of a state: flow area (n, m) by the unknowns; volume (4, m) and walls (4, c) by depth there."""

    flow: F64
    volume: F64
    walls: tuple[F64, ...]


def port_model(
    port: LoftedPort,
    stage: LoftedStage,
    wishes: Wishes,
    limits: Limits,
    draws: Sequence[WallDraws],
    *,
    radius: Line | None = None,
) -> PortModel:
    """Return the model of one stage of a port."""
    runs = runs_of(port, wishes)
    reach = wishes.most_roof_mm + wishes.most_side_mm + wishes.most_floor_mm
    return PortModel(
        port,
        stage,
        wishes,
        limits,
        runs,
        tuple(int(k) for k in np.cumsum([0, *(len(r.knot_mm) for r in runs)])),
        shaped(port, stage, runs, radius),
        fixed_rows(port, stage, runs, limits),
        demand_of(port, stage, wishes),
        gauges_of(stage.surface, draws, sure=wishes.sure, reach_mm=reach),
        _swept(port.chart),
    )


def _swept(chart: Chart) -> F64:
    sweep = chart.sweep
    rows = np.stack([sweep.advance, -sweep.turn_right, -sweep.turn_up]) * sweep.weight
    swept = np.zeros((3, len(chart.distance_mm)))
    for total, row in zip(swept, rows, strict=True):
        np.add.at(total, sweep.slab, row)
    return frozen(swept)


def port_state(model: PortModel, cut_mm: F64) -> PortState:
    """Return what a port becomes."""
    shape, surface = model.shaped, model.stage.surface
    shape_now = shape.cut(model.depth_mm(cut_mm))
    rho, moments = shape_now.rho_mm, shape_now.moments
    off = moments - surface.moments
    removed = float(model.swept[0] @ off.area_mm2 + (model.swept[1:] * off.first_mm3.T).sum())
    return PortState(
        cut_mm,
        shape_now,
        flow_area_mm2(surface.chart, moments),
        removed,
        tuple(g.wall_mm(surface, rho) for g in model.gauges),
    )


def port_slopes(model: PortModel, state: PortState) -> PortSlopes:
    """Return how a state changes with the depth off each side, slab by slab, where metal is next to come off."""
    shape, surface = model.shaped, model.stage.surface
    ahead, now = shape.deeper(model.depth_mm(state.cut_mm), state.shape), state.shape.moments
    area = np.stack([then.moments.area_mm2 - now.area_mm2 for then in ahead]) / STEP_MM
    first = np.stack([then.moments.first_mm3 - now.first_mm3 for then in ahead]) / STEP_MM
    volume = model.swept[0] * area + np.einsum("cm,imc->im", model.swept[1:], first)
    walls = tuple(
        np.stack([np.nan_to_num((gauge.wall_mm(surface, then.rho_mm) - wall) / STEP_MM) for then in ahead])
        for gauge, wall in zip(model.gauges, state.walls_mm, strict=True)
    )
    return PortSlopes(_flow_slopes(model, state, area, first), volume, walls)


def _flow_slopes(model: PortModel, state: PortState, area: F64, first: F64) -> F64:
    """Return derivatives (n, m) of the flow area: a cut changes the area, and which way the flow runs beside it."""
    chart, now = model.port.chart, state.shape.moments
    slopes = np.zeros((model.count, len(chart.distance_mm)))
    for i, run in enumerate(model.runs):
        for k in np.flatnonzero(run.most_mm > run.least_mm):
            share = STEP_MM * run.hat[:, k]
            then = Moments(now.area_mm2 + share * area[i], now.first_mm3 + share[:, None] * first[i])
            slopes[model.first[i] + k] = (flow_area_mm2(chart, then) - state.flow_mm2) / STEP_MM
    return slopes
