"""What does one pass cut: grooves, or blending to the line?"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from portgeom.geometry.arrays import F64, Bool, Int
from portgeom.geometry.chart import Chart
from portgeom.geometry.rays import read_outlines
from portgeom.geometry.union import padded
from portgeom.model.wanted import Wanted
from portgeom.questions.cutting.between_rays import FineRays, of_chart
from portgeom.questions.cutting.lead import Lead, Set, Sheet, axis_at_depth_mm, axis_below_mm, depth_of_mm
from portgeom.questions.cutting.plan import PlannedPass
from portgeom.questions.cutting.rows import Metal, SetRow, set_rows
from portgeom.questions.cutting.side import STEP_MM, TURN, SideAxes, over
from portgeom.questions.cutting.sweep import swept

SHALLOW_MM = 2.0
"""Grooves shallower than this are set twice as close."""

TOGETHER_MM = 0.3
"""Slabs this near need no place between them."""


@dataclass(frozen=True, slots=True)
class Groove:
    """One groove as cut.

    Attributes
    ----------
    along_mm : (m,) float
        Where its bottom runs along the side.
    bottom_mm : (m,) float
        Height of its bottom, NaN where it does not run.
    depth_mm : (m,) float
        Below the metal as it was, along its normal; NaN likewise.
    stop_mm : (m,) float
        Depth at which a wall is at its limit; infinite where none is.
    from_mm, to_mm : float
        First and last place at which the cutter is set, NaN where it nowhere is.
    """

    along_mm: F64
    bottom_mm: F64
    depth_mm: F64
    stop_mm: F64
    from_mm: float
    to_mm: float

    @property
    def runs(self) -> Bool:
        """Return where (m,) the groove runs."""
        return np.isfinite(self.bottom_mm)

    def at(self, slabs_mm: F64, distance_mm: float) -> GrooveAt:
        """Return the groove at a distance between slabs (m,); it runs where it does at one of the two beside."""
        after = int(np.clip(np.searchsorted(slabs_mm, distance_mm), 1, len(slabs_mm) - 1))
        beside = np.array([after - 1, after])
        share = (distance_mm - slabs_mm[beside[0]]) / (slabs_mm[beside[1]] - slabs_mm[beside[0]])
        weight = np.where(self.runs[beside], [1.0 - share, share], 0.0)
        if weight.sum() == 0.0:
            return GrooveAt(False, np.nan, np.nan, np.nan, np.nan)
        counts = beside[weight > 0.0]
        weight = weight[weight > 0.0] / weight.sum()
        along, bottom, depth = (float(weight @ v[counts]) for v in (self.along_mm, self.bottom_mm, self.depth_mm))
        stop = self.stop_mm[counts]
        return GrooveAt(True, along, bottom, depth, float(weight @ stop if np.isfinite(stop).all() else stop.min()))


@dataclass(frozen=True, slots=True)
class GrooveAt:
    """A groove at one place along the path: as ``Groove``, NaN where it does not run."""

    runs: bool
    along_mm: float
    bottom_mm: float
    depth_mm: float
    stop_mm: float


@dataclass(frozen=True, slots=True)
class Cut:
    """What a pass leaves: distances (m, n * PER_RAY) along all rays, and its grooves if it cuts any."""

    fine_mm: F64
    grooves: tuple[Groove, ...]


def cut_grooves(rays: FineRays, axes: SideAxes, metal: Metal, wanted: Wanted, plan: PlannedPass, fine_mm: F64) -> Cut:
    """Return the port after grooves, each the sweep of the cutter along its row, ends included."""
    chart, along = rays.chart, metal.now.along_mm
    now = Sheet.of(chart, axes, along, metal.now.height_mm)
    line = np.fmin(metal.wanted.height_mm - plan.leave_mm, metal.now.height_mm + metal.stop_mm)
    limit = Sheet.of(chart, axes, along, np.where(np.isinf(line), np.nan, line))
    fine, grooves = fine_mm, []
    for row in set_rows(metal, plan, chart.distance_mm):
        places = _places_mm(chart, row, plan)
        if not len(places):
            grooves.append(_no_groove(row))
            continue
        middle = _middle_mm(metal, row, plan)
        lead = Lead.laid(chart, metal.now, places, np.interp(places, chart.distance_mm, middle))
        depth = np.interp(places, chart.distance_mm, np.nan_to_num(row.depth_mm))
        as_set = axis_at_depth_mm(now, lead, plan.body, depth)
        axis = axis_below_mm(limit, lead, plan.body, as_set)
        limited = axis < as_set - chart.tolerance.length_mm
        if limited.any():
            at_most = Set(depth[limited], as_set[limited])
            depth[limited] = depth_of_mm(now, lead.chosen(limited), plan.body, axis[limited], at_most)
        cuts = np.isfinite(axis) & (depth > 0.0)
        if not cuts.any():
            grooves.append(_no_groove(row))
            continue
        cut = swept(rays, plan.side, lead.chosen(cuts), axis[cuts], row.along_mm, plan.body, fine)
        fine = cut.fine_mm
        runs = row.active & (cut.top_mm > metal.now.at(row.along_mm))
        # no lower than the section is let go below
        bottom = np.fmin(cut.top_mm, over(along, line, row.along_mm[:, None])[:, 0])
        deep = np.interp(chart.distance_mm, places[cuts], depth[cuts])
        grooves.append(
            replace(
                _no_groove(row),
                bottom_mm=np.where(runs, bottom, np.nan),
                depth_mm=np.where(runs, deep, np.nan),
                from_mm=float(places[cuts][0]),
                to_mm=float(places[cuts][-1]),
            )
        )
    slabs = np.flatnonzero((fine > fine_mm).any(axis=1))
    bound = rays.chords_mm(short_of_line_mm(chart, wanted, plan, of_chart(fine_mm), slabs), slabs)
    held = fine_mm.copy()
    held[slabs] = np.maximum(fine_mm[slabs], np.minimum(fine[slabs], bound))
    return Cut(held, tuple(grooves))


def cut_blend(rays: FineRays, now_mm: F64, wanted: Wanted, plan: PlannedPass, fine_mm: F64) -> Cut:
    """Return the port after a side is blended to the line, or to as much short of it as the pass leaves.

    ``now_mm`` (m, n, 2) are the sections as first measured: their walls part the sides.
    """
    chart, rho = rays.chart, of_chart(fine_mm)
    beyond = np.maximum(np.maximum(plan.from_mm - chart.distance_mm, chart.distance_mm - plan.to_mm), 0.0)
    radius = plan.body.radius_mm
    here = np.flatnonzero(beyond < radius)
    # past the ends of its run the cutter leaves its own radius
    leave = plan.leave_mm + radius - np.sqrt(np.maximum(radius**2 - beyond**2, 0.0))
    bound = short_of_line_mm(chart, wanted, plan, rho, here, leave_mm=leave)
    near = chart.tolerance.length_mm
    mine = _side_rays(now_mm[here], chart.tips_mm(wanted.rho_mm)[here], chart.centre_mm[here], plan, near)
    after = np.where(mine, np.maximum(rho[here], bound), rho[here])
    blended = fine_mm.copy()
    blended[here] = np.maximum(fine_mm[here], rays.chords_mm(after, here))
    return Cut(blended, ())


def trail_mm(plan: PlannedPass) -> float:
    """Return how long a straight part of the cutter trails behind where its widest part begins."""
    z = np.linspace(0.0, plan.body.head_mm, 201)
    widest = z[plan.body.radius_at_mm(z) >= plan.body.radius_mm * (1.0 - 1e-6)]
    return float(widest.max() - plan.body.widest_mm) if len(widest) else 0.0


def _middle_mm(metal: Metal, row: SetRow, plan: PlannedPass) -> F64:
    """Return where along the side (m,) the cutter's middle is led, so that its groove lies on the row.

    Where the side leans to its planes the cutter touches it beside its middle. The lean is that of the wanted side:
    no one steers round a boss.
    """
    wanted, place = metal.wanted, row.along_mm[:, None]
    beside = np.concatenate([place - STEP_MM, place + STEP_MM], axis=1)
    left, right = over(wanted.along_mm, wanted.height_mm, beside).T
    slope = np.nan_to_num((right - left) / (2.0 * STEP_MM))
    inside = plan.body.radius_mm - np.nan_to_num(row.depth_mm)
    return row.along_mm + inside * slope / np.hypot(1.0, slope)


def _places_mm(chart: Chart, row: SetRow, plan: PlannedPass) -> F64:
    """Return where the cutter is set along a row: at slabs, and where its run begins and ends.

    A long straight body trails behind its widest part into the run. Over a flank a ball touches beside where it
    is set, and its places leave ridges of up to 0.006 mm for a cutter of 10 mm: under a shallow groove that is a
    percent, so there it is set halfway between slabs too.
    """
    s = chart.distance_mm
    first, last = plan.from_mm + trail_mm(plan), plan.to_mm
    near = chart.tolerance.length_mm
    places = s[row.active & (s > first + near) & (s < last - near)]
    ends = [end for end in (first, last) if first <= last and row.stands[chart.slab_at(end)]]
    shallow = np.nan_to_num(row.depth_mm) < SHALLOW_MM
    both = row.active[:-1] & row.active[1:] & (np.diff(s) > TOGETHER_MM) & (shallow[:-1] | shallow[1:])
    halves = (0.5 * (s[:-1] + s[1:]))[both]
    return np.unique([*places, *halves[(halves > first) & (halves < last)], *ends])


def _no_groove(row: SetRow) -> Groove:
    nowhere = np.full(len(row.along_mm), np.nan)
    return Groove(row.along_mm, nowhere, nowhere, np.full(len(nowhere), np.inf), np.nan, np.nan)


def short_of_line_mm(
    chart: Chart, wanted: Wanted, plan: PlannedPass, rho_mm: F64, slabs: Int, *, leave_mm: F64 | None = None
) -> F64:
    """Return distances (k, n) at slabs (k,) of the wanted sections moved back by what is left of a side.

    What is left (m,) is what the pass leaves, where not given. Where so little is wanted that nothing of the
    section would stay, the distances are those it has, ``rho_mm`` (m, n).
    """
    leave = np.full(len(rho_mm), plan.leave_mm) if leave_mm is None else leave_mm
    bound = wanted.rho_mm[slabs]
    moved = np.flatnonzero(leave[slabs] > 0.0)
    if len(moved):
        back = np.array([0.0, -1.0]) @ TURN[plan.side]
        at = slabs[moved]
        sections = padded([wanted.polygons[j] + leave[j] * back for j in at])
        reading = read_outlines(chart.rays, sections, chart.centre_mm[at], chart.half_mm[at])
        bound[moved] = np.where(reading.inside[:, None], reading.rho_mm, rho_mm[at])
    return bound


def _side_rays(now: F64, target: F64, centre: F64, plan: PlannedPass, near: float) -> Bool:
    """Return which rays (k, n) end on one side of the wanted section, parted by the present walls.

    An upright wall carried on up or down stands where it stood, but for a rounding, and is roof or floor.
    """
    u, v = target[..., 0], target[..., 1]
    low, high = now[..., 0].min(axis=1)[:, None] - near, now[..., 0].max(axis=1)[:, None] + near
    match plan.side:
        case "left":
            return u < low
        case "right":
            return u > high
        case "roof":
            return (u >= low) & (u <= high) & (v >= centre[:, 1:])
        case "floor":
            return (u >= low) & (u <= high) & (v < centre[:, 1:])
