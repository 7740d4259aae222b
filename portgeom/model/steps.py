"""What does a target do to the section at every slab?"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from portgeom.geometry.arrays import F64
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

    def applied(self, slab: int, section_mm: F64) -> F64:
        """Return the section (n, 2) of a slab as the target wants it; the same array if it wants no change."""
        polygon, level = section_mm, float(self.level_mm[slab])
        if self.bridge is not None:
            polygon = lifted(polygon, self.bridge.across_mm[slab], self.bridge.lift_mm[slab])
        if np.isfinite(self.roof_mm[slab]) or np.isfinite(self.radius_mm[slab]):
            polygon = roofed(polygon, self.roof_mm[slab], self.radius_mm[slab], level)
        if np.isfinite(self.floor_mm[slab]):
            polygon = upside_down(roofed(upside_down(polygon), -self.floor_mm[slab], np.nan, -level))
        if self.left_mm[slab] > 0.0 or self.right_mm[slab] > 0.0:
            polygon = widened(polygon, self.left_mm[slab], self.right_mm[slab])
        return polygon


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
