"""What is to be solved: one port, or several that are to match, as one set of unknowns, margins and a cost."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from portgeom.geometry.arrays import F64
from portgeom.questions.propose.port_model import (
    PortModel,
    PortSlopes,
    PortState,
    port_slopes,
    port_state,
)
from portgeom.questions.propose.price import Price
from portgeom.questions.propose.rows import MATCH, VOLUMES, Block, port_blocks

MATCH_EVERY_MM = 2.0
"""Areas of a pair are held against each other at steps of about this."""


@dataclass(frozen=True, slots=True)
class State:
    """All ports for one set of cuts (n,), what it costs, and the volume that comes off."""

    cut_mm: F64
    ports: tuple[PortState, ...]
    cost: float

    @property
    def removed_mm3(self) -> float:
        """Return all that comes off."""
        return sum(p.removed_mm3 for p in self.ports)


@dataclass(frozen=True, slots=True)
class Problem:
    """Ports to be cut together.

    Attributes
    ----------
    models, prices : one each port
    matched : bool
        Whether their areas and volumes are to match.
    allowed : tuple of (str, float)
        By how much kinds of demand have been relaxed, each in its own unit.
    """

    models: tuple[PortModel, ...]
    prices: tuple[Price, ...]
    matched: bool
    allowed: tuple[tuple[str, float], ...] = ()

    @property
    def first(self) -> list[int]:
        """Return where each port's unknowns begin, and their number at the end."""
        return [int(k) for k in np.cumsum([0, *(m.count for m in self.models)])]

    @property
    def least_mm(self) -> F64:
        """Return the least (n,) that may come off."""
        return np.concatenate([run.least_mm for m in self.models for run in m.runs])

    @property
    def most_mm(self) -> F64:
        """Return the most (n,) that may come off, as the user said."""
        return np.concatenate([run.most_mm for m in self.models for run in m.runs])

    def part(self, k: int, values: F64) -> F64:
        """Return the part of values (n,) that belongs to a port."""
        return values[self.first[k] : self.first[k + 1]]

    def state(self, cut_mm: F64) -> State:
        """Return what cuts make of all ports."""
        ports = tuple(port_state(m, self.part(k, cut_mm)) for k, m in enumerate(self.models))
        cost = sum(price.cost(p.removed_mm3, p.cut_mm) for price, p in zip(self.prices, ports, strict=True))
        return State(cut_mm, ports, cost)

    def slopes(self, state: State) -> tuple[PortSlopes, ...]:
        """Return how each port changes."""
        return tuple(port_slopes(m, p) for m, p in zip(self.models, state.ports, strict=True))

    def cost_slope(self, slopes: Sequence[PortSlopes]) -> F64:
        """Return the derivative (n,) of the cost."""
        parts = []
        for model, price, slope in zip(self.models, self.prices, slopes, strict=True):
            volume = model.to_unknowns(slope.volume[:, None, :])[0]
            parts.append(1e-3 * price.per_cc * volume + price.more)
        return np.concatenate(parts)

    def blocks(self, state: State, slopes: Sequence[PortSlopes] | None, step_mm: float) -> list[Block]:
        """Return all margins; with slopes as derivatives by all unknowns (r, n)."""
        made = []
        for k, (model, port) in enumerate(zip(self.models, state.ports, strict=True)):
            own = port_blocks(k, model, port, None if slopes is None else slopes[k], step_mm)
            made += [self._widened(b, k) for b in own]
        if self.matched:
            for k in range(1, len(self.models)):
                made += self._match(0, k, state, slopes)
        allowed = dict(self.allowed)
        return [
            Block(b.kind, b.port, b.margin + allowed[b.kind] * b.scale, b.scale, b.where_mm, b.slope)
            if b.kind in allowed
            else b
            for b in made
        ]

    def _widened(self, b: Block, k: int) -> Block:
        first = self.first
        if b.slope.shape[1] == 0:
            return b
        slope = np.zeros((len(b.margin), first[-1]))
        slope[:, first[k] : first[k + 1]] = b.slope
        return Block(b.kind, b.port, b.margin, b.scale, b.where_mm, slope)

    def _match(self, a: int, b: int, state: State, slopes: Sequence[PortSlopes] | None) -> list[Block]:
        """Return how much nearer two ports' areas and volumes are than they must be."""
        one, other = self.models[a], self.models[b]
        wishes, first = one.wishes, self.first
        share = np.linspace(0.0, 1.0, max(2, round(one.port.throat_mm / MATCH_EVERY_MM)))
        at = [self._at(m, share) for m in (one, other)]
        flow = [hat @ state.ports[k].flow_mm2 for hat, k in zip(at, (a, b), strict=True)]
        mean = 0.5 * (flow[0] + flow[1])
        apart = flow[0] - flow[1]
        within = 0.01 * wishes.match_percent * mean
        volume = [self._volume(k, state) for k in (a, b)]
        gap = (volume[0] - volume[1]) / 1000.0
        slope, turn = np.empty((2 * len(share), 0)), np.empty((2, 0))
        if slopes is not None:
            down, swept = np.zeros((len(share), first[-1])), np.zeros(first[-1])
            for k, hat, sign in ((a, at[0], 1.0), (b, at[1], -1.0)):
                model, own = self.models[k], slice(first[k], first[k + 1])
                down[:, own] = sign * hat @ slopes[k].flow.T
                swept[own] = sign * 1e-3 * model.to_unknowns(slopes[k].volume[:, None, :])[0]
            slope, turn = np.concatenate([-down, down]), np.stack([-swept, swept])
        margin = np.concatenate([within - apart, within + apart])
        where = np.tile(share * one.port.throat_mm, 2)
        both = np.array([wishes.match_cc - gap, wishes.match_cc + gap])
        return [
            Block(MATCH, a, margin, np.tile(0.01 * mean, 2), where, slope),
            Block(VOLUMES, a, both, np.ones(2), np.zeros(2), turn),
        ]

    @staticmethod
    def _at(model: PortModel, share: F64) -> F64:
        """Return what share of each slab's value there is at shares of the way to the throat."""
        s = model.port.chart.distance_mm
        return np.array([np.interp(share * model.port.throat_mm, s, e) for e in np.eye(len(s))]).T

    def _volume(self, k: int, state: State) -> float:
        return float(self.models[k].stage.surface.volume_mm3.sum()) + state.ports[k].removed_mm3
