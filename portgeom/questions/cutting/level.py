"""How are the ribs between grooves levelled?"""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from portgeom.geometry.arrays import F64, Bool, Int
from portgeom.model.edge import heights_mm
from portgeom.model.wanted import Wanted
from portgeom.questions.cutting.between_rays import FineRays, of_chart
from portgeom.questions.cutting.cuts import Groove, short_of_line_mm
from portgeom.questions.cutting.lead import Lead
from portgeom.questions.cutting.plan import PlannedPass
from portgeom.questions.cutting.rows import Metal
from portgeom.questions.cutting.side import STEP_MM, between_walls_mm, over
from portgeom.questions.cutting.sweep import swept_over_mm

RUN_APART_MM = 0.5
"""How far apart across the cutter is led: the ridges between are under 0.01 mm for a cutter of 10 mm."""

SET_APART_MM = 0.4
"""Slabs nearer to each other share a place at which the cutter is set: a ball of 10 mm loses under 0.01 mm by it."""

BESIDE_WALL = np.array([0.01, 0.04, 0.1, 0.2, 0.35, 0.6])
"""Further runs this far, in shares of RUN_APART_MM, from the outermost, where a corner makes the cutter dive."""

FOOTPRINT = 161
"""Places across a section at which the cutter is held against the line, nearer to each other at the walls."""

ROUGH_SHARE = 0.1
"""Share of the radius by which a look at every eighth of those places may find too much room."""


def cut_level(
    rays: FineRays,
    metal: Metal,
    wanted: Wanted,
    plan: PlannedPass,
    fine_mm: F64,
    grooves: tuple[Groove, ...],
) -> F64:
    """Return distances (m, n * PER_RAY) after the ribs between grooves are levelled, a little below their bottoms.

    Levelling runs where grooves run. Between two grooves the level runs straight across; outside the outermost it
    is carried level. The cutter, as a ball of its radius, is led from wall to wall and touches neither.
    """
    chart, s = rays.chart, rays.chart.distance_mm
    running = np.any([g.runs for g in grooves], axis=0) if grooves else np.zeros(len(s), dtype=bool)
    places = _places_mm(chart.tolerance.length_mm, s, running, plan, grooves)
    if not len(places):
        return fine_mm
    radius = plan.body.radius_mm
    ball = replace(plan.body, shape="ball", length_mm=plan.body.diameter_mm)
    ends = between_walls_mm((metal.now, metal.wanted), radius)
    middle = ends.mean(axis=1)
    lead = Lead.laid(chart, metal.now, places, np.interp(places, s, middle))
    low, high = (np.interp(places, s, end)[:, None] for end in ends.T)
    along = low + _shares(float(np.diff(ends).max())) * (high - low)
    level = _level_mm(metal.now.along_mm, grooves, running)
    axis = _level_axis_mm(metal, plan, level, Lead.laid(chart, metal.now, s, middle))
    at = over(metal.now.along_mm, _rows_at(axis, s, places), along)
    at = _held_off_line_mm(metal, plan, places, s, along, at)
    rho = of_chart(fine_mm)
    after = swept_over_mm(chart, plan.side, lead, along - lead.along_mm[:, None], at, ball, rho)
    slabs = np.flatnonzero((after > rho).any(axis=1))
    bound = short_of_line_mm(chart, wanted, plan, rho, slabs)
    held = rays.chords_mm(np.maximum(rho[slabs], np.minimum(after[slabs], bound)), slabs)
    levelled = fine_mm.copy()
    levelled[slabs] = np.maximum(fine_mm[slabs], held)
    return levelled


def _places_mm(near: float, s: F64, running: Bool, plan: PlannedPass, grooves: tuple[Groove, ...]) -> F64:
    """Return where the cutter is set: at slabs where a groove runs, and where the run begins and ends."""
    if not running.any():
        return np.empty(0)
    first = max(plan.from_mm, float(np.nanmin([g.from_mm for g in grooves])))
    last = min(plan.to_mm, float(np.nanmax([g.to_mm for g in grooves])))
    inside = s[running & (s > first + near) & (s < last - near)]
    apart: list[float] = []
    for place in inside.tolist():
        if not apart or place - apart[-1] >= SET_APART_MM:
            apart.append(place)
    return np.unique([*apart, first, last]) if first <= last else np.empty(0)


def _level_mm(across: F64, grooves: tuple[Groove, ...], running: Bool) -> F64:
    """Return the height (m, k) straight between the groove bottoms of every slab; where none runs, of the nearest."""
    level = np.full((len(running), len(across)), np.nan)
    runs = np.flatnonzero(running)
    for j in runs:
        rows = [g for g in grooves if np.isfinite(g.bottom_mm[j])]
        level[j] = np.interp(across, [g.along_mm[j] for g in rows], [g.bottom_mm[j] for g in rows])
    slabs = np.arange(len(running))
    after = runs[np.clip(np.searchsorted(runs, slabs), 0, len(runs) - 1)]
    before = runs[np.clip(np.searchsorted(runs, slabs, side="right") - 1, 0, len(runs) - 1)]
    return level[np.where(np.abs(after - slabs) < np.abs(before - slabs), after, before)]


