"""What does the port look like under the cutter, pass after pass?"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from portgeom.geometry.arrays import F64, Int
from portgeom.geometry.moments import Moments, polygon_moments
from portgeom.geometry.surface import Surface, with_distances
from portgeom.job.values import Job, Side
from portgeom.model.line import along
from portgeom.model.lofted import LoftedPort, LoftedStage
from portgeom.model.wanted import Wanted
from portgeom.questions.cutting.between_rays import PER_RAY, FineRays, of_chart
from portgeom.questions.cutting.cuts import Cut, Groove, cut_blend, cut_grooves
from portgeom.questions.cutting.held_back import held_back
from portgeom.questions.cutting.lead import Lead, Sheet
from portgeom.questions.cutting.level import cut_level
from portgeom.questions.cutting.plan import PlannedPass
from portgeom.questions.cutting.ribs import NO_RIB, Rib, over_at_grooves_mm, ribs_cut, ribs_left
from portgeom.questions.cutting.rows import Metal
from portgeom.questions.cutting.side import (
    Heights,
    SideAxes,
    SideGrid,
    grid_lines_mm,
    heights_of,
    side_axes,
    side_grid,
)
from portgeom.questions.shape.profile import AreaAt, smallest_area
from portgeom.questions.walls.behind import Behind
from portgeom.questions.walls.stop import stop_depth_mm
from portgeom.questions.walls.walls import CUT_MM, Stretch, Walls, walls


@dataclass(frozen=True, slots=True)
class PassResult:
    """One pass and the port after it.

    Attributes
    ----------
    plan : PlannedPass
    before, after : Surface
        The port as the pass found it and as it left it: surfaces like any other.
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
    walls : Walls
        The metal behind the surface after it.
    left_over_mm : float
        Most metal still over the line along the grooves cut last on that side.
    """

    plan: PlannedPass
    before: Surface
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
    walls: Walls
    left_over_mm: float

    @property
    def worked(self) -> Stretch | None:
        """Return from where to where along the path it takes metal off; None where it takes none."""
        slab = np.flatnonzero((self.after.rho_mm - self.before.rho_mm).max(axis=1) > CUT_MM)
        if not len(slab):
            return None
        distance = self.after.chart.distance_mm
        return Stretch(float(distance[slab[0]]), float(distance[slab[-1]]))


class Bench:
    """One port being worked: what it is now, and what every pass did.

    With ``respect`` no pass goes where less than the least wall would be left to a hazard; with ``told`` what every
    pass leaves of the walls is told.
    """

    def __init__(
        self,
        job: Job,
        port: LoftedPort,
        stage: LoftedStage,
        wanted: Wanted,
        hazards: Sequence[Behind],
        *,
        respect: bool,
        told: bool = True,
    ) -> None:
        self.job, self.port, self.stage, self.wanted = job, port, stage, wanted
        self.hazards, self.respect = tuple(hazards), respect
        self.surface = stage.surface
        self.rays = FineRays.between(port.chart)
        self.fine_mm = self.rays.chords_mm(stage.surface.rho_mm)
        self._wanted_fine_mm = self.rays.chords_mm(wanted.rho_mm)
        self._moments = polygon_moments(stage.surface.points_mm)
        self._union = polygon_moments(port.chart.tips_mm(wanted.rho_mm))
        self._measure_union(np.arange(len(self.fine_mm)))
        self._told = self.hazards if told else ()
        self.walls = walls(port, stage.surface, stage.stage.name, self._told)
        self.grooves: dict[Side, tuple[Groove, ...]] = {}
        self.results: list[PassResult] = []
        self._wanted: dict[Side, SideGrid] = {}
        self._now: dict[Side, Heights] = {}
        self._corner_mm = self._corner_radius_mm()

    def left_over_mm(self, side: Side) -> float:
        """Return the most metal over the line along the grooves cut last on a side; infinite before any."""
        last = next((r for r in reversed(self.results) if r.plan.side == side), None)
        return np.inf if last is None else last.left_over_mm

    def work(self, plan: PlannedPass) -> None:
        """Cut one pass and take down what it did."""
        chart, before = self.port.chart, self.surface
        cut = self._cut(plan)
        more = self._take(cut.fine_mm)
        self.surface = with_distances(before, of_chart(cut.fine_mm), more)
        found = self._now.pop(plan.side, None)
        self._now.clear()
        if plan.kind == "grooves":
            self.grooves[plan.side] = cut.grooves
        self.walls = walls(self.port, self.surface, f"after {plan.name}", self._told, earlier=self.walls)
        volume = float(chart.swept_mm3(more).sum())
        total = volume + (self.results[-1].total_mm3 if self.results else 0.0)
        density, rate = self.job.density_g_cc, plan.cutter.rate_cc_per_min
        grooves = self.grooves.get(plan.side, ())
        self.results.append(
            PassResult(
                plan=plan,
                before=before,
                after=self.surface,
                volume_mm3=volume,
                total_mm3=total,
                mass_g=volume / 1000.0 * density,
                total_g=total / 1000.0 * density,
                minutes=None if rate is None else volume / 1000.0 / rate,
                grooves=cut.grooves,
                rib=self._rib(plan, found, cut.grooves),
                smallest=smallest_area(self.port, self.surface.flow_area_mm2),
                left_mm3=self._left_mm3(),
                walls=self.walls,
                left_over_mm=over_at_grooves_mm(self._metal(plan.side), grooves) if grooves else 0.0,
            )
        )

    def _rib(self, plan: PlannedPass, found: Heights | None, grooves: Sequence[Groove]) -> Rib:
        """Return what stands between the grooves of a side, as the pass found it, once it has cut."""
        if not grooves or found is None:
            return NO_RIB
        if plan.kind == "grooves":
            return ribs_cut(found, grooves, plan.body.radius_mm)
        return ribs_left(self._metal(plan.side).now, grooves, plan.body.radius_mm)

    def _cut(self, plan: PlannedPass) -> Cut:
        chart, fine = self.port.chart, self.fine_mm
        axes = side_axes(chart, plan.side)
        if plan.kind == "grooves":
            metal = self._metal(plan.side)
            metal = replace(metal, stop_mm=self._grid_stop_mm(metal, axes, plan)) if self.respect else metal
            cut = cut_grooves(self.rays, axes, metal, self.wanted, plan, fine)
            cut = replace(cut, grooves=self._with_stops(cut.grooves, metal, axes, plan.body.radius_mm))
        elif plan.kind == "level":
            grooves = self.grooves.get(plan.side, ())
            metal = self._metal(plan.side)
            metal = replace(metal, stop_mm=self._grid_stop_mm(metal, axes, plan)) if self.respect else metal
            cut = Cut(cut_level(self.rays, metal, self.wanted, plan, fine, grooves), grooves)
        else:
            cut = cut_blend(self.rays, self.stage.surface.points_mm, self.wanted, plan, fine)
        return replace(cut, fine_mm=self._held_back(fine, cut.fine_mm)) if self.respect else cut

    def _metal(self, side: Side) -> Metal:
        if side not in self._wanted:
            grid = grid_lines_mm([*self.stage.surface.points_mm, *self.wanted.polygons], side)
            self._wanted[side] = side_grid(self.wanted.polygons, side, grid)
        wanted = self._wanted[side]
        if side not in self._now:
            self._now[side] = heights_of(self.surface.points_mm, side, wanted.along_mm)
        return Metal(self._now[side], wanted, self._corner_mm, np.full(wanted.height_mm.shape, np.inf))

    def _corner_radius_mm(self) -> F64:
        target = next((t for t in self.job.targets if t.name == self.port.port.target), None)
        s = self.port.chart.distance_mm
        given = None if target is None else target.corner_radius
        return np.full(len(s), np.nan) if given is None else along(given, s)

    def _grid_stop_mm(self, metal: Metal, axes: SideAxes, plan: PlannedPass) -> F64:
        """Return how deep (m, k) a side may be cut before a wall is at its limit."""
        height = metal.now.height_mm
        slab, column = np.nonzero(np.isfinite(height))
        stop = np.full(height.shape, np.inf)
        # no pass goes further past the line than its overshoot
        over = np.fmax.reduce(metal.wanted.height_mm - height, axis=None, initial=0.0)
        origin, up = self.port.chart.planes.origin_mm[slab], axes.up[slab]
        across, above = metal.now.along_mm[column, None] * axes.along[slab], height[slab, column, None] * up
        stop[slab, column] = stop_depth_mm(
            origin + across + above, up, self.hazards, deepest_mm=float(over) + plan.overshoot_mm
        )
        return stop

    def _with_stops(
        self, grooves: Sequence[Groove], metal: Metal, axes: SideAxes, radius_mm: float
    ) -> tuple[Groove, ...]:
        """Return grooves that know the depth at which a wall is at its limit, anywhere round the cutter."""
        runs = [np.flatnonzero(g.runs) for g in grooves]
        if not self.hazards or not any(len(r) for r in runs):
            return tuple(grooves)
        chart = self.port.chart
        sheet = Sheet.of(chart, axes, metal.now.along_mm, metal.now.height_mm)
        slabs = np.concatenate(runs)
        along_mm = np.concatenate([g.along_mm[r] for g, r in zip(grooves, runs, strict=True)])
        at = sheet.at_places(Lead.at_slabs(chart, axes, slabs, along_mm))
        stop = stop_depth_mm(at.places_mm, at.out, [h for h in self.hazards if h.readings is not None])
        # a ball as deep as this is as near to a wall as its middle is, less its radius
        round_it = [h.nearer(radius_mm) for h in self.hazards if h.readings is None]
        stop = np.minimum(stop, stop_depth_mm(at.places_mm - radius_mm * at.out, at.out, round_it))
        told = []
        for groove, run, depth in zip(
            grooves, runs, np.split(stop, np.cumsum([len(r) for r in runs])[:-1]), strict=True
        ):
            known = groove.stop_mm.copy()
            known[run] = depth
            told.append(replace(groove, stop_mm=known))
        return tuple(told)

    def _held_back(self, before_fine_mm: F64, after_fine_mm: F64) -> F64:
        """Return distances after a pass, nowhere beyond where a wall is at its limit."""
        after = of_chart(after_fine_mm)
        held = held_back(self.port.chart, of_chart(before_fine_mm), after, self.hazards)
        if held is after:
            return after_fine_mm
        # from ray to ray the wall is drawn straight where either was held back
        bites = held < after
        beside = np.repeat(bites | np.roll(bites, -1, axis=1), PER_RAY, axis=1)
        straight = np.maximum(before_fine_mm, np.minimum(after_fine_mm, self.rays.chords_mm(held)))
        return np.where(beside, straight, after_fine_mm)

    def _take(self, fine_mm: F64) -> Moments:
        """Make these distances the port's, and return what its sections gain; only those changed are measured."""
        slabs = np.flatnonzero((fine_mm > self.fine_mm).any(axis=1))
        moments = _with_rows(self._moments, slabs, self.rays.moments(fine_mm[slabs], slabs))
        more = moments - self._moments
        self.fine_mm, self._moments = fine_mm, moments
        self._measure_union(slabs)
        return more

    def _measure_union(self, slabs: Int) -> None:
        """Measure port and target together at slabs; where the port is nowhere outside it, that is the target."""
        past = slabs[(self.fine_mm[slabs] > self._wanted_fine_mm[slabs]).any(axis=1)]
        union = np.maximum(self.fine_mm[past], self._wanted_fine_mm[past])
        self._union = _with_rows(self._union, past, self.rays.moments(union, past))

    def _left_mm3(self) -> float:
        """Return what stands between the port as it now is and its target."""
        # once nothing is left rounding may fall either way
        return max(0.0, float(self.port.chart.swept_mm3(self._union - self._moments).sum()))


def _with_rows(moments: Moments, rows: Int, new: Moments) -> Moments:
    area, first = moments.area_mm2.copy(), moments.first_mm3.copy()
    area[rows], first[rows] = new.area_mm2, new.first_mm3
    return Moments(area, first)
