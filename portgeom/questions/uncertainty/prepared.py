"""What is asked of every draw of a port, and what does the port itself give?"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from portgeom.geometry.arrays import F64, frozen
from portgeom.job.values import Job
from portgeom.model.lofted import LoftedPort, LoftedStage
from portgeom.questions.shape.profile import smallest_area
from portgeom.questions.shape.roof import Roof
from portgeom.questions.uncertainty.coarse import Coarse, coarse_port
from portgeom.questions.uncertainty.draws import Bias, Measuring, drawn, measuring, without_errors
from portgeom.questions.uncertainty.figures import Asked, Figures, block_figures
from portgeom.questions.uncertainty.roof_draws import roof_draws
from portgeom.questions.uncertainty.wall_draws import wall_places
from portgeom.questions.uncertainty.wanted_draws import wanted_draws
from portgeom.questions.walls.behind import Behind, behind
from portgeom.questions.walls.plan import TARGET
from portgeom.questions.whole import Answers

SAMPLE = 100
"""Draws from which the ways are taken in which sections mainly differ."""


@dataclass(frozen=True, slots=True)
class Prepared:
    """A port ready to be drawn.

    Attributes
    ----------
    measuring : Measuring
    coarse : Coarse or None
        None where only areas and volumes are asked for.
    asked : Asked
    plain : tuple of Figures
        Every stage's, of one draw without errors.
    own : tuple of Figures
        The same as the real code gives them on the fine chart.
    bulge_at_mm : tuple of (i,) float
        Where every stage's bulges have their peaks.
    """

    measuring: Measuring
    coarse: Coarse | None
    asked: Asked
    plain: tuple[Figures, ...]
    own: tuple[Figures, ...]
    bulge_at_mm: tuple[F64, ...]


def prepared(
    job: Job,
    ports: Sequence[LoftedPort],
    port: LoftedPort,
    bias: Bias,
    *,
    seed: int,
    answered: Sequence[Answers] = (),
    walls: bool = False,
    areas_only: bool = False,
) -> Prepared:
    """Return a port ready to be drawn; the options as for a campaign."""
    m = measuring(port, job.accuracy, bias, seed=seed)
    if areas_only:
        asked = Asked(None, (), ((),) * len(port.stages))
        plain = tuple(block_figures(m, asked, drawn(without_errors(m), slice(0, 1))))
        own = tuple(_own_areas(m, p, stage) for p, stage in zip(plain, port.stages, strict=True))
        return Prepared(m, None, asked, plain, own, (frozen([]),) * len(plain))
    coarse = coarse_port(job, ports, port, m.chart)
    known = {a.stage.stage.name: a for a in answered if a.port.port.name == port.port.name}
    roofs = [
        known[s.stage.name].roof if s.stage.name in known else r for s, r in zip(port.stages, coarse.roofs, strict=True)
    ]
    asked = _asked(job, m, coarse, roofs, behind(job, port) if walls else ())
    plain = tuple(block_figures(m, asked, drawn(without_errors(m), slice(0, 1))))
    own = tuple(
        _own_figures(m, p, stage, roof, known.get(stage.stage.name))
        for p, stage, roof in zip(plain, port.stages, roofs, strict=True)
    )
    return Prepared(m, coarse, asked, plain, own, tuple(frozen([b.peak.distance_mm for b in r.bulges]) for r in roofs))


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
    removed = (plain.removal_mm3, plain.missing_mm3)
    if answer is not None:
        removed = (np.array([answer.removal.volume_mm3]), np.array([answer.removal.missing_mm3]))
    return replace(
        _own_areas(m, plain, stage),
        peak_mm=np.array([roof.peak.proud_mm]),
        stands_out_mm=np.array([[b.stands_out_mm for b in roof.bulges]]),
        bulge_mm3=np.array([[b.volume_mm3 for b in roof.bulges]]),
        removal_mm3=removed[0],
        missing_mm3=removed[1],
    )


def _own_areas(m: Measuring, plain: Figures, stage: LoftedStage) -> Figures:
    flow = stage.surface.flow_area_mm2
    return replace(
        plain,
        volume_mm3=stage.surface.volume_mm3.sum(keepdims=True),
        flow_area_mm2=np.interp(m.chart.distance_mm, m.port.chart.distance_mm, flow)[None],
        smallest_mm2=np.array([smallest_area(m.port, flow).area_mm2]),
    )
