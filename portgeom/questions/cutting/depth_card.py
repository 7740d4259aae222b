"""Which depths does one set at the bench: at every mark along the port, for every groove?"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np

from portgeom.geometry.arrays import F64
from portgeom.job.units import mm_per_unit
from portgeom.job.values import Side, Units
from portgeom.model.edge import upper_edge
from portgeom.model.wanted import Wanted
from portgeom.questions.cutting.bench import PassResult
from portgeom.questions.cutting.cuts import Groove
from portgeom.questions.cutting.rows import groove_width_mm
from portgeom.questions.cutting.side import turned
from portgeom.questions.shape.places import BenchScale, bench_scale

MOST_MARKS = 8
"""Marks on one card: as many as fit a page in large type."""

STEPS: dict[Units, tuple[float, ...]] = {
    "mm": (5.0, 10.0, 15.0, 20.0, 25.0, 40.0, 50.0, 100.0),
    "in": (0.25, 0.5, 0.75, 1.0, 1.5, 2.0, 4.0),
}
"""Steps between marks, in the units a rule is marked in."""

ON_MARK = 1e-6
"""A run that ends this share of a step short of a mark reaches it."""

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
    facing = _Facing(result, wanted)
    # marks are made on the metal as it is before the pass
    scale = bench_scale(result.before)
    marks = [_mark(result, facing, scale, float(s)) for s in _mark_places(result.grooves, units)]
    return tuple(m for m in marks if m.rows)


class _Facing:
    """Heights of the wanted side and of the opposite one, at any place along the path and the side."""

    def __init__(self, result: PassResult, wanted: Wanted) -> None:
        self.side = result.plan.side
        self.distance_mm = result.after.chart.distance_mm
        self.now, self.wanted = result.after.points_mm, wanted.polygons

    def line_mm(self, distance_mm: float, along: float) -> float:
        """Return the height of the line."""
        return self._between(distance_mm, lambda slab: _height_mm(self.wanted[slab], self.side, along))

    def opposite_mm(self, distance_mm: float, along: float) -> float:
        """Return the height of the opposite side, which is below."""
        # a half turn runs the side the other way and counts heights downwards
        far = OPPOSITE[self.side]
        return self._between(distance_mm, lambda slab: -_height_mm(self.now[slab], far, -along))

    def _between(self, distance_mm: float, height: Callable[[int], float]) -> float:
        before = int(np.clip(np.searchsorted(self.distance_mm, distance_mm, side="right") - 1, 0, len(self.now) - 2))
        slabs = [before, before + 1]
        return float(np.interp(distance_mm, self.distance_mm[slabs], [height(j) for j in slabs]))


def _height_mm(section_mm: F64, side: Side, along: float) -> float:
    return float(upper_edge(turned(section_mm, side)).height_mm(np.array([along]))[0])


def _mark(result: PassResult, facing: _Facing, scale: BenchScale, distance_mm: float) -> CardMark:
    turned_over = result.plan.side in ("floor", "right")
    rows = []
    for number, groove in enumerate(result.grooves, 1):
        at = groove.at(result.after.chart.distance_mm, distance_mm)
        if not at.runs:
            continue
        line, far = (f(distance_mm, at.along_mm) for f in (facing.line_mm, facing.opposite_mm))
        rows.append(
            CardRow(
                # rows are counted from the left looking in, or from the floor up
                row=len(result.grooves) + 1 - number if turned_over else number,
                across_mm=-at.along_mm if turned_over else at.along_mm,
                depth_mm=at.depth_mm,
                left_mm=line - at.bottom_mm,
                width_mm=float(groove_width_mm(result.plan.body.radius_mm, np.array(at.depth_mm))),
                opposite_mm=at.bottom_mm - far,
                finish_mm=line - far,
                stop_mm=at.stop_mm,
            )
        )
    rows.sort(key=lambda r: r.row)
    return CardMark(distance_mm, scale.square_at(distance_mm), scale.along_roof_at(distance_mm), tuple(rows))


def _mark_places(grooves: Sequence[Groove], units: Units) -> F64:
    """Return round distances where grooves run, as many as fit."""
    cut = [g for g in grooves if g.runs.any()]
    first, last, unit = min(g.from_mm for g in cut), max(g.to_mm for g in cut), mm_per_unit(units)
    for step in STEPS[units]:
        low, high = first / (step * unit), last / (step * unit)
        marks = step * unit * np.arange(np.ceil(low - ON_MARK), np.floor(high + ON_MARK) + 1.0)
        if len(marks) <= MOST_MARKS:
            return marks if len(marks) else np.array([0.5 * (first + last)])
    return np.linspace(first, last, MOST_MARKS)
