"""What does each pass take off, and what is the port like after it?"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from portgeom.geometry.arrays import F64
from portgeom.geometry.moments import polygon_moments
from portgeom.geometry.surface import Surface, with_distances
from portgeom.job.faults import JobError
from portgeom.job.values import Job, Target
from portgeom.model.line import along
from portgeom.model.lofted import LoftedPort, LoftedStage
from portgeom.model.wanted import Wanted
from portgeom.questions.cuts import Cut, Groove, cut_blend, cut_grooves, cut_level
from portgeom.questions.pass_faults import pass_faults
from portgeom.questions.plan import (
    SECOND_GROOVES,
    SECOND_LEVEL,
    SECOND_ROUND_MM,
    PlannedPass,
    planned,
    usual_plan,
)
from portgeom.questions.profile import AreaAt, smallest_area
from portgeom.questions.rows import Metal, groove_width_mm
from portgeom.questions.side import grid_lines_mm, side_axes, side_grid


@dataclass(frozen=True, slots=True)
class Rib:
    """The tallest rib between two grooves over their bottoms, and the widest top of one."""

    height_mm: float
    top_mm: float


@dataclass(frozen=True, slots=True)
class PassResult:
    """One pass and the port after it.

    Attributes
    ----------
    plan : PlannedPass
    after : Surface
        A surface like any other.
    volume_mm3, total_mm3 : float
        Taken by this pass, and by all so far.
    mass_g, total_g : float
    minutes : float or None
        At the user's own rate, where the cutter has one.
    grooves : tuple of Groove
        As cut; for levelling, the grooves it levelled.
    rib : Rib
        What stands between the grooves after the pass.
    smallest : AreaAt
    left_mm3 : float
        Between the port after this pass and its target.
    left_over_mm : float
        Most metal still over the line along the grooves cut last on that side.
    """

    plan: PlannedPass
    after: Surface
    volume_mm3: float
    total_mm3: float
    mass_g: float
    total_g: float
    minutes: float | None
    grooves: tuple[Groove, ...]
    rib: Rib
    smallest: AreaAt
    left_mm3: float
    left_over_mm: float


def passes(
    job: Job, port: LoftedPort, stage: LoftedStage, wanted: Wanted, *, stop_mm: F64 | None = None
) -> tuple[PassResult, ...]:
    """Return what each pass of the job takes off a stage of a port, in order.

    Where the job gives no passes the usual plan is followed. ``stop_mm`` (m, n), if given, is how deep
    every point of the stage's surface may be cut before a wall is too thin.

    Raises
    ------
    JobError
        Naming every pass that runs off the path, sets a row into a wall or uses too wide a cutter.
    """
    faults = pass_faults(job, port, stage, wanted)
    if faults:
        raise JobError(faults)
    target = next((t for t in job.targets if t.name == port.port.target), None)
    plan = _plan(job, port, wanted)
    bench = _Bench(job, port, stage, wanted, target)
    for one in plan:
        if (
            one.name in (SECOND_GROOVES, SECOND_LEVEL)
            and not one.said
            and bench.left_over_mm("roof") <= SECOND_ROUND_MM
        ):
            continue
        bench.work(one)
    return tuple(bench.results)


def _plan(job: Job, port: LoftedPort, wanted: Wanted) -> tuple[PlannedPass, ...]:
    length, roof = port.chart.path.length_mm, wanted.roof_end.distance_mm
    if not job.passes:
        return usual_plan(job, length_mm=length, roof_end_mm=roof)
    return tuple(planned(p, job.cutters, length_mm=length, roof_end_mm=roof) for p in job.passes)


class _Bench:
    """The port under the cutter, pass by pass."""

    def __init__(self, job: Job, port: LoftedPort, stage: LoftedStage, wanted: Wanted, target: Target | None) -> None:
        self.job, self.port, self.stage, self.wanted, self.target = job, port, stage, wanted, target
        self.surface = stage.surface
        self.grooves: dict[str, tuple[Groove, ...]] = {}
        self.results: list[PassResult] = []

    def left_over_mm(self, side: str) -> float:
        """Return the most metal over the line on a side, where the grooves of its last pass run."""
        last = next((r for r in reversed(self.results) if r.plan.side == side), None)
        return np.inf if last is None else last.left_over_mm

    def work(self, plan: PlannedPass) -> None:
        """Cut one pass and take down what it did."""
        chart, before = self.port.chart, self.surface
        metal = self._metal(plan)
        cut = self._cut(plan, metal)
        more = polygon_moments(chart.tips_mm(cut.rho_mm)) - polygon_moments(before.points_mm)
        self.surface = with_distances(before, cut.rho_mm, more)
        if plan.kind == "grooves":
            self.grooves[plan.side] = cut.grooves
        volume = float(chart.swept_mm3(more).sum())
        total = volume + (self.results[-1].total_mm3 if self.results else 0.0)
        density, rate = self.job.density_g_cc, plan.cutter.rate_cc_per_min
        after = self._metal(plan)
        self.results.append(
            PassResult(
                plan=plan,
                after=self.surface,
                volume_mm3=volume,
                total_mm3=total,
                mass_g=volume / 1000.0 * density,
                total_g=total / 1000.0 * density,
                minutes=None if rate is None else volume / 1000.0 / rate,
                grooves=cut.grooves,
                rib=ribs(after, cut.grooves, plan.body.radius_mm),
                smallest=smallest_area(self.port, self.surface.flow_area_mm2),
                left_mm3=self._left_mm3(),
                left_over_mm=_over_at_grooves_mm(after, self.grooves.get(plan.side, ())),
            )
        )

    def _metal(self, plan: PlannedPass) -> Metal:
        chart = self.port.chart
        now, wanted = list(self.surface.points_mm), list(self.wanted.polygons)
        grid = grid_lines_mm([*now, *wanted], plan.side)
        corner = None if self.target is None else self.target.corner_radius
        radius = np.full(len(now), np.nan) if corner is None else along(corner, chart.distance_mm)
        return Metal(
            side_grid(now, plan.side, grid),
            side_grid(wanted, plan.side, grid),
            radius,
            np.full((len(now), len(grid)), np.inf),
        )

    def _cut(self, plan: PlannedPass, metal: Metal) -> Cut:
        chart, rho = self.port.chart, self.surface.rho_mm
        if plan.kind == "grooves":
            return cut_grooves(chart, side_axes(chart, plan.side), metal, self.wanted, plan, rho)
        if plan.kind == "level":
            return cut_level(chart, metal, self.wanted, plan, rho, self.grooves.get(plan.side, ()))
        return cut_blend(chart, self.stage.surface.points_mm, self.wanted, plan, rho)

    def _left_mm3(self) -> float:
        chart, rho = self.port.chart, self.surface.rho_mm
        union = chart.tips_mm(np.maximum(rho, self.wanted.rho_mm))
        left = polygon_moments(union) - polygon_moments(chart.tips_mm(rho))
        return float(chart.swept_mm3(left).sum())


def ribs(metal: Metal, grooves: Sequence[Groove], radius_mm: float) -> Rib:
    """Return what stands between neighbouring grooves of a side as it now is.

    Where grooves overlap there is no top left and the height is the cusp between them.
    """
    tallest = widest = 0.0
    across = metal.now.along_mm
    for left, right in pairwise(grooves):
        gap = right.along_mm - left.along_mm
        top = gap - 0.5 * (groove_width_mm(radius_mm, left.depth_mm) + groove_width_mm(radius_mm, right.depth_mm))
        for j in np.flatnonzero(left.runs & right.runs):
            a, b = left.along_mm[j], right.along_mm[j]
            between = (across > a) & (across < b)
            if not between.any():
                continue
            bottom = np.interp(across[between], [a, b], [left.bottom_mm[j], right.bottom_mm[j]])
            stands = float(np.nanmax(bottom - metal.now.height_mm[j, between]))
            if stands > 0.0:
                tallest, widest = max(tallest, stands), max(widest, float(top[j]))
    return Rib(tallest, widest)


def _over_at_grooves_mm(metal: Metal, grooves: Sequence[Groove]) -> float:
    """Return the most metal still over the line along the grooves' own lines."""
    over = [(metal.wanted.at(g.along_mm) - metal.now.at(g.along_mm))[g.runs] for g in grooves]
    return max((float(np.nanmax(o)) for o in over if len(o)), default=0.0)
