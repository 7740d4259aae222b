"""What does a target do to the section at every slab?"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np

from portgeom.geometry.arrays import F64, Bool, Int
from portgeom.geometry.chart import Chart
from portgeom.job.values import Target
from portgeom.model.bridge import Bridge
from portgeom.model.line import along, roof_heights_mm
from portgeom.model.possible import refuse_impossible
from portgeom.model.reshape import lifted, roofed, upside_down, widened


@dataclass(frozen=True, slots=True)
class Steps:
    """A target's lines, resolved to one value a slab; NaN where a line says nothing.

    Attributes
    ----------
    level_mm : (m,) float
        Middle height of the section, where the side walls are taken.
    roof_mm, radius_mm, floor_mm : (m,) float
        Wanted crown, corner radius and lowest point.
    left_mm, right_mm : (m,) float
        How far the side walls move out.
    bridge : Bridge or None
        Where no roof line was given.
    """

    level_mm: F64
    roof_mm: F64
    radius_mm: F64
    floor_mm: F64
    left_mm: F64
    right_mm: F64
    bridge: Bridge | None

    def applied(self, slabs: Int, sections_mm: Sequence[F64]) -> list[F64]:
        """Return sections (n, 2) of slabs (k,) as the target wants them; the same arrays where it wants no change."""
        level, roof, floor = self.level_mm[slabs], self.roof_mm[slabs], self.floor_mm[slabs]
        radius, left, right = self.radius_mm[slabs], self.left_mm[slabs], self.right_mm[slabs]
        polygons = list(sections_mm)
        if self.bridge is not None:
            across, lift = self.bridge.across_mm[slabs], self.bridge.lift_mm[slabs]
            _change(polygons, np.any(lift != 0.0, axis=1), lambda some, k: lifted(some, across[k], lift[k]))
        _change(
            polygons,
            np.isfinite(roof) | np.isfinite(radius),
            lambda some, k: roofed(some, roof[k], radius[k], level[k]),
        )
        _change(
            polygons,
            np.isfinite(floor),
            lambda some, k: upside_down(roofed(upside_down(some), -floor[k], np.full(len(k), np.nan), -level[k])),
        )
        _change(polygons, (left > 0.0) | (right > 0.0), lambda some, k: widened(some, left[k], right[k]))
        return polygons


def _change(polygons: list[F64], where: Bool, how: Callable[[list[F64], Int], list[F64]]) -> None:
    """Put what becomes of some polygons in their places."""
    which = np.flatnonzero(where)
    if len(which):
        for k, new in zip(which, how([polygons[k] for k in which], which), strict=True):
            polygons[k] = new


def steps_of(plan: Target, chart: Chart, sections_mm: Sequence[F64], bridge: Bridge | None) -> Steps:
    """Return what a target does to every slab.

    Raises
    ------
    JobError
        Where a line or a radius cannot be laid on the sections.
    """
    s = chart.distance_mm
    crown = np.array([p[:, 1].max() for p in sections_mm])
    roof = roof_heights_mm(plan, chart, crown)
    refuse_impossible(plan, chart, roof, sections_mm)
    nothing = np.full(len(s), np.nan)
    left, right = np.zeros(len(s)), np.zeros(len(s))
    if plan.widen is not None:
        at, *sides = plan.widen.T
        left, right = (np.interp(s, at, side, left=0.0, right=0.0) for side in sides)
    return Steps(
        level_mm=chart.centre_mm[:, 1],
        roof_mm=roof,
        radius_mm=nothing if plan.corner_radius is None else along(plan.corner_radius, s),
        floor_mm=nothing if plan.floor_line is None else along(plan.floor_line, s),
        left_mm=left,
        right_mm=right,
        bridge=bridge,
    )
