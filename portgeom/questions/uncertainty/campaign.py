"""How do all ports and stages of a job come out when every reading is drawn again?

Draw i of every port and stage has the same errors of the tools, so that a difference between two of them does
not hold what both have in common.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np

from portgeom.geometry.arrays import F64, Bool, frozen
from portgeom.job.values import Accuracy, Job
from portgeom.model.lofted import LoftedPort, LoftedStage
from portgeom.questions.shape.profile import smallest_area
from portgeom.questions.shape.roof import Roof
from portgeom.questions.uncertainty.chance import SEED
from portgeom.questions.uncertainty.coarse import Coarse, coarse_port
from portgeom.questions.uncertainty.draws import Measuring, blocks, drawn, measuring, tool_bias, without_errors
from portgeom.questions.uncertainty.figures import Asked, Figures, block_figures
from portgeom.questions.uncertainty.roof_draws import roof_draws
from portgeom.questions.uncertainty.wall_draws import WallPlaces, wall_places
from portgeom.questions.uncertainty.wanted_draws import wanted_draws
from portgeom.questions.walls.behind import Behind, behind
from portgeom.questions.walls.plan import TARGET
from portgeom.questions.whole import Answers

DRAWS = 2000

SAMPLE = 100
"""Draws from which the ways are taken in which sections mainly differ."""


@dataclass(frozen=True, slots=True)
class WallDraws:
    """The least wall to one hazard, of one surface: what the coarse chart gives without errors, and draws (n,).

    ``state`` is the stage's name, or "target" for the port once it is as wanted.
    """

    hazard: str
    state: str
    plain_mm: float
    wall_mm: F64

    def about(self, wall_mm: float) -> F64:
        """Return the draws (n,) about a least wall that is known better than on the coarse chart."""
        return self.wall_mm - self.plain_mm + wall_mm


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
    peak_mm : (n,) float
        Height of the roof's peak over the line.
    bulge_at_mm : (i,) float
        Where the port's own bulges have their peaks, the largest first.
    stands_out_mm, bulge_mm3 : (n, i) float
        How far each of them stands out, and its volume.
    removal_mm3, missing_mm3 : (n,) float
        Metal to remove, and what is already gone that should stay.
    walls : tuple of WallDraws
        For every hazard that has a place, of the stage and of the port wanted; empty unless asked for.
    """

    kept: Bool
    volume_mm3: F64
    distance_mm: F64
    flow_area_mm2: F64
    smallest_area_mm2: F64
    smallest_at_mm: F64
    peak_mm: F64
    bulge_at_mm: F64
    stands_out_mm: F64
    bulge_mm3: F64
    removal_mm3: F64
    missing_mm3: F64
    walls: tuple[WallDraws, ...]


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


def campaign(
    job: Job,
    ports: Sequence[LoftedPort],
    *,
    draws: int = DRAWS,
    seed: int = SEED,
    answered: Sequence[Answers] = (),
    walls: bool = False,
) -> Campaign:
    """Return the draws of every stage of lofted ports of a job.

    Parameters
    ----------
    answered : sequence of Answers
        What is known already of stages of these ports: draws of roof and metal are then about those figures, else
        about what the coarse chart of the draws gives.
    walls : bool
        Whether the metal behind the walls is drawn too.

    Raises
    ------
    JobError
        Where a target cannot be laid on a port's sections, or a hazard's mesh cannot be read.
    """
    bias = tool_bias(job.accuracy, draws=draws, seed=seed)
    its = [measuring(p, job.accuracy, bias, seed=seed) for p in ports]
    return Campaign(draws, seed, job.accuracy, tuple(_port_draws(job, ports, m, answered, walls=walls) for m in its))


