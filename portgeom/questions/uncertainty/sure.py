"""How sure is each figure of one stage of a port, and what would make it surer?"""

from __future__ import annotations

from collections.abc import Callable, Collection, Sequence
from dataclasses import dataclass

import numpy as np

from portgeom.geometry.arrays import F64, frozen
from portgeom.job.values import Accuracy, Job
from portgeom.model.lofted import LoftedPort, LoftedStage
from portgeom.questions.cutting.bench import PassResult
from portgeom.questions.uncertainty.campaign import DRAWS, PortDraws, StageDraws, port_draws
from portgeom.questions.uncertainty.chance import SEED
from portgeom.questions.uncertainty.draws import tool_bias
from portgeom.questions.uncertainty.figures import Figures, Part
from portgeom.questions.uncertainty.interval import COVERAGE, Spread, spread
from portgeom.questions.uncertainty.pass_draws import pass_draws
from portgeom.questions.uncertainty.prepared import Known, Prepared, prepared
from portgeom.questions.uncertainty.ties import Tie, ties
from portgeom.questions.uncertainty.which import Contribution, ranking
from portgeom.questions.walls.walls import Walls
from portgeom.questions.whole import Answers
from portgeom.questions.whole_cutting import Cutting

MOST_TOLD = 3
"""Readings named for a figure."""


@dataclass(frozen=True, slots=True)
class Sure:
    """One figure: what it is, how sure, and which readings make it unsure most.

    Attributes
    ----------
    spread : Spread
        From the draws: its interval holds 95 percent of what errors of the readings can make of it.
    between_sd : float
        What the port may do between stations, where nothing was read, as a standard deviation on top; NaN where
        that was not asked.
    most : tuple of Contribution
        The largest few; none where they were not asked for.
    """

    spread: Spread
    between_sd: float
    most: tuple[Contribution, ...]


@dataclass(frozen=True, slots=True)
class SureBulge:
    """One bulge: where its peak is, how far it stands out, and its volume."""

    distance_mm: float
    stands_out_mm: Sure
    volume_mm3: Sure


@dataclass(frozen=True, slots=True)
class SureWall:
    """The least wall to one hazard, of the stage, of the port wanted or after a pass (``state``)."""

    hazard: str
    state: str
    wall_mm: Sure


@dataclass(frozen=True, slots=True)
class SurePass:
    """What one pass takes off."""

    name: str
    volume_mm3: Sure


@dataclass(frozen=True, slots=True)
class Band:
    """Between which values the flow area lies along the path: 95 percent at every distance by itself."""

    distance_mm: F64
    low_mm2: F64
    high_mm2: F64


@dataclass(frozen=True, slots=True)
class StageSure:
    """Every figure of one stage of a port, with its interval.

    Attributes
    ----------
    draws, folded : int
        How many were drawn, and how many of those had planes that cross and were left out.
    accuracy : Accuracy
    ties : tuple of Tie
        Places whose area may as well be the smallest; none where one place stands clear.
    passes_run : int
        How many draws went through the passes themselves; 0 where passes were not asked for.
    drawn : PortDraws
        What all this is from: the draws of every stage of the port, of the other stages volume and areas alone. Those
        are bit by bit the ones of a campaign of the same draws and seed, whatever else is drawn, so a comparison
        takes them as they are.
    """

    port: str
    stage: str
    draws: int
    folded: int
    seed: int
    accuracy: Accuracy
    volume_mm3: Sure
    smallest_mm2: Sure
    ties: tuple[Tie, ...]
    band: Band
    peak_mm: Sure
    bulges: tuple[SureBulge, ...]
    removal_mm3: Sure
    missing_mm3: Sure
    walls: tuple[SureWall, ...]
    passes: tuple[SurePass, ...]
    passes_run: int
    drawn: PortDraws