def _shares(width_mm: float) -> F64:
    """Return where across, from 0 at the left to 1 at the right, the cutter is led."""
    even = np.linspace(0.0, 1.0, max(1, int(np.ceil(width_mm / RUN_APART_MM))) + 1)
    beside = BESIDE_WALL * RUN_APART_MM / max(width_mm, RUN_APART_MM)
    return np.unique([*even, *beside, *(1.0 - beside)])


def _level_axis_mm(metal: Metal, plan: PlannedPass, level: F64, lead: Lead) -> F64:
    """Return how high (m, k) the ball's centre may be led under the level and where walls are respected."""
    limit = np.fmin(level + plan.overshoot_mm, metal.now.height_mm + metal.stop_mm)
    # where along the side each slab is, and even steps of that
    s = lead.distance_mm
    run = np.concatenate([[0.0], np.cumsum(0.5 * (lead.stretch[1:] + lead.stretch[:-1]) * np.diff(s))])
    even = np.arange(0.0, run[-1] + STEP_MM, STEP_MM)
    at = np.interp(run, even, np.arange(float(len(even))))
    low = np.minimum(at.astype(np.intp), len(even) - 2)
    rows, place = np.unique(np.concatenate([low, low + 1]), return_inverse=True)
    lower, upper = under_ball_mm(_rows_at(limit, run, even), rows, plan.body.radius_mm)[place].reshape(2, len(run), -1)
    share = (at - low)[:, None]
    return (1.0 - share) * lower + share * upper


def under_ball_mm(sheet: F64, rows: Int, radius_mm: float) -> F64:
    """Return how high a ball's middle may be led over some rows of a sheet (p, k) that it must stay under (r, k).

    Rows and columns are STEP_MM apart; beyond its edges the sheet is carried on level.
    """
    reach, columns = int(radius_mm / STEP_MM), sheet.shape[1]
    offset = STEP_MM * np.arange(reach + 1)
    square = radius_mm**2 - offset[:, None] ** 2 - offset**2
    ball = np.sqrt(np.maximum(square, 0.0))
    carried = np.pad(sheet, reach, mode="edge")
    middle, room = np.full((len(rows), columns), np.inf), np.empty((len(rows), columns))
    # a ball is as high ahead as behind and as high to the left as to the right
    for i in range(reach + 1):
        beside = np.minimum(carried[rows + reach - i], carried[rows + reach + i])
        for j in np.flatnonzero(square[i] >= 0.0).tolist():
            left, right = (beside[:, k : k + columns] for k in (reach - j, reach + j))
            np.minimum(left, right, out=room)
            room -= ball[i, j]
            np.minimum(middle, room, out=middle)
    return middle


def _held_off_line_mm(metal: Metal, plan: PlannedPass, places: F64, s: F64, along: F64, axis: F64) -> F64:
    """Return axes (K, p), or as much lower as leaves what is to be left over the line, at places along each section.

    Section by section: what the line does ahead is held off by the line's own bound. Where even a look at every
    eighth place finds room to spare none is taken at all.
    """
    share = 0.5 - 0.5 * np.cos(np.linspace(0.0, np.pi, FOOTPRINT))
    walls = metal.wanted.walls_mm
    across = walls[:, :1] + share * np.diff(walls)
    height = heights_mm(metal.wanted.edges, across)
    across, limit = _rows_at(across, s, places), _rows_at(height, s, places) - plan.leave_mm
    radius = plan.body.radius_mm
    rough = _room_mm(across[:, None, ::8], limit[:, None, ::8], along[..., None], radius)
    place, run = np.nonzero(rough < axis + ROUGH_SHARE * radius)
    held = axis.copy()
    room = _room_mm(across[place], limit[place], along[place, run][:, None], radius)
    held[place, run] = np.minimum(axis[place, run], room)
    return held


def _room_mm(across: F64, limit: F64, along: F64, radius: float) -> F64:
    """Return how high (...) a circle's middle may be led at places along under limits (..., q) at places across."""
    square = radius**2 - (across - along) ** 2
    # the ends of the edge are the walls' own tops, where rounding may leave no height
    chord = np.sqrt(np.where(square >= 0.0, square, np.nan))
    return np.fmin.reduce(limit - chord, axis=-1, initial=np.inf)


def _rows_at(values: F64, places: F64, wanted: F64) -> F64:
    """Return rows (p, k) at places between those of values (m, k)."""
    at = np.interp(wanted, places, np.arange(float(len(places))))
    low = np.minimum(at.astype(np.intp), len(places) - 2)
    share = (at - low)[:, None]
    return (1.0 - share) * values[low] + share * values[low + 1]
