"""What are a port's sections once its lines are moved, and how does each ray move with each line?

The corners of a wanted section move straight with the roof, the walls and the floor. So the target's own code is
asked once with every line where it starts and once with each moved by 1 mm; everything between is a sum of the two.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from portgeom.geometry.arrays import F64, Int
from portgeom.geometry.chart import Chart
from portgeom.geometry.moments import Moments, polygon_moments
from portgeom.geometry.rays import crossed_once, read_folded, read_outlines
from portgeom.geometry.surface import Surface
from portgeom.geometry.union import padded
from portgeom.job.values import Line
from portgeom.model.line import along
from portgeom.model.lofted import LoftedPort, LoftedStage
from portgeom.model.steps import Steps
from portgeom.questions.propose.runs import SIDES, Run

PARTED_MM = 1e-6
"""Walls are always moved by so much at least: sections then part at the same corners whatever is asked."""

STEP_MM = 0.02
"""How far a line is moved to see what its next bit takes off."""

PROBE_MM = (0.7, 0.4, 0.6, 0.5)
"""Depths at which it is seen whether all corners have moved straight."""

OPEN_MM = 0.5
"""Sections are looked over for undercuts with every line moved by so much."""


@dataclass(frozen=True, slots=True)
class Lines:
    """Where the lines start, one value a slab (m,), NaN where one does not run; and the sections as cast."""

    sections_mm: tuple[F64, ...]
    level_mm: F64
    radius_mm: F64
    roof_mm: F64
    floor_mm: F64

    def corners(self, slab: int, depth_mm: F64) -> F64:
        """Return the corners (k, 2) of one section with depths (4,) off its sides, as a target makes them."""
        roof, left, right, floor = depth_mm
        steps = Steps(
            level_mm=self.level_mm[slab : slab + 1],
            roof_mm=self.roof_mm[slab : slab + 1] + roof,
            radius_mm=self.radius_mm[slab : slab + 1],
            floor_mm=self.floor_mm[slab : slab + 1] - floor,
            left_mm=np.array([PARTED_MM + left]),
            right_mm=np.array([PARTED_MM + right]),
            bridge=None,
        )
        return steps.applied(np.array([0]), [self.sections_mm[slab]])[0]


@dataclass(frozen=True, slots=True)
class CutShape:
    """A port with its lines moved: distances (m, n), and moments of every section."""

    rho_mm: F64
    moments: Moments


@dataclass(frozen=True, slots=True)
class Shaped:
    """A port whose lines can be moved.

    Attributes
    ----------
    chart : Chart
    present : Surface
        Of the stage to be cut.
    cast_rho_mm : (m, n) float
    start_mm : (m, k, 2) float
        Corners of the wanted sections where the lines start.
    move : (4, m, k, 2) float
        How they move for each mm of each side.
    lines : Lines
    apart : (u,) int
        Slabs that are shaped by the target's own code each time: a ray may cross their sections more than once, so
        that their first wall counts, or their corners do not all move straight.
    free : tuple of bool
        Which sides may be cut at all.
    """

    chart: Chart
    present: Surface
    cast_rho_mm: F64
    start_mm: F64
    move: F64
    lines: Lines
    apart: Int
    free: tuple[bool, ...]

    def cut(self, depth_mm: F64) -> CutShape:
        """Return the port with depths (4, m) off its sides: never inside what it is now.

        Areas are those of the wanted sections' own corners; only what the port already holds outside them is taken
        from the rays.
        """
        chart, corners = self.chart, self.start_mm + np.einsum("im,imkc->mkc", depth_mm, self.move)
        reading = read_folded(chart.rays, corners, chart.centre_mm, chart.half_mm)
        rho, inside, wanted_moments = reading.rho_mm, reading.inside, polygon_moments(corners)
        some = self.apart
        if len(some):
            odd = padded([self.lines.corners(int(j), depth_mm[:, j]) for j in some])
            truly = read_outlines(chart.rays, odd, chart.centre_mm[some], chart.half_mm[some])
            rho[some], inside[some] = truly.rho_mm, truly.inside
            own = polygon_moments(odd)
            wanted_moments.area_mm2[some], wanted_moments.first_mm3[some] = own.area_mm2, own.first_mm3
        wanted = np.where(np.abs(rho - self.cast_rho_mm) <= 10.0 * PARTED_MM, self.cast_rho_mm, rho)
        wanted = np.where(inside[:, None], wanted, self.cast_rho_mm)
        both = np.maximum(wanted, self.present.rho_mm)
        tips = chart.tips_mm
        more = wanted_moments - polygon_moments(self.present.points_mm)
        kept = polygon_moments(tips(both)) - polygon_moments(tips(wanted))
        return CutShape(both, self.present.moments + more + kept)

    def deeper(self, depth_mm: F64, now: CutShape) -> tuple[CutShape, ...]:
        """Return the port with each side in turn cut deeper by STEP_MM; for sides that may not be cut, as ``now``."""
        units = STEP_MM * np.eye(len(SIDES))[..., None]
        return tuple(self.cut(depth_mm + u) if free else now for u, free in zip(units, self.free, strict=True))


def shaped(port: LoftedPort, stage: LoftedStage, runs: Sequence[Run], radius: Line | None) -> Shaped:
    """Return a stage of a port ready to have its lines moved; ``radius`` is the target's corner radius, if any."""
    chart = port.chart
    lines = _lines(port, runs, radius)
    slabs = range(len(chart.distance_mm))

    def corners(depths: F64) -> list[F64]:
        return [lines.corners(j, depths) for j in slabs]

    none, probe = np.zeros(len(SIDES)), np.array(PROBE_MM)
    at_start, probed = corners(none), corners(probe)
    by_side = [corners(unit) for unit in np.eye(len(SIDES))]
    same = [len({len(c[j]) for c in (at_start, probed, *by_side)}) == 1 for j in slabs]
    start = padded(at_start)
    made = [padded([c if ok else a for c, a, ok in zip(one, at_start, same, strict=True)]) for one in by_side]
    move = np.stack(made) - start
    straight = start + np.einsum("i,imkc->mkc", probe, move)
    truly = padded([c if ok else a for c, a, ok in zip(probed, at_start, same, strict=True)])
    off = np.abs(straight - truly).max(axis=(1, 2)) > 10.0 * PARTED_MM
    lifted = start + OPEN_MM * move.sum(axis=0)  # no roof is lowered past the tops of its walls here
    apart = np.flatnonzero(~np.array(same) | off | ~crossed_once(lifted, chart.centre_mm, chart.half_mm))
    free = tuple(bool((r.most_mm > r.least_mm).any()) for r in runs)
    return Shaped(chart, stage.surface, port.cast.surface.rho_mm, start, move, lines, apart, free)


def _lines(port: LoftedPort, runs: Sequence[Run], radius: Line | None) -> Lines:
    chart = port.chart
    roof, _, _, floor = runs
    nothing = np.full(len(chart.distance_mm), np.nan)
    has_floor = bool(floor.most_mm.any())
    return Lines(
        sections_mm=tuple(port.cast.surface.points_mm),
        level_mm=chart.centre_mm[:, 1],
        radius_mm=nothing if radius is None else along(radius, chart.distance_mm),
        roof_mm=np.where(roof.inside > 0.0, roof.hat @ roof.start_mm, np.nan),
        floor_mm=np.where(floor.inside > 0.0, floor.hat @ floor.start_mm, np.nan) if has_floor else nothing,
    )
