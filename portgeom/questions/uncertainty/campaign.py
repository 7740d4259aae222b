"""How do all ports and stages of a job come out when every reading is drawn again?

Draw i of every port and stage has the same errors of the tools, so that a difference between two of them does
not hold what both have in common.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np

from portgeom.geometry.arrays import F64, Bool, frozen
from portgeom.geometry.moments import polygon_moments
from portgeom.geometry.surface import flow_area_mm2
from portgeom.job.values import Accuracy, Job
from portgeom.model.lofted import LoftedPort
from portgeom.questions.shape.profile import smallest_area
from portgeom.questions.uncertainty.chance import SEED
from portgeom.questions.uncertainty.draws import (
    Block,
    Measuring,
    blocks,
    drawn,
    folded,
    measuring,
    tool_bias,
    without_errors,
)

DRAWS = 2000


@dataclass(frozen=True, slots=True)
class StageDraws:
    """What every draw of one stage of a port measures: its own figures, and the errors' with it.

    A draw whose section planes would cross inside the passage is no port: all its figures are NaN.

    Attributes
    ----------
    kept : (n,) bool
        Which draws are ports.
    volume_mm3 : (n,) float
    distance_mm : (m,) float
        Where areas are given.
    flow_area_mm2 : (n, m) float
    smallest_area_mm2, smallest_at_mm : (n,) float
        Up to the throat.
    """

    kept: Bool
    volume_mm3: F64
    distance_mm: F64
    flow_area_mm2: F64
    smallest_area_mm2: F64
    smallest_at_mm: F64


@dataclass(frozen=True, slots=True)
class PortDraws:
    """The draws of every stage of one port, in the order measured; ``folded`` draws were left out."""

    port: str
    stage_names: tuple[str, ...]
    stages: tuple[StageDraws, ...]
    folded: int


@dataclass(frozen=True, slots=True)
class Campaign:
    """All draws of a job's ports."""

    draws: int
    seed: int
    accuracy: Accuracy
    ports: tuple[PortDraws, ...]

    def of(self, port_name: str, stage_name: str) -> StageDraws:
        """Return the draws of one stage of one port."""
        port = self.port(port_name)
        return port.stages[port.stage_names.index(stage_name)]

    def port(self, port_name: str) -> PortDraws:
        """Return the draws of one port."""
        return next(p for p in self.ports if p.port == port_name)


def campaign(job: Job, ports: Sequence[LoftedPort], *, draws: int = DRAWS, seed: int = SEED) -> Campaign:
    """Return the draws of every stage of lofted ports of a job."""
    bias = tool_bias(job.accuracy, draws=draws, seed=seed)
    drawn_ports = tuple(_port_draws(measuring(port, job.accuracy, bias, seed=seed)) for port in ports)
    return Campaign(draws, seed, job.accuracy, drawn_ports)


@dataclass(frozen=True, slots=True)
class _Figures:
    """The figures of some draws of one stage on the coarse chart."""

    fold: Bool
    volume_mm3: F64
    flow_area_mm2: F64
    smallest_mm2: F64
    smallest_at_mm: F64


def _port_draws(m: Measuring) -> PortDraws:
    plain = _figures(m, drawn(without_errors(m), slice(0, 1)))
    found = [_figures(m, block) for block in blocks(m)]
    fold = np.concatenate([np.any([figures.fold for figures in block], axis=0) for block in found])
    stages = []
    for k, own in enumerate(plain):
        flow = m.port.stages[k].surface.flow_area_mm2
        fine = _Figures(
            fold=own.fold,
            volume_mm3=m.port.stages[k].surface.volume_mm3.sum(keepdims=True),
            flow_area_mm2=np.interp(m.chart.distance_mm, m.port.chart.distance_mm, flow)[None],
            smallest_mm2=np.array([smallest_area(m.port, flow).area_mm2]),
            smallest_at_mm=own.smallest_at_mm,
        )
        stages.append(_stage_draws(m, fold, fine, own, [block[k] for block in found]))
    names = tuple(s.stage.name for s in m.port.stages)
    return PortDraws(m.port.port.name, names, tuple(stages), int(fold.sum()))


def _stage_draws(m: Measuring, fold: Bool, fine: _Figures, plain: _Figures, found: list[_Figures]) -> StageDraws:
    """Return the fine figures, moved as far as each draw is from the port itself on the coarse chart."""

    def moved(of: Callable[[_Figures], F64]) -> F64:
        draws = of(fine) + (np.concatenate([of(figures) for figures in found]) - of(plain))
        draws[fold] = np.nan
        return frozen(draws)

    return StageDraws(
        kept=~fold,
        volume_mm3=moved(lambda f: f.volume_mm3),
        distance_mm=m.chart.distance_mm,
        flow_area_mm2=moved(lambda f: f.flow_area_mm2),
        smallest_area_mm2=moved(lambda f: f.smallest_mm2),
        smallest_at_mm=moved(lambda f: f.smallest_at_mm),
    )


def _figures(m: Measuring, block: Block) -> list[_Figures]:
    last = m.chart.slab_at(m.port.throat_mm)
    found = []
    for rho in block.rho_mm:
        points = block.chart.tips_mm(rho)
        moments = polygon_moments(points)
        flow = flow_area_mm2(block.chart, moments)
        slab = np.argmin(flow[:, : last + 1], axis=1)
        found.append(
            _Figures(
                fold=folded(block.chart, points),
                volume_mm3=block.chart.swept_mm3(moments).sum(axis=-1),
                flow_area_mm2=flow,
                smallest_mm2=np.take_along_axis(flow, slab[:, None], axis=1)[:, 0],
                smallest_at_mm=m.chart.distance_mm[slab],
            )
        )
    return found
