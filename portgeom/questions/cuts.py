"""What does one pass cut: grooves, levelling, or blending to the line?"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from portgeom.geometry.arrays import F64, Bool
from portgeom.geometry.chart import Chart
from portgeom.geometry.rays import read_outlines
from portgeom.geometry.union import padded
from portgeom.job.values import Side
from portgeom.model.reshape import lifted
from portgeom.model.wanted import Wanted
from portgeom.questions.plan import PlannedPass
from portgeom.questions.rows import Metal, SetRow, set_rows
from portgeom.questions.side import STEP_MM, TURN, SideAxes, turned
from portgeom.questions.sweep import Run, highest_axis_mm, swept_rho_mm


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
    """

    along_mm: F64
    bottom_mm: F64
    depth_mm: F64
    stop_mm: F64

    @property
    def runs(self) -> Bool:
        """Return where (m,) the groove runs."""
        return np.isfinite(self.bottom_mm)


@dataclass(frozen=True, slots=True)
class Cut:
    """What a pass leaves: distances (m, n), and its grooves if it cuts any."""

    rho_mm: F64
    grooves: tuple[Groove, ...]


def cut_grooves(chart: Chart, axes: SideAxes, metal: Metal, wanted: Wanted, plan: PlannedPass, rho_mm: F64) -> Cut:
    """Return the port after grooves, each the sweep of the cutter along its row, ends included."""
    slope = _normal_share(metal, chart.distance_mm)
    limit_line = metal.wanted.height_mm - plan.leave_mm
    bound = _shifted_rho_mm(chart, wanted, plan.side, np.full(len(rho_mm), plan.leave_mm), rho_mm)
    rho, grooves = rho_mm, []
    for row in set_rows(metal, plan, chart.distance_mm):
        deepest = metal.now.height_mm + np.minimum(row.depth_mm[:, None] / slope, metal.stop_mm)
        limit = np.fmin(deepest, limit_line)
        axis = highest_axis_mm(limit, metal.now.along_mm, chart.distance_mm, row.along_mm, plan.body)
        axis = np.where(row.active & np.isfinite(axis), axis, np.nan)
        rho = swept_rho_mm(chart, axes, Run(row.along_mm, axis, _led(chart, row, plan)), plan.body, rho)
        grooves.append(_groove(metal, row, axis + plan.body.radius_mm, slope))
    return Cut(np.maximum(rho_mm, np.minimum(rho, bound)), tuple(grooves))


def cut_level(
    chart: Chart, metal: Metal, wanted: Wanted, plan: PlannedPass, rho_mm: F64, grooves: tuple[Groove, ...]
) -> Cut:
    """Return the port after the ribs between the latest grooves are levelled, a little below their bottoms.

    Levelling runs where grooves run. Between two grooves the level runs straight across; outside the
    outermost it is carried level. The cutter's own radius is left where it must stop.
    """
    s, across = chart.distance_mm, metal.now.along_mm
    level = _level_mm(across, grooves, len(s)) + plan.overshoot_mm
    level = np.fmin(level, metal.wanted.height_mm - plan.leave_mm)
    level = np.fmin(level, metal.now.height_mm + metal.stop_mm)
    here = ((s >= plan.from_mm - 1e-9) & (s <= plan.to_mm + 1e-9))[:, None]
    span = metal.wanted.span_mm
    here = here & (across >= span[:, :1]) & (across <= span[:, 1:])
    may = np.where(here & np.isfinite(level), np.fmax(level, metal.now.height_mm), metal.now.height_mm)
    reached = _opened(may, s, plan)
    raised = np.fmax(metal.now.height_mm, np.fmin(reached, may))
    rho = _raised_rho_mm(chart, metal, plan, raised, rho_mm)
    bound = _shifted_rho_mm(chart, wanted, plan.side, np.full(len(rho_mm), plan.leave_mm), rho_mm)
    return Cut(np.maximum(rho_mm, np.minimum(rho, bound)), grooves)


def cut_blend(chart: Chart, now_mm: F64, wanted: Wanted, plan: PlannedPass, rho_mm: F64) -> Cut:
    """Return the port after a side is blended to the line, or to as much short of it as the pass leaves.

    ``now_mm`` (m, n, 2) are the sections as first measured: their walls part the sides.
    """
    beyond = np.maximum(np.maximum(plan.from_mm - chart.distance_mm, chart.distance_mm - plan.to_mm), 0.0)
    radius = plan.body.radius_mm
    here = beyond < radius
    # past the ends of its run the cutter leaves its own radius
    leave = plan.leave_mm + radius - np.sqrt(np.maximum(radius**2 - beyond**2, 0.0))
    mine = _side_rays(now_mm, chart.tips_mm(wanted.rho_mm), chart, plan) & here[:, None]
    bound = _shifted_rho_mm(chart, wanted, plan.side, leave, rho_mm) if leave[here].any() else wanted.rho_mm
    return Cut(np.where(mine, np.maximum(rho_mm, bound), rho_mm), ())


