"""What is asked of every draw of a port, and what does the port itself give?"""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from portgeom.geometry.arrays import F64, frozen
from portgeom.job.values import Job
from portgeom.model.lofted import LoftedPort, LoftedStage
from portgeom.questions.shape.profile import smallest_area
from portgeom.questions.shape.removal import Removal
from portgeom.questions.shape.roof import Roof, roof
from portgeom.questions.uncertainty.coarse import Coarse, coarse_port
from portgeom.questions.uncertainty.draws import Bias, Measuring, drawn, measuring, without_errors
from portgeom.questions.uncertainty.figures import Asked, Figures, Part, block_figures
from portgeom.questions.uncertainty.roof_draws import roof_draws
from portgeom.questions.uncertainty.wall_draws import wall_places
from portgeom.questions.uncertainty.wanted_draws import wanted_draws
from portgeom.questions.walls.behind import Behind, behind
from portgeom.questions.walls.plan import TARGET

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


@dataclass(frozen=True, slots=True)
class Known:
    """What the real code has said already of one stage: None where it was not asked."""

    roof: Roof | None = None
    removal: Removal | None = None


def prepared(
    job: Job,
    ports: Sequence[LoftedPort],
    port: LoftedPort,
    bias: Bias,
    *,
    seed: int,
    parts: Collection[Part],
    known: Mapping[str, Known],
    only: str | None = None,
) -> Prepared:
    """Return a port ready to be drawn.

    Parameters
    ----------
    parts : collection of Part
        What is drawn besides volume and areas.
    known : mapping of str to Known
        By the name of the stage; draws are about these figures, else about what the coarse chart gives.
    only : str or None
        The stage that the parts are drawn of; without it, all. Volume and areas are drawn of every stage.
    """
    m = measuring(port, job.accuracy, bias, seed=seed)
    stages = port.stages
    if not parts:
        asked = Asked(None, (None,) * len(stages), (False,) * len(stages), ((),) * len(stages))
        plain = tuple(block_figures(m, asked, drawn(without_errors(m), slice(0, 1))))
        own = tuple(_own_figures(m, p, stage, None, None) for p, stage in zip(plain, stages, strict=True))
        return Prepared(m, None, asked, plain, own, (frozen([]),) * len(plain))
    coarse = coarse_port(job, ports, port, m.chart)
    whole = tuple(only is None or s.stage.name == only for s in stages)
    roofs = [_roof(job, coarse, k, known.get(s.stage.name), parts) if whole[k] else None for k, s in enumerate(stages)]
    asked = _asked(job, m, coarse, roofs, parts, whole, behind(job, port) if "walls" in parts else ())
    plain = tuple(block_figures(m, asked, drawn(without_errors(m), slice(0, 1))))
    own = tuple(
        _own_figures(m, p, stage, roof, known.get(stage.stage.name))
        for p, stage, roof in zip(plain, stages, roofs, strict=True)
    )
    at = tuple(frozen([] if roof is None else [b.peak.distance_mm for b in roof.bulges]) for roof in roofs)
    return Prepared(m, coarse, asked, plain, own, at)


def _roof(job: Job, coarse: Coarse, k: int, known: Known | None, parts: Collection[Part]) -> Roof | None:
    if "roof" not in parts:
        return None
    if known is not None and known.roof is not None:
        return known.roof
    return roof(coarse.port, coarse.port.stages[k], coarse.wanted, job.limits)


def _asked(
    job: Job,
    m: Measuring,
    coarse: Coarse,
    roofs: Sequence[Roof | None],
    parts: Collection[Part],
    whole: tuple[bool, ...],
    hazards: Sequence[Behind],
) -> Asked:
    sample = drawn(m, slice(0, min(SAMPLE, m.draws))).rho_mm[0]
    port, finished = coarse.port, coarse.wanted.rho_mm
    its = tuple(
        None if roof is None else roof_draws(port, stage, coarse.wanted, roof.bulges, job.limits)
        for stage, roof in zip(port.stages, roofs, strict=True)
    )
    walls = tuple(
        wall_places(m.chart, s.surface.rho_mm, hazards, s.stage.name)
        + wall_places(m.chart, np.maximum(s.surface.rho_mm, finished), hazards, TARGET)
        if chosen
        else ()
        for s, chosen in zip(port.stages, whole, strict=True)
    )
    metal = tuple("metal" in parts and chosen for chosen in whole)
    return Asked(wanted_draws(job, port, coarse.wanted, sample), its, metal, walls)


def _own_figures(m: Measuring, plain: Figures, stage: LoftedStage, roof: Roof | None, known: Known | None) -> Figures:
    """Return a stage's figures without errors, as the real code gives them; else those of the coarse chart."""
    flow = stage.surface.flow_area_mm2
    own = replace(
        plain,
        volume_mm3=stage.surface.volume_mm3.sum(keepdims=True),
        flow_area_mm2=np.interp(m.chart.distance_mm, m.port.chart.distance_mm, flow)[None],
        smallest_mm2=np.array([smallest_area(m.port, flow).area_mm2]),
    )
    if roof is not None:
        own = replace(
            own,
            peak_mm=np.array([roof.peak.proud_mm]),
            stands_out_mm=np.array([[b.stands_out_mm for b in roof.bulges]]),
            bulge_mm3=np.array([[b.volume_mm3 for b in roof.bulges]]),
        )
    if known is not None and known.removal is not None:
        metal = known.removal
        own = replace(own, removal_mm3=np.array([metal.volume_mm3]), missing_mm3=np.array([metal.missing_mm3]))
    return own
