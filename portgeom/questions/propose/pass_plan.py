"""Which passes get to a proposed target, with the cutters that there are?"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from portgeom.geometry.arrays import F64
from portgeom.job.values import CutPass, Cutter, Job, Side
from portgeom.model.lofted import LoftedPort, LoftedStage
from portgeom.questions.cutting.plan import LEAST_METAL_MM
from portgeom.questions.shape.removal import Removal

BLENDERS = ("oval", "flame", "round-nose cylinder", "arch round-nose", "conical round-nose", "ball", "cylinder")
LEVELLERS = ("round-nose cylinder", "cylinder", "arch round-nose", "oval", "ball")
"""Shapes in the order in which they are taken for blending and for levelling (common practice, no source)."""

LEAST_MM = 0.05
"""Where less than this is to come off there is no pass."""

INSET_MM = 1.0
"""Grooves begin and end so far inside the metal they are for."""

SHORTEST_MM = 12.0
"""Grooves are not cut over less than this."""


def passes_to(job: Job, port: LoftedPort, stage: LoftedStage, removed: Removal) -> tuple[CutPass, ...]:
    """Return passes in cutting order: grooves and levelling where the roof is thick, then every side blended.

    No pass where the job has no cutter that fits.
    """
    depth = removed.after.rho_mm - stage.surface.rho_mm
    plan: list[CutPass] = []
    s = port.chart.distance_mm
    rays = port.chart.rays
    over = depth[:, rays.up].max(axis=1)
    thick = np.flatnonzero(over > LEAST_METAL_MM)
    ball, level = _cutter(job, ("ball",)), _cutter(job, LEVELLERS)
    if len(thick) and ball is not None and level is not None:
        start, end = float(np.ceil(s[thick[0]] + INSET_MM)), float(np.floor(s[thick[-1]] - INSET_MM))
        if end - start >= SHORTEST_MM:
            plan.append(CutPass("grooves", "grooves", "roof", ball.name, from_mm=start, to_mm=end))
            plan.append(CutPass("level", "level", "roof", level.name, from_mm=start, to_mm=end))
    blend = _cutter(job, BLENDERS)
    if blend is None:
        return tuple(plan)
    sides: tuple[tuple[Side, F64], ...] = (
        ("roof", over),
        ("left", depth[:, _fan(port, left=True)].max(axis=1)),
        ("right", depth[:, _fan(port, left=False)].max(axis=1)),
        ("floor", depth[:, rays.down].max(axis=1)),
    )
    for side, most in sides:
        cut = np.flatnonzero(most > LEAST_MM)
        if len(cut) > 1:
            start, end = float(np.floor(s[cut[0]])), float(min(np.ceil(s[cut[-1]]), np.floor(s[-1])))
            plan.append(CutPass(f"blend {side}", "blend", side, blend.name, from_mm=start, to_mm=end))
    return tuple(plan)


def _fan(port: LoftedPort, *, left: bool) -> slice:
    """Return the rays that fan out round one end of the spine."""
    rays = port.chart.rays
    first = rays.fan + rays.flat if left else 0
    return slice(first, first + rays.fan)


def _cutter(job: Job, shapes: tuple[str, ...]) -> Cutter | None:
    for shape in shapes:
        for cutter in job.cutters:
            if cutter.shape == shape:
                return cutter
    return None


def together(plans: Sequence[tuple[CutPass, ...]]) -> tuple[CutPass, ...]:
    """Return one plan for several ports: each pass over all that any of them needs, in cutting order."""
    merged: dict[tuple[str, str], CutPass] = {}
    for plan in plans:
        for one in plan:
            key = (one.kind, one.side)
            known = merged.get(key, one)
            starts = [x.from_mm for x in (known, one) if x.from_mm is not None]
            ends = [x.to_mm for x in (known, one) if x.to_mm is not None]
            merged[key] = replace(known, from_mm=min(starts, default=None), to_mm=max(ends, default=None))
    order = {"grooves": 0, "level": 1, "blend": 2}
    return tuple(sorted(merged.values(), key=lambda p: order[p.kind]))
