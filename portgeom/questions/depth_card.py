"""Which depths does one set at the bench: at every mark along the port, for every groove?"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from portgeom.geometry.arrays import F64
from portgeom.job.units import mm_per_unit
from portgeom.job.values import Side, Units
from portgeom.model.wanted import Wanted
from portgeom.questions.bench import PassResult
from portgeom.questions.places import BenchScale, bench_scale
from portgeom.questions.rows import groove_width_mm
from portgeom.questions.side import grid_lines_mm, side_grid

MOST_MARKS = 8
"""Marks on one card: as many as fit a page in large type."""

STEPS: dict[Units, tuple[float, ...]] = {
    "mm": (5.0, 10.0, 15.0, 20.0, 25.0, 40.0, 50.0, 100.0),
    "in": (0.25, 0.5, 0.75, 1.0, 1.5, 2.0, 4.0),
}
"""Steps between marks, in the units a rule is marked in."""

OPPOSITE: dict[Side, Side] = {"roof": "floor", "floor": "roof", "left": "right", "right": "left"}


@dataclass(frozen=True, slots=True)
class CardRow:
    """One groove at one mark.

    Attributes
    ----------
    row : int
        From the left, looking in; on a side wall from the floor up.
    across_mm : float
        To the right of the path; on a side wall the height above it.
    depth_mm : float
        Set depth below the metal as it was before the pass, along its normal.
    left_mm : float
        From the groove's bottom to the line.
    width_mm : float
        Of the groove at the surface.
    opposite_mm : float
        From the opposite side to the groove's bottom: the size that can be gauged when the ribs are gone.
    finish_mm : float
        The same size once the side is at the line.
    stop_mm : float
        Depth at which a wall behind is at its limit; infinite where none is.
    """

    row: int
    across_mm: float
    depth_mm: float
    left_mm: float
    width_mm: float
    opposite_mm: float
    finish_mm: float
    stop_mm: float


@dataclass(frozen=True, slots=True)
class CardMark:
    """One mark: where it is three ways, and the grooves that run there."""

    distance_mm: float
    square_mm: float
    along_roof_mm: float
    rows: tuple[CardRow, ...]


def depth_card(result: PassResult, wanted: Wanted, units: Units) -> tuple[CardMark, ...]:
    """Return the marks of a groove pass, at most eight, on whole steps of the rule; no grooves, no marks."""
    if result.plan.kind != "grooves" or not any(g.runs.any() for g in result.grooves):
        return ()
    chart = result.after.chart
    side = result.plan.side
    facing = _Facing(result, wanted)
    scale = bench_scale(result.after)
    runs = np.any([g.runs for g in result.grooves], axis=0)
    marks = [_mark(result, facing, scale, chart.slab_at(s)) for s in _mark_places(chart.distance_mm[runs], units)]
    turned_over = side in ("floor", "right")
    return tuple(_reversed(m) if turned_over else m for m in marks if m.rows)


class _Facing:
    """Heights of the wanted side and of the opposite one, over the grid of the side."""

    def __init__(self, result: PassResult, wanted: Wanted) -> None:
        side = result.plan.side
        opposite = OPPOSITE[side]
        now = list(result.after.points_mm)
        grid = grid_lines_mm([*now, *wanted.polygons], side)
        self.wanted = side_grid(list(wanted.polygons), side, grid)
        # a half turn runs the grid the other way and counts heights downwards
        self.opposite = side_grid(now, opposite, -grid[::-1])

    def line_mm(self, slab: int, along: float) -> float:
        return float(np.interp(along, self.wanted.along_mm, self.wanted.height_mm[slab]))

    def opposite_mm(self, slab: int, along: float) -> float:
        return -float(np.interp(-along, self.opposite.along_mm, self.opposite.height_mm[slab]))


def _mark(result: PassResult, facing: _Facing, scale: BenchScale, slab: int) -> CardMark:
    s = float(result.after.chart.distance_mm[slab])
    sign = -1.0 if result.plan.side in ("floor", "right") else 1.0
    rows = []
    for number, groove in enumerate(result.grooves, 1):
        if not groove.runs[slab]:
            continue
        along, bottom = float(groove.along_mm[slab]), float(groove.bottom_mm[slab])
        depth = float(groove.depth_mm[slab])
        line, far = facing.line_mm(slab, along), facing.opposite_mm(slab, along)
        rows.append(
            CardRow(
                row=number,
                across_mm=sign * along,
                depth_mm=depth,
                left_mm=line - bottom,
                width_mm=float(groove_width_mm(result.plan.body.radius_mm, np.array(depth))),
                opposite_mm=bottom - far,
                finish_mm=line - far,
                stop_mm=float(groove.stop_mm[slab]),
            )
        )
    return CardMark(s, scale.square_at(s), scale.along_roof_at(s), tuple(rows))


def _reversed(mark: CardMark) -> CardMark:
    """Return a mark whose rows are counted from the left looking in, or from the floor up."""
    rows = [replace(r, row=k) for k, r in enumerate(reversed(mark.rows), 1)]
    return CardMark(mark.distance_mm, mark.square_mm, mark.along_roof_mm, tuple(rows))


def _mark_places(run_mm: F64, units: Units) -> F64:
    """Return round distances within a run, as many as fit."""
    first, last, unit = float(run_mm[0]), float(run_mm[-1]), mm_per_unit(units)
    for step in STEPS[units]:
        marks = step * unit * np.arange(np.ceil(first / (step * unit)), np.floor(last / (step * unit)) + 1.0)
        if len(marks) <= MOST_MARKS:
            return marks if len(marks) else np.array([0.5 * (first + last)])
    return np.linspace(first, last, MOST_MARKS)
