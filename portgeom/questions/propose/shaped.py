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

OPEN_MM = 0.5
"""Sections are looked over for undercuts with every line moved by so much."""


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
    undercut : (u,) int
        Slabs whose sections a ray may cross more than once: their first wall counts.
    free : tuple of bool
        Which sides may be cut at all.
    """

    chart: Chart
    present: Surface
    cast_rho_mm: F64
    start_mm: F64
    move: F64
    undercut: Int
    free: tuple[bool, ...]

    def cut(self, depth_mm: F64) -> CutShape:
        """Return the port with depths (4, m) off its sides: never inside what it is now.

        Areas are those of the wanted sections' own corners; only what the port already holds outside them is taken
        from the rays.
        """
        chart, corners = self.chart, self.start_mm + np.einsum("im,imkc->mkc", depth_mm, self.move)
        reading = read_folded(chart.rays, corners, chart.centre_mm, chart.half_mm)
        rho, inside = reading.rho_mm, reading.inside
        cut = self.undercut
        if len(cut):
            truly = read_outlines(chart.rays, corners[cut], chart.centre_mm[cut], chart.half_mm[cut])
            rho[cut], inside[cut] = truly.rho_mm, truly.inside
        wanted = np.where(np.abs(rho - self.cast_rho_mm) <= 10.0 * PARTED_MM, self.cast_rho_mm, rho)
        wanted = np.where(inside[:, None], wanted, self.cast_rho_mm)
        both = np.maximum(wanted, self.present.rho_mm)
        tips = chart.tips_mm
        more = polygon_moments(corners) - polygon_moments(self.present.points_mm)
        kept = polygon_moments(tips(both)) - polygon_moments(tips(wanted))
        return CutShape(both, self.present.moments + more + kept)

    def deeper(self, depth_mm: F64, now: CutShape) -> tuple[CutShape, ...]:
        """Return the port with each side in turn cut deeper by STEP_MM; for sides that may not be cut, as ``now``."""
        units = STEP_MM * np.eye(len(SIDES))[..., None]
        return tuple(self.cut(depth_mm + u) if free else now for u, free in zip(units, self.free, strict=True))


def shaped(port: LoftedPort, stage: LoftedStage, runs: Sequence[Run], radius: Line | None) -> Shaped:
    """Return a stage of a port ready to have its lines moved; ``radius`` is the target's corner radius, if any."""
    chart = port.chart
    sections = port.cast.surface.points_mm
    roof, _, _, floor = runs
    has_floor = bool(floor.most_mm.any())
    nothing = np.full(len(sections), np.nan)
    radii = nothing if radius is None else along(radius, chart.distance_mm)

    def corners(roof_mm: float, left_mm: float, right_mm: float, floor_mm: float) -> list[F64]:
        steps = Steps(
            level_mm=chart.centre_mm[:, 1],
            roof_mm=np.where(roof.inside > 0.0, roof.hat @ roof.start_mm + roof_mm, np.nan),
            radius_mm=radii,
            floor_mm=np.where(floor.inside > 0.0, floor.hat @ floor.start_mm - floor_mm, np.nan)
            if has_floor
            else nothing,
            left_mm=np.full(len(sections), PARTED_MM + left_mm),
            right_mm=np.full(len(sections), PARTED_MM + right_mm),
            bridge=None,
        )
        return [steps.applied(j, p) for j, p in enumerate(sections)]

    start = padded(corners(0.0, 0.0, 0.0, 0.0))
    move = np.stack([padded(corners(*unit)) - start for unit in np.eye(len(SIDES))])
    lifted = start + OPEN_MM * move.sum(axis=0)  # no roof is lowered past the tops of its walls here
    undercut = np.flatnonzero(~crossed_once(lifted, chart.centre_mm, chart.half_mm))
    return Shaped(
        chart,
        stage.surface,
        port.cast.surface.rho_mm,
        start,
        move,
        undercut,
        tuple(bool((r.most_mm > r.least_mm).any()) for r in runs),
    )
