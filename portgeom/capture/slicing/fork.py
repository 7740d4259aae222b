"""Does the passage divide ahead of a section, and into what?

A port that feeds two valves, or a scan that took in a neighbour, is followed to where its section falls into two.
From there on one branch is another port, so a person says which.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from portgeom.capture.slicing.cut import plane_at
from portgeom.capture.slicing.index import MeshIndex
from portgeom.capture.slicing.section import GapLimits, NoSection, Section, sections_met
from portgeom.geometry.arrays import F64

AHEAD = (0.14, 0.07, 0.21, 0.3, 0.42)
"""How far ahead of the last section branches are looked for, in its diameters."""

REACH = 0.8
"""How far off the way a branch's middle may lie, in diameters of the section before."""

LEAST_SHARE = 0.12
"""Of the section before: what is smaller is a hole in the wall, no branch."""

TOGETHER = (0.55, 1.7)
"""How much of the section before the branches hold together."""


@dataclass(frozen=True, slots=True)
class Fork:
    """Where the passage divides: the last whole section, and the branches just ahead, the largest first."""

    before: Section
    branches: tuple[Section, ...]

    def towards(self, point_mm: F64) -> Section:
        """Return the branch whose middle is nearest to a point."""
        return min(self.branches, key=lambda b: float(np.linalg.norm(b.centroid_mm - point_mm)))


def fork_ahead(index: MeshIndex, last: Section, way: F64, limits: GapLimits) -> Fork | None:
    """Return the fork just ahead of a section, or None where the passage does not divide."""
    area = last.loop.area_mm2
    diameter = 2.0 * float(np.sqrt(area / np.pi))
    for share in AHEAD:
        plane = plane_at(last.centroid_mm + share * diameter * way, way, last.plane.up)
        try:
            met = sections_met(index, plane, limits)
        except NoSection:
            continue
        branches = [
            s
            for s in met
            if s.loop.area_mm2 >= LEAST_SHARE * area and np.hypot(*s.loop.centroid_mm) <= REACH * diameter
        ]
        together = sum(s.loop.area_mm2 for s in branches) / area
        if len(branches) > 1 and TOGETHER[0] <= together <= TOGETHER[1]:
            return Fork(last, tuple(sorted(branches, key=lambda s: -s.loop.area_mm2)))
    return None