def _port_draws(
    job: Job, ports: Sequence[LoftedPort], m: Measuring, answered: Sequence[Answers], *, walls: bool
) -> PortDraws:
    port = m.port
    coarse = coarse_port(job, ports, port, m.chart)
    known = {a.stage.stage.name: a for a in answered if a.port.port.name == port.port.name}
    roofs = [
        known[s.stage.name].roof if s.stage.name in known else r for s, r in zip(port.stages, coarse.roofs, strict=True)
    ]
    asked = _asked(job, m, coarse, roofs, behind(job, port) if walls else ())
    plain = block_figures(m, asked, drawn(without_errors(m), slice(0, 1)))
    found = [block_figures(m, asked, block) for block in blocks(m)]
    fold = np.concatenate([np.any([figures.fold for figures in block], axis=0) for block in found])
    stages = []
    for k, (stage, own) in enumerate(zip(port.stages, plain, strict=True)):
        about = _own_figures(m, own, stage, roofs[k], known.get(stage.stage.name))
        bulges = frozen([b.peak.distance_mm for b in roofs[k].bulges])
        stages.append(_stage_draws(m, asked.walls[k], fold, about, own, [block[k] for block in found], bulges))
    names = tuple(s.stage.name for s in port.stages)
    return PortDraws(port.port.name, names, tuple(stages), int(fold.sum()))


def _asked(job: Job, m: Measuring, coarse: Coarse, roofs: Sequence[Roof], hazards: Sequence[Behind]) -> Asked:
    sample = drawn(m, slice(0, min(SAMPLE, m.draws))).rho_mm[0]
    wanted = wanted_draws(job, coarse.port, coarse.wanted, sample)
    stages = zip(coarse.port.stages, roofs, strict=True)
    its = tuple(roof_draws(coarse.port, stage, coarse.wanted, roof.bulges, job.limits) for stage, roof in stages)
    port, finished = coarse.port, coarse.wanted.rho_mm
    walls = tuple(
        wall_places(m.chart, s.surface.rho_mm, hazards, s.stage.name)
        + wall_places(m.chart, np.maximum(s.surface.rho_mm, finished), hazards, TARGET)
        for s in port.stages
    )
    return Asked(wanted, its, walls)


def _own_figures(m: Measuring, plain: Figures, stage: LoftedStage, roof: Roof, answer: Answers | None) -> Figures:
    """Return a stage's figures without errors, as the real code gives them; else those of the coarse chart."""
    flow = stage.surface.flow_area_mm2
    removed = (plain.removal_mm3, plain.missing_mm3)
    if answer is not None:
        removed = (np.array([answer.removal.volume_mm3]), np.array([answer.removal.missing_mm3]))
    return Figures(
        fold=plain.fold,
        volume_mm3=stage.surface.volume_mm3.sum(keepdims=True),
        flow_area_mm2=np.interp(m.chart.distance_mm, m.port.chart.distance_mm, flow)[None],
        smallest_mm2=np.array([smallest_area(m.port, flow).area_mm2]),
        smallest_at_mm=plain.smallest_at_mm,
        peak_mm=np.array([roof.peak.proud_mm]),
        stands_out_mm=np.array([[b.stands_out_mm for b in roof.bulges]]),
        bulge_mm3=np.array([[b.volume_mm3 for b in roof.bulges]]),
        removal_mm3=removed[0],
        missing_mm3=removed[1],
        walls_mm=plain.walls_mm,
    )


def _stage_draws(
    m: Measuring,
    places: Sequence[WallPlaces],
    fold: Bool,
    about: Figures,
    plain: Figures,
    found: list[Figures],
    bulges: F64,
) -> StageDraws:
    """Return a stage's own figures, moved as far as each draw is from the stage itself on the coarse chart."""

    def moved(of: Callable[[Figures], F64]) -> F64:
        draws = of(about) + (np.concatenate([of(figures) for figures in found]) - of(plain))
        draws[fold] = np.nan
        return frozen(draws)

    return StageDraws(
        kept=~fold,
        volume_mm3=moved(lambda f: f.volume_mm3),
        distance_mm=m.chart.distance_mm,
        flow_area_mm2=moved(lambda f: f.flow_area_mm2),
        smallest_area_mm2=moved(lambda f: f.smallest_mm2),
        smallest_at_mm=moved(lambda f: f.smallest_at_mm),
        peak_mm=moved(lambda f: f.peak_mm),
        bulge_at_mm=bulges,
        stands_out_mm=moved(lambda f: f.stands_out_mm),
        bulge_mm3=moved(lambda f: f.bulge_mm3),
        removal_mm3=moved(lambda f: f.removal_mm3),
        missing_mm3=moved(lambda f: f.missing_mm3),
        walls=tuple(
            WallDraws(w.hazard.hazard.name, w.state, float(plain.walls_mm[0, i]), wall)
            for i, (w, wall) in enumerate(zip(places, moved(lambda f: f.walls_mm).T, strict=True))
        ),
    )
