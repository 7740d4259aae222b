"""How many grooves, where across, how deep, and how long does each run?"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from portgeom.geometry.arrays import F64, Bool
from portgeom.questions.cutting.plan import FIRST_SHARE, RIB_SHARE, PlannedPass, usual_depth_mm
from portgeom.questions.cutting.side import Heights, SideGrid

APART_MM = 1.0
"""No hand cuts two grooves that lie nearer to each other."""


@dataclass(frozen=True, slots=True)
class Metal:
    """One side as it is and as it is wanted, over the same grid.

    Attributes
    ----------
    now : Heights
    wanted : SideGrid
    corner_mm : (m,) float
        Wanted corner radius, NaN where none is given and the section's own counts.
    stop_mm : (m, k) float
        How deep one may cut before a wall is too thin, infinite where walls are not to be respected.
    """

    now: Heights
    wanted: SideGrid
    corner_mm: F64
    stop_mm: F64


@dataclass(frozen=True, slots=True)
class SetRow:
    """One groove before it is cut.

    Attributes
    ----------
    along_mm : (m,) float
        Where it runs along the side.
    depth_mm : (m,) float
        Set depth along the normal of the metal.
    stands : (m,) bool
        Where enough metal stands over the line to be worth a groove.
    active : (m,) bool
        Where it does within the pass's run.
    """

    along_mm: F64
    depth_mm: F64
    stands: Bool
    active: Bool


def set_rows(metal: Metal, plan: PlannedPass, distance_mm: F64) -> tuple[SetRow, ...]:
    """Return the rows of a groove pass, from left to right as the side is seen with it up.

    Corners first, one corner radius in from each wall and never nearer than the cutter's radius; between
    them the fewest rows that leave ribs no wider than the cutter levels. An inner row runs only where
    the ribs would else be too wide, or where the metal beside it is too thin for a corner row.
    """
    in_run = (distance_mm >= plan.from_mm - 1e-9) & (distance_mm <= plan.to_mm + 1e-9)
    places = _places(metal, plan, in_run)
    rows = [_row(metal, plan, in_run, along) for along in places]
    if plan.across_mm:
        return tuple(rows)
    # in a narrow place rows fall together, and are one
    for k in range(1, len(rows)):
        apart = places[k] - places[k - 1] >= APART_MM
        rows[k] = replace(rows[k], stands=rows[k].stands & apart, active=rows[k].active & apart)
    if plan.rows is not None:
        return tuple(rows)
    rib = (places[-1] - places[0]) - _groove_width_mm(metal, plan)
    needed = (rib > RIB_SHARE * plan.body.diameter_mm) | ~(rows[0].active & rows[-1].active)
    inner = [replace(r, stands=r.stands & needed, active=r.active & needed) for r in rows[1:-1]]
    return (rows[0], *inner, rows[-1])


def _places(metal: Metal, plan: PlannedPass, in_run: Bool) -> list[F64]:
    if plan.across_mm:
        sign = -1.0 if plan.side in ("floor", "right") else 1.0
        return [np.full(len(in_run), a) for a in sorted(sign * a for a in plan.across_mm)]
    wall, now = metal.wanted.walls_mm, metal.now.walls_mm
    given, radius = metal.corner_mm[:, None], plan.body.radius_mm
    own = metal.wanted.corner_mm if np.isnan(given).any() else given
    inset = np.maximum(np.where(np.isnan(given), own, given), radius)
    # nor does the cutter touch a side wall that still stands where it will be moved out
    first = np.maximum(wall[:, 0] + inset[:, 0], now[:, 0] + radius)
    last = np.minimum(wall[:, 1] - inset[:, -1], now[:, 1] - radius)
    crossed = first > last
    middle = 0.5 * (wall[:, 0] + wall[:, 1])
    first, last = np.where(crossed, middle, first), np.where(crossed, middle, last)
    count = plan.rows if plan.rows is not None else _fewest(metal, plan, last - first, in_run)
    if count == 1:
        return [middle]
    share = np.linspace(0.0, 1.0, count)
    return [first + f * (last - first) for f in share]


def _fewest(metal: Metal, plan: PlannedPass, span: F64, in_run: Bool) -> int:
    """Return the fewest rows that leave no rib wider than its share of the cutter, at least three."""
    if not in_run.any():
        return 3
    width = _groove_width_mm(metal, plan)
    gaps = np.ceil(span[in_run] / (width[in_run] + RIB_SHARE * plan.body.diameter_mm))
    return max(3, int(gaps.max()) + 1)


def groove_width_mm(radius_mm: float, depth_mm: F64) -> F64:
    """Return how wide a groove is at the surface: the chord of a circle at a depth; its diameter if deeper."""
    depth = np.clip(np.nan_to_num(depth_mm), 0.0, radius_mm)
    return 2.0 * np.sqrt(2.0 * radius_mm * depth - depth**2)


def _groove_width_mm(metal: Metal, plan: PlannedPass) -> F64:
    """Return how wide a groove would be (m,), set as deep as it would be in the middle."""
    middle = 0.5 * metal.wanted.walls_mm.sum(axis=1)
    return groove_width_mm(plan.body.radius_mm, _depth_mm(metal, plan, middle))


def _depth_mm(metal: Metal, plan: PlannedPass, along: F64) -> F64:
    over = metal.wanted.at(along) - metal.now.at(along)
    if plan.depth_mm is not None:
        return np.full(len(along), plan.depth_mm)
    return np.minimum(FIRST_SHARE * over, usual_depth_mm(plan.body))


def _row(metal: Metal, plan: PlannedPass, in_run: Bool, along: F64) -> SetRow:
    over = metal.wanted.at(along) - metal.now.at(along)
    deep_enough = np.nan_to_num(over, nan=-1.0) > max(plan.least_metal_mm, plan.leave_mm)
    return SetRow(along, _depth_mm(metal, plan, along), deep_enough, in_run & deep_enough)