def _led(chart: Chart, row: SetRow, plan: PlannedPass) -> Bool:
    """Return where the cutter's widest part is led: a long straight body trails behind it into the run."""
    z = np.linspace(0.0, plan.body.head_mm, 201)
    widest = z[plan.body.radius_at_mm(z) >= plan.body.radius_mm * (1.0 - 1e-6)]
    trail = float(widest.max() - plan.body.widest_mm) if len(widest) else 0.0
    return row.active & (chart.distance_mm >= plan.from_mm + trail - 1e-9)


def _groove(metal: Metal, row: SetRow, bottom: F64, slope: F64) -> Groove:
    now = metal.now.at(row.along_mm)
    share = np.array([np.interp(a, metal.now.along_mm, r) for a, r in zip(row.along_mm, slope, strict=True)])
    depth = (bottom - now) * share
    cut = np.nan_to_num(depth, nan=-1.0) > 0.0
    return Groove(
        row.along_mm, np.where(cut, bottom, np.nan), np.where(cut, depth, np.nan), np.full(len(depth), np.inf)
    )


def _normal_share(metal: Metal, s: F64) -> F64:
    """Return the cosine between up and the metal's normal (m, k), at least that of 60 degrees."""
    height = metal.now.height_mm
    sideways = np.gradient(height, STEP_MM, axis=1)
    ahead = np.gradient(height, s, axis=0)
    share = 1.0 / np.sqrt(1.0 + sideways**2 + ahead**2)
    return np.clip(np.nan_to_num(share, nan=1.0), 0.5, 1.0)


def _level_mm(across: F64, grooves: tuple[Groove, ...], slabs: int) -> F64:
    """Return the height (m, k) straight between the groove bottoms of every slab, NaN where none runs."""
    level = np.full((slabs, len(across)), np.nan)
    for j in range(slabs):
        rows = [g for g in grooves if np.isfinite(g.bottom_mm[j])]
        if rows:
            level[j] = np.interp(across, [g.along_mm[j] for g in rows], [g.bottom_mm[j] for g in rows])
    return level


def _opened(limit: F64, s: F64, plan: PlannedPass) -> F64:
    """Return the highest surface (m, k) that a ball of the cutter's radius can cut without passing a limit."""
    radius = plan.body.radius_mm
    step = float(np.diff(s).mean())
    rows, columns = int(radius / step), int(radius / STEP_MM)
    ds, da = np.meshgrid(step * np.arange(-rows, rows + 1), STEP_MM * np.arange(-columns, columns + 1), indexing="ij")
    square = radius**2 - ds**2 - da**2
    from scipy import ndimage

    inside = square >= 0.0
    ball = np.where(inside, np.sqrt(np.maximum(square, 0.0)) - radius, 0.0)
    far = float(np.nanmax(limit)) + 10.0 * radius
    raised = np.where(np.isnan(limit), far, limit)
    axis = ndimage.grey_erosion(raised, footprint=inside, structure=ball, mode="nearest")
    return ndimage.grey_dilation(axis, footprint=inside, structure=ball, mode="nearest")


def _raised_rho_mm(chart: Chart, metal: Metal, plan: PlannedPass, height: F64, rho_mm: F64) -> F64:
    """Return distances of sections whose side has been raised to a height over the grid."""
    lift = np.nan_to_num(height - metal.now.height_mm)
    changed = np.flatnonzero((lift > chart.tolerance.length_mm).any(axis=1))
    rho = rho_mm.copy()
    if len(changed):
        now = turned(chart.tips_mm(rho_mm), plan.side)
        raised = [lifted(now[j], metal.now.along_mm, lift[j]) @ TURN[plan.side] for j in changed]
        reading = read_outlines(chart.rays, padded(raised), chart.centre_mm[changed], chart.half_mm[changed])
        rho[changed] = np.maximum(rho[changed], reading.rho_mm)
    return rho


def _shifted_rho_mm(chart: Chart, wanted: Wanted, side: Side, leave_mm: F64, rho_mm: F64) -> F64:
    """Return distances of the wanted sections moved back by what is left (m,) of a side."""
    back = np.array([0.0, -1.0]) @ TURN[side]
    sections = padded([p + leave * back for p, leave in zip(wanted.polygons, leave_mm, strict=True)])
    reading = read_outlines(chart.rays, sections, chart.centre_mm, chart.half_mm)
    return np.where(reading.inside[:, None], reading.rho_mm, rho_mm)


def _side_rays(now: F64, target: F64, chart: Chart, plan: PlannedPass) -> Bool:
    """Return which rays (m, n) end on one side of the wanted section, parted by the present walls."""
    middle = chart.centre_mm[:, None, :]
    u, v = target[..., 0], target[..., 1]
    low, high = now[..., 0].min(axis=1)[:, None], now[..., 0].max(axis=1)[:, None]
    match plan.side:
        case "left":
            return u < low
        case "right":
            return u > high
        case "roof":
            return (u >= low) & (u <= high) & (v >= middle[..., 1])
        case "floor":
            return (u >= low) & (u <= high) & (v < middle[..., 1])
