"""Which corner radius must a proposed roof have, so that a cutter that is owned can leave it?"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from portgeom.geometry.arrays import frozen
from portgeom.geometry.moments import Moments
from portgeom.geometry.surface import with_distances
from portgeom.job.values import Job, Line
from portgeom.questions.propose.port_model import PortModel, PortState
from portgeom.questions.reach.corners import SURE_MM, TightCorner, corners_to_cut, tight_corners

UPPER = (0, 3)
"""Quarters of a section in ``Corners``: those of the roof."""

RAISED_MM = 0.05
"""A roof that is raised less keeps its corners as cast."""


@dataclass(frozen=True, slots=True)
class CornerCut:
    """The smallest radius that a cutter leaves, the roof's new radius where it needs one, and corners left tight.

    ``tight`` are corners that no cutter of the job leaves and no line of a target recuts: in the floor.
    """

    cutter_radius_mm: float
    radius: Line | None
    tight: tuple[TightCorner, ...]


def corner_cut(job: Job, model: PortModel, state: PortState) -> CornerCut:
    """Return how the corners of a port once cut suit the job's cutters; no cutters suit everything.

    Where the roof line leaves some of a boss, its edge against the boss is no corner of the roof.
    """
    smallest = min((0.5 * c.diameter_mm for c in job.cutters), default=0.0)
    if smallest <= 0.0:
        return CornerCut(0.0, None, ())
    present, chart = model.stage.surface, model.port.chart
    nothing = Moments(np.zeros(len(chart.distance_mm)), np.zeros((len(chart.distance_mm), 2)))
    corners = corners_to_cut(present, with_distances(present, state.shape.rho_mm, nothing))
    floor = tuple(t for t in tight_corners(corners, smallest) if 90.0 < t.clock_deg < 270.0)
    run = model.runs[0]
    raised = np.interp(chart.distance_mm, run.knot_mm, model.line(0, state.cut_mm), left=0.0, right=0.0) > RAISED_MM
    upper = np.where(raised, corners.radius_mm[:, UPPER].min(axis=1), np.inf)
    if not (upper < smallest - SURE_MM).any():
        return CornerCut(smallest, None, floor)
    rows = []
    for at in run.knot_mm:
        slab = chart.slab_at(float(at))
        section = present.points_mm[slab]
        room = 0.5 * min(float(np.ptp(section[:, 0])), float(np.ptp(section[:, 1])))
        own = float(upper[max(0, slab - 1) : slab + 2].min())
        wanted = smallest + SURE_MM if not np.isfinite(own) else max(smallest + SURE_MM, own)
        rows.append([float(at), np.floor(100.0 * min(wanted, 0.95 * room)) / 100.0])
    return CornerCut(smallest, Line(frozen(rows)), floor)
