"""How far along the port does the roof run before it is bowl, guide boss or turn?"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from portgeom.geometry.chart import Chart
from portgeom.job.values import Guide, Port

TURNED_DEG = 45.0
"""Flow turned this far from the entry has left the roof."""


@dataclass(frozen=True, slots=True)
class RoofEnd:
    """The last slab of roof, its distance, and why it ends there."""

    slab: int
    distance_mm: float
    reason: str


def roof_end(chart: Chart, port: Port) -> RoofEnd:
    """Return where a port's roof ends: the first of the job's own word, the guide boss, and the turn."""
    s = chart.distance_mm
    ends = [(len(s) - 1, "the last station lies")]
    turned = np.degrees(np.arccos(np.clip(chart.planes.normal @ chart.planes.normal[0], -1.0, 1.0)))
    beyond = np.flatnonzero(turned > TURNED_DEG)
    if len(beyond):
        ends.append((max(1, int(beyond[0]) - 1), f"the flow has turned {TURNED_DEG:.0f} degrees"))
    if port.guide is not None:
        slab = _meets_boss(chart, port.guide)
        if slab is not None:
            ends.append((max(1, slab - 1), "the valve guide's boss begins"))
    if port.roof_end_mm is not None:
        given = int(np.searchsorted(s, port.roof_end_mm + chart.tolerance.length_mm, side="right")) - 1
        ends.append((max(1, given), "the job says it ends"))
    slab, reason = min(ends, key=lambda end: end[0])
    return RoofEnd(slab, float(s[slab]), reason)


def _meets_boss(chart: Chart, guide: Guide) -> int | None:
    """Return the first slab whose plane meets the boss's cylinder, if one does."""
    root = guide.axis_mm[0]
    axis = guide.axis_mm[1] - root
    axis = axis / np.linalg.norm(axis)
    ends = np.stack([root, root + guide.length_mm * axis])
    normal, origin = chart.planes.normal, chart.planes.origin_mm
    height = np.einsum("sj,sej->se", normal, ends[None] - origin[:, None])
    rim = 0.5 * guide.boss_diameter_mm * np.sqrt(np.maximum(0.0, 1.0 - (normal @ axis) ** 2))
    low, high = height.min(axis=1) - rim, height.max(axis=1) + rim
    meets = np.flatnonzero((low <= 0.0) & (high >= 0.0))
    return int(meets[0]) if len(meets) else None
