"""How do all ports and stages of a job come out when every reading is drawn again?

Draw i of every port and stage has the same errors of the tools, so that a difference between two of them does
not hold what both have in common.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Sequence
from dataclasses import dataclass

import numpy as np

from portgeom.geometry.arrays import F64, Bool, frozen
from portgeom.job.values import Accuracy, Job
from portgeom.model.lofted import LoftedPort
from portgeom.questions.uncertainty.between import between_stations
from portgeom.questions.uncertainty.chance import SEED
from portgeom.questions.uncertainty.draws import blocks, tool_bias
from portgeom.questions.uncertainty.figures import Figures, Part, block_figures
from portgeom.questions.uncertainty.prepared import Known, Prepared, prepared
from portgeom.questions.whole import Answers

DRAWS = 1000
"""An interval's ends are then known within 4 percent of half its width, one standard error; of 2,000 draws within 3."""


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
    between : Figures
        What the port may do between stations, one row: a standard deviation of each figure, besides the draws.
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
    between: Figures
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
    parts: Collection[Part] = ("roof", "metal"),
    answered: Sequence[Answers] = (),
) -> Campaign:
    """Return the draws of every stage of lofted ports of a job.

    Parameters
    ----------
    parts : collection of "roof", "metal" and "walls"
        What is drawn besides volume and areas. With none of them no target is needed, and it is quickest.
    answered : sequence of Answers
        What is known already of stages of these ports: draws of roof and metal are then about those figures, else
        about what the coarse chart of the draws gives.

    Raises
    ------
    JobError
        Where a target cannot be laid on a port's sections, or a hazard's mesh cannot be read.
    """
    bias = tool_bias(job.accuracy, draws=draws, seed=seed)
    found = []
    for port in ports:
        its = [a for a in answered if a.port.port.name == port.port.name]
        known = {a.stage.stage.name: Known(a.roof, a.removal) for a in its}
        found.append(port_draws(prepared(job, ports, port, bias, seed=seed, parts=parts, known=known)))
    return Campaign(draws, seed, job.accuracy, tuple(found))


def port_draws(p: Prepared) -> PortDraws:
    """Return the draws of one port that is ready."""
    m = p.measuring
    found = [block_figures(m, p.asked, block) for block in blocks(m)]
    fold = np.concatenate([np.any([figures.fold for figures in block], axis=0) for block in found])
    stages = tuple(_stage_draws(p, k, fold, [block[k] for block in found]) for k in range(len(p.plain)))
    return PortDraws(m.port.port.name, tuple(s.stage.name for s in m.port.stages), stages, int(fold.sum()))


def _stage_draws(p: Prepared, k: int, fold: Bool, found: list[Figures]) -> StageDraws:
    """Return a stage's own figures, moved as far as each draw is from the stage itself on the coarse chart."""
    about, plain = p.own[k], p.plain[k]

    def moved(of: Callable[[Figures], F64]) -> F64:
        draws = of(about) + (np.concatenate([of(figures) for figures in found]) - of(plain))
        draws[fold] = np.nan
        return frozen(draws)

    return StageDraws(
        kept=~fold,
        volume_mm3=moved(lambda f: f.volume_mm3),
        distance_mm=p.measuring.chart.distance_mm,
        flow_area_mm2=moved(lambda f: f.flow_area_mm2),
        smallest_area_mm2=moved(lambda f: f.smallest_mm2),
        smallest_at_mm=moved(lambda f: f.smallest_at_mm),
        peak_mm=moved(lambda f: f.peak_mm),
        bulge_at_mm=p.bulge_at_mm[k],
        stands_out_mm=moved(lambda f: f.stands_out_mm),
        bulge_mm3=moved(lambda f: f.bulge_mm3),
        removal_mm3=moved(lambda f: f.removal_mm3),
        missing_mm3=moved(lambda f: f.missing_mm3),
        between=between_stations(p, k),
        walls=tuple(
            WallDraws(w.hazard.hazard.name, w.state, float(plain.walls_mm[0, i]), wall)
            for i, (w, wall) in enumerate(zip(p.asked.walls[k], moved(lambda f: f.walls_mm).T, strict=True))
        ),
    )
