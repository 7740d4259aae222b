"""What is known of each port or stage that is compared, and how surely?"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import hypot

import numpy as np

from portgeom.geometry.arrays import F64, frozen
from portgeom.job.values import Job
from portgeom.model.lofted import LoftedPort, LoftedStage
from portgeom.questions.compare.poured import NotComparable, Poured, poured
from portgeom.questions.shape.bulges import RoofPlace
from portgeom.questions.shape.profile import AreaAt, smallest_area
from portgeom.questions.shape.roof import roof
from portgeom.questions.uncertainty.campaign import Campaign, StageDraws
from portgeom.questions.uncertainty.interval import Spread, spread
from portgeom.questions.whole import Answers, wanted_of


@dataclass(frozen=True, slots=True)
class Sibling:
    """One stage of one port among those compared, and what tells it from the others."""

    name: str
    job: Job
    port: LoftedPort
    stage: LoftedStage


@dataclass(frozen=True, slots=True)
class Member:
    """One stage of one port among those compared.

    Attributes
    ----------
    name : str
        What tells it from the others: its port, with the stage or the job's title where the port alone does not.
    flow_area_mm2 : (m,) float
        At the slabs of its chart.
    volume, smallest : Spread
        In mm3, of the whole, and in mm2, of the smallest flow area up to the throat.
    smallest_at : AreaAt
    entry_mm2, throat_mm2 : float
        Flow areas there.
    peak : RoofPlace
        Where the roof stands highest over its line.
    poured : Poured, NotComparable or None
        None where it was not poured.
    draws : StageDraws
    """

    name: str
    job: Job
    port: LoftedPort
    stage: LoftedStage
    flow_area_mm2: F64
    volume: Spread
    smallest: Spread
    smallest_at: AreaAt
    entry_mm2: float
    throat_mm2: float
    peak: RoofPlace
    poured: Poured | NotComparable | None
    draws: StageDraws

    @property
    def distance_mm(self) -> F64:
        """Return the distances (m,) of its slabs."""
        return self.port.chart.distance_mm

    @property
    def length_mm(self) -> float:
        """Return the length of its path."""
        return self.port.chart.path.length_mm


@dataclass(frozen=True, slots=True)
class Source:
    """A lofted job, which stages of it are compared, the draws of its ports, and what was answered of them already."""

    job: Job
    ports: tuple[LoftedPort, ...]
    chosen: tuple[tuple[LoftedPort, LoftedStage], ...]
    campaign: Campaign
    answered: tuple[Answers, ...] = ()


def named(sources: Sequence[Source]) -> tuple[Sibling, ...]:
    """Return all that are compared, in the order asked for, with names; no draws are looked at."""
    found = [(source.job, port, stage) for source in sources for port, stage in source.chosen]
    names = _names([(job.title, p.port.name, t.stage.name) for job, p, t in found])
    return tuple(Sibling(name, *one) for name, one in zip(names, found, strict=True))


def members(sources: Sequence[Source]) -> tuple[Member, ...]:
    """Return all that are compared, in the order asked for."""
    sourced = [source for source in sources for _ in source.chosen]
    return tuple(_member(one, source) for one, source in zip(named(sources), sourced, strict=True))


def _names(whole: Sequence[tuple[str, str, str]]) -> list[str]:
    """Return what tells each one apart: its port, or that and its stage, or the job's title in front of both."""
    for first, last in ((1, 2), (1, 3), (0, 3)):
        names = [", ".join(parts[first:last]) for parts in whole]
        if len(set(names)) == len(names):
            return names
    return [f"{', '.join(parts)} ({k})" for k, parts in enumerate(whole, 1)]


def _member(one: Sibling, source: Source) -> Member:
    job, port, stage = one.job, one.port, one.stage
    draws = source.campaign.of(port.port.name, stage.stage.name)
    flow = stage.surface.flow_area_mm2
    smallest = smallest_area(port, flow)
    volume = spread(float(stage.surface.volume_mm3.sum()), draws.volume_mm3)
    standard = hypot(volume.sd, float(draws.between.volume_mm3[0]))
    valve = next((v for v in job.valves if v.kind == port.port.kind), None)
    return Member(
        name=one.name,
        job=job,
        port=port,
        stage=stage,
        flow_area_mm2=frozen(flow),
        volume=volume,
        smallest=spread(smallest.area_mm2, draws.smallest_area_mm2, extreme=True),
        smallest_at=smallest,
        entry_mm2=float(flow[0]),
        throat_mm2=float(np.interp(port.throat_mm, port.chart.distance_mm, flow)),
        peak=_peak(source, port, stage),
        poured=poured(port, stage, valve, job.accuracy, volume_standard_mm3=standard),
        draws=draws,
    )


def _peak(source: Source, port: LoftedPort, stage: LoftedStage) -> RoofPlace:
    """Return where a stage's roof stands highest over its line."""
    known = next((a.roof for a in source.answered if a.port is port and a.stage is stage), None)
    if known is None:
        known = roof(port, stage, wanted_of(source.job, source.ports, port), source.job.limits)
    return known.peak


def between_columns(distance_mm: F64, drawn: F64, wanted_mm: F64) -> F64:
    """Return what was drawn (n, m) at some distances (m,) at others (n, k), straight between them."""
    after = np.clip(np.searchsorted(distance_mm, wanted_mm), 1, len(distance_mm) - 1)
    share = (wanted_mm - distance_mm[after - 1]) / (distance_mm[after] - distance_mm[after - 1])
    between: F64 = (1.0 - share) * drawn[:, after - 1] + share * drawn[:, after]
    return between
