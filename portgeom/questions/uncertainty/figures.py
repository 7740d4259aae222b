"""What do some draws of a port measure on their coarse chart?"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, fields, replace
from typing import Literal, TypeAlias

import numpy as np

from portgeom.geometry.arrays import F64, Bool
from portgeom.geometry.chart import Chart
from portgeom.geometry.flow_area import flow_area_mm2
from portgeom.geometry.moments import Moments
from portgeom.questions.uncertainty.draws import Block, Measuring, folded
from portgeom.questions.uncertainty.roof_draws import RoofDraws
from portgeom.questions.uncertainty.roof_figures import RoofFigures, roof_figures
from portgeom.questions.uncertainty.wall_draws import WallPlaces, least_walls_mm
from portgeom.questions.uncertainty.wanted_draws import WantedDraws


@dataclass(frozen=True, slots=True)
class Figures:
    """The figures of one stage in b draws.

    Attributes
    ----------
    fold : (b,) bool
        Where section planes cross: no port.
    volume_mm3 : (b,) float
    flow_area_mm2 : (b, m) float
    smallest_mm2, smallest_at_mm : (b,) float
    peak_mm : (b,) float
        Of the roof over the line.
    stands_out_mm, bulge_mm3 : (b, i) float
    removal_mm3, missing_mm3 : (b,) float
    walls_mm : (b, w) float
        Least walls, hazard by hazard: of the stage, then of the port wanted.
    """

    fold: Bool
    volume_mm3: F64
    flow_area_mm2: F64
    smallest_mm2: F64
    smallest_at_mm: F64
    peak_mm: F64
    stands_out_mm: F64
    bulge_mm3: F64
    removal_mm3: F64
    missing_mm3: F64
    walls_mm: F64


def each_figure(change: Callable[..., F64], *figures: Figures) -> Figures:
    """Return figures made of others, one kind at a time; which draws fold is the first's."""
    names = [f.name for f in fields(Figures) if f.name != "fold"]
    return Figures(fold=figures[0].fold, **{n: change(*(getattr(f, n) for f in figures)) for n in names})


def joined_figures(found: Sequence[Figures]) -> Figures:
    """Return the figures of many blocks as one."""
    return Figures(*(np.concatenate([getattr(f, field.name) for f in found]) for field in fields(Figures)))


Part: TypeAlias = Literal["roof", "metal", "walls"]
"""What may be drawn besides volume and areas."""


@dataclass(frozen=True, slots=True)
class Asked:
    """What is asked of every block besides areas and volumes.

    Attributes
    ----------
    wanted : WantedDraws or None
        None where nothing else is asked.
    roofs : tuple of (RoofDraws or None)
        One a stage, None where roofs are not asked for.
    metal : tuple of bool
        Of which stages.
    walls : tuple of (tuple of WallPlaces)
        Those of each stage.
    """

    wanted: WantedDraws | None
    roofs: tuple[RoofDraws | None, ...]
    metal: tuple[bool, ...]
    walls: tuple[tuple[WallPlaces, ...], ...]


def block_figures(m: Measuring, asked: Asked, block: Block, *, only: int | None = None) -> list[Figures]:
    """Return the figures of every stage, or of one ``only``, in a block of draws.

    What is not asked for is NaN, or of no size.
    """
    chart, found = block.chart, []
    unknown = np.full(chart.distance_mm.shape[0], np.nan)
    none = np.empty((len(unknown), 0))
    wanted = np.empty(0) if asked.wanted is None else asked.wanted.distances_mm(chart, block.rho_mm[0], m.cast_mm)
    its_moments = chart.moments(wanted) if any(asked.metal) else Moments(none, none)
    for k in range(len(block.rho_mm)) if only is None else (only,):
        rho, roof, places = block.rho_mm[k], asked.roofs[k], asked.walls[k]
        moments = chart.moments(rho)
        removed = missing = unknown
        if asked.metal[k]:
            union = chart.moments(np.maximum(rho, wanted))
            removed, missing = (chart.swept_mm3(union - other).sum(axis=-1) for other in (moments, its_moments))
        walls = [least_walls_mm(w, chart, np.maximum(rho, wanted) if w.wanted else rho) for w in places]
        # a wanted roof that is the port's own bridge goes up and down with the draws' roof: what a draw's own bridge
        # differs by comes on top
        bridged = k == 0 and asked.wanted is not None and asked.wanted.bridged
        its = (
            RoofFigures(unknown, none, none, unknown)
            if roof is None
            else roof_figures(roof, chart, rho, wanted, under_bridge=bridged)
        )
        if bridged and its.stands_out_mm.shape[-1]:
            its = replace(its, peak_mm=its.peak_mm + its.stands_out_mm.max(axis=-1))
            removed = removed + its.under_bridge_mm3
        seen = _Seen(
            roof=its,
            removal_mm3=removed,
            missing_mm3=missing,
            walls_mm=np.array(walls).reshape(len(walls), len(rho)).T,
        )
        found.append(_figures(m, chart, rho, moments, seen))
    return found


@dataclass(frozen=True, slots=True)
class _Seen:
    """What a wanted port is needed for: the roof's figures, metal (b,), and least walls (b, w)."""

    roof: RoofFigures
    removal_mm3: F64
    missing_mm3: F64
    walls_mm: F64


def _figures(m: Measuring, chart: Chart, rho: F64, moments: Moments, seen: _Seen) -> Figures:
    flow = flow_area_mm2(chart, moments)
    slab = np.argmin(flow[:, : m.chart.slab_at(m.port.throat_mm) + 1], axis=1)
    return Figures(
        fold=folded(chart, rho),
        volume_mm3=chart.swept_mm3(moments).sum(axis=-1),
        flow_area_mm2=flow,
        smallest_mm2=np.take_along_axis(flow, slab[:, None], axis=1)[:, 0],
        smallest_at_mm=m.chart.distance_mm[slab],
        peak_mm=seen.roof.peak_mm,
        stands_out_mm=seen.roof.stands_out_mm,
        bulge_mm3=seen.roof.bulge_mm3,
        removal_mm3=seen.removal_mm3,
        missing_mm3=seen.missing_mm3,
        walls_mm=seen.walls_mm,
    )
