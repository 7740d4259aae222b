"""How sure is the wall to a hazard? What it would be were every reading taken again.

In every draw the path and the sections are measured anew, and the metal is taken off below the wall where it then is,
as a cutter set to a depth does. The hazard stays where the job says: what the casting may shift is its own tolerance.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from portgeom.geometry.arrays import F64, Int, frozen
from portgeom.geometry.chart import Chart
from portgeom.geometry.surface import Surface
from portgeom.job.values import Accuracy
from portgeom.model.lofted import LoftedPort, LoftedStage
from portgeom.questions.uncertainty.chance import SEED, normals
from portgeom.questions.uncertainty.draws import blocks, drawn, folded, measuring, tool_bias, without_errors
from portgeom.questions.walls.behind import Behind

MARGIN_DRAWS = 2000
"""Draws from which margins are taken: what one in twenty falls below is then known within 0.05 of its spread."""

TWENTIETH = 0.05

SURE_OF_IT = 1.645
"""Standard errors that the twentieth is taken lower by: in 19 of 20 other sets of draws no more then fall below."""

ONE_IN_TWENTY = 1.645
"""Standard deviations below which one in twenty of a normal quantity falls: tables of the normal distribution."""

NEAR_MM = 8.0
"""Places further off than the nearest by so much are never the least wall in a draw."""


@dataclass(frozen=True, slots=True)
class WallDraws:
    """The least wall to one hazard in every draw (n,), less what it is without errors; none where not known."""

    behind: Behind
    moved_mm: F64

    @property
    def sd_mm(self) -> float:
        """Return the standard deviation of the wall."""
        return float(self.moved_mm.std()) if len(self.moved_mm) else 0.0

    def margin_mm(self, sure: float) -> float:
        """Return what to keep on top of a limit: so many standard deviations, or what the draws ask where more."""
        if not len(self.moved_mm):
            return 0.0
        error = np.sqrt(TWENTIETH * (1.0 - TWENTIETH) / len(self.moved_mm))
        lowest = float(np.quantile(self.moved_mm, max(0.0, TWENTIETH - SURE_OF_IT * error)))
        lower_tail = -lowest * sure / ONE_IN_TWENTY
        return max(sure * self.sd_mm, lower_tail)

    def kept(self, wall_mm: float, limit_mm: float) -> float:
        """Return the share of draws in which a wall keeps its limit."""
        return float(np.mean(wall_mm + self.moved_mm >= limit_mm)) if len(self.moved_mm) else float("nan")


def wall_draws(
    port: LoftedPort,
    stage: LoftedStage,
    hazards: Sequence[Behind],
    accuracy: Accuracy,
    *,
    after: Surface | None = None,
    draws: int = MARGIN_DRAWS,
    seed: int = SEED,
) -> tuple[WallDraws, ...]:
    """Return what the least wall to each hazard would be, behind a stage or, once cut, behind ``after``.

    A hazard known from readings of thickness has the errors of the gauge that read it, and no others.
    """
    m = measuring(port, accuracy, tool_bias(accuracy, draws=draws, seed=seed), seed=seed)
    which = port.stages.index(stage)
    plain = drawn(without_errors(m), slice(0, 1))
    deeper = np.zeros(plain.rho_mm[which].shape[1:])
    if after is not None:
        deeper = _on_chart(m.chart, after, after.rho_mm - stage.surface.rho_mm)
    nodes = plain.chart.planes.world_mm(plain.chart.tips_mm(plain.rho_mm[which] + deeper))[0]
    near = [_near(h, nodes) for h in hazards]
    at_start = [float(h.wall_mm(nodes[j, k]).min()) if len(j) else 0.0 for h, (j, k) in zip(hazards, near, strict=True)]
    moved: list[list[F64]] = [[] for _ in hazards]
    for block in blocks(m):
        rho = block.rho_mm[which] + deeper
        kept = ~folded(block.chart, rho)
        there = block.chart.planes.world_mm(block.chart.tips_mm(rho))[kept]
        for h, (j, k), start, found in zip(hazards, near, at_start, moved, strict=True):
            if len(j):
                points = there[:, j, k]
                wall = h.wall_mm(points.reshape(-1, 3)).reshape(points.shape[:2])
                found.append(wall.min(axis=1) - start)
    told = []
    for h, found in zip(hazards, moved, strict=True):
        by_readings = h.readings is not None
        moved_mm = _readings(h, accuracy, draws, seed) if by_readings else np.concatenate([np.empty(0), *found])
        told.append(WallDraws(h, frozen(moved_mm)))
    told = []
    for h, found in zip(hazards, moved, strict=True):
        by_readings = h.readings is not None
        moved_mm = _readings(h, accuracy, draws, seed) if by_readings else np.concatenate([np.empty(0), *found])
        told.append(WallDraws(h, frozen(moved_mm)))
    return tuple(told)


def _near(hazard: Behind, nodes: F64) -> tuple[Int, Int]:
    """Return slab and ray of the places that may be nearest to a hazard in some draw; none for readings."""
    if hazard.readings is not None:
        none = np.array([], dtype=np.intp)
        return none, none
    wall = hazard.wall_mm(nodes.reshape(-1, 3)).reshape(nodes.shape[:2])
    slab, ray = np.nonzero(wall < wall.min() + NEAR_MM)
    return slab, ray


def _readings(hazard: Behind, accuracy: Accuracy, draws: int, seed: int) -> F64:
    own = float(np.hypot(accuracy.gauge_mm, accuracy.tool_bias_mm))
    return own * normals(seed, "thickness", hazard.hazard.name, shape=(draws,))


def _on_chart(chart: Chart, surface: Surface, values: F64) -> F64:
    """Return values (m, n) of a surface's grid on another chart of the same port."""
    own = surface.chart
    along = np.stack([np.interp(chart.distance_mm, own.distance_mm, column) for column in values.T], axis=1)
    turn = np.concatenate([own.rays.turn - 4.0, own.rays.turn, own.rays.turn + 4.0])
    return np.stack([np.interp(chart.rays.turn, turn, np.tile(row, 3)) for row in along])