def stage_sure(
    job: Job,
    ports: Sequence[LoftedPort],
    port: LoftedPort,
    stage: LoftedStage,
    *,
    draws: int = DRAWS,
    seed: int = SEED,
    parts: Collection[Part] = (),
    known: Known = Known(),  # noqa: B008
    walls: Sequence[Walls] = (),
    passes: Sequence[PassResult] = (),
    ranked: bool = False,
) -> StageSure:
    """Return how sure the figures of a stage are.

    Parameters
    ----------
    parts : collection of "roof", "metal" and "walls"
        What is asked besides volume and areas; what is not is NaN, or not there. Passes need both "roof" and "metal".
    known : Known
        What was answered already of the stage: intervals are then about those figures.
    walls : sequence of Walls
        What is left behind the walls of the stage, after its passes and of the port wanted, as answered.
    passes : sequence of PassResult
        The passes as worked on the port itself.
    ranked : bool
        Whether the readings are named that make each figure unsure most.
    """
    bias = tool_bias(job.accuracy, draws=draws, seed=seed)
    name = stage.stage.name
    p = prepared(job, ports, port, bias, seed=seed, parts=parts, known={name: known}, only=name)
    k = [s.stage.name for s in port.stages].index(stage.stage.name)
    drawn = port_draws(p)
    its = drawn.stages[k]
    teller = _Teller(p, k, its, ranked=ranked)
    worked = pass_draws(job, ports, p, k, its, passes)
    return StageSure(
        port=port.port.name,
        stage=stage.stage.name,
        draws=draws,
        folded=drawn.folded,
        seed=seed,
        accuracy=job.accuracy,
        volume_mm3=teller.sure(its.volume_mm3, lambda f: f.volume_mm3),
        smallest_mm2=teller.sure(its.smallest_area_mm2, lambda f: f.smallest_mm2, extreme=True),
        ties=ties(port, stage, its),
        band=teller.band(),
        peak_mm=teller.sure(its.peak_mm, lambda f: f.peak_mm, extreme=True),
        bulges=tuple(teller.bulge(i) for i in range(len(its.bulge_at_mm))),
        removal_mm3=teller.sure(its.removal_mm3, lambda f: f.removal_mm3, amount=True),
        missing_mm3=teller.sure(its.missing_mm3, lambda f: f.missing_mm3, amount=True),
        walls=(*_walls(teller, its, walls), *(SureWall(w.hazard, w.state, _drawn(w.spread)) for w in worked.walls)),
        passes=tuple(SurePass(one.name, _drawn(one.spread)) for one in worked.volumes),
        passes_run=worked.run,
        drawn=drawn,
    )


def whole_sure(
    job: Job, ports: Sequence[LoftedPort], answer: Answers, cutting: Cutting, *, draws: int = DRAWS, seed: int = SEED
) -> StageSure:
    """Return how sure everything is that was asked of a stage, and which readings make it unsure."""
    return stage_sure(
        job,
        ports,
        answer.port,
        answer.stage,
        draws=draws,
        seed=seed,
        parts=("roof", "metal", "walls"),
        known=Known(answer.roof, answer.removal),
        walls=(cutting.now, cutting.walls[-1]),
        passes=cutting.results,
        ranked=True,
    )


def _drawn(spread: Spread) -> Sure:
    return Sure(spread, float("nan"), ())


class _Teller:
    """Puts draws, what lies between stations and the ranking of readings together, one figure at a time."""

    def __init__(self, p: Prepared, k: int, its: StageDraws, *, ranked: bool) -> None:
        self.p, self.k, self.its = p, k, its
        self.ranking = ranking(p, k) if ranked else None

    def sure(
        self,
        draws: F64,
        of: Callable[[Figures], F64],
        *,
        extreme: bool = False,
        amount: bool = False,
        own: float | None = None,
    ) -> Sure:
        """Return one figure; ``own`` is its value, else the one that the draws are about."""
        between = float(of(self.its.between)[0])
        value = float(of(self.p.own[self.k])[0]) if own is None else own
        most = () if self.ranking is None else self.ranking.most(of)[:MOST_TOLD]
        return Sure(spread(value, draws, extreme=extreme, amount=amount), between, most)

    def bulge(self, i: int) -> SureBulge:
        """Return one bulge."""
        return SureBulge(
            float(self.its.bulge_at_mm[i]),
            self.sure(self.its.stands_out_mm[:, i], lambda f: f.stands_out_mm[:, i], extreme=True),
            self.sure(self.its.bulge_mm3[:, i], lambda f: f.bulge_mm3[:, i], amount=True),
        )

    def band(self) -> Band:
        """Return the band of flow areas along the path."""
        flow = self.its.flow_area_mm2[self.its.kept]
        tail = 50.0 * (1.0 - COVERAGE)
        low, high = np.percentile(flow, [tail, 100.0 - tail], axis=0)
        return Band(self.its.distance_mm, frozen(low), frozen(high))


def _walls(teller: _Teller, its: StageDraws, walls: Sequence[Walls]) -> tuple[SureWall, ...]:
    known = {(w.hazard, w.state): w.least.wall_mm for r in walls for w in r.walls if w.least is not None}
    found = []
    for i, wall in enumerate(its.walls):
        own = known.get((wall.hazard, wall.state))
        if own is not None:
            sure = teller.sure(wall.about(own), lambda f, i=i: f.walls_mm[:, i], extreme=True, own=own)  # type: ignore[misc]
            found.append(SureWall(wall.hazard, wall.state, sure))
    return tuple(found)
