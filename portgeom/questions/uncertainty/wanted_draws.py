"""Which port is wanted in a draw, where the wanted sections are made of the sections as cast?

What a target does to a section is asked of the real code: once for the port itself, and once more for every way
in which the draws' sections mainly differ from it and every line of the target that moves with the path. Between
those it is taken as even. The union with the present section is then taken ray by ray in every draw.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from portgeom.geometry.arrays import F64
from portgeom.geometry.chart import Chart
from portgeom.geometry.moments import Moments
from portgeom.geometry.surface import Surface
from portgeom.job.faults import JobError
from portgeom.job.values import Job, Target
from portgeom.model.line import along, roof_heights_mm
from portgeom.model.lofted import LoftedPort
from portgeom.model.steps import Steps
from portgeom.model.wanted import Wanted, target_steps, wanted_distances

WAYS = 10
"""How many ways a section may differ in: the leading ones of the draws' own, slab by slab."""

STEP_MM = 0.05
"""Step in which the wanted section's response is taken."""

LINES = ("roof_mm", "radius_mm", "floor_mm", "left_mm", "right_mm")
"""What a target says of every slab, as ``Steps`` names it."""


@dataclass(frozen=True, slots=True)
class WantedDraws:
    """The wanted sections' answer to errors.

    Attributes
    ----------
    rho_mm : (m, n) float
        Of the port itself, on the coarse chart.
    follows : (m, n, n) float
        Change of the wanted distances (last axis) for a change of the distances as cast.
    lines : tuple of str
        Which of LINES the target gives.
    response : tuple of (m, n) float
        Change of the wanted distances for 1 mm more of each of those lines.
    """

    target: Target
    steps: Steps | None
    rho_mm: F64
    follows: F64
    lines: tuple[str, ...]
    response: tuple[F64, ...]

    def distances_mm(self, chart: Chart, cast_rho_mm: F64, cast_mm: F64) -> F64:
        """Return the wanted distances (b, m, n) of draws whose sections as cast have distances (b, m, n).

        ``cast_mm`` (m, n) are those of the port itself.
        """
        apart = np.moveaxis(cast_rho_mm - cast_mm, 0, 1)
        wanted = self.rho_mm + np.moveaxis(apart @ self.follows, 0, 1)
        if self.steps is None:
            return wanted
        for name, response in zip(self.lines, self.response, strict=True):
            moved = _line_at(self.target, name, chart, self.steps.crown_mm) - getattr(self.steps, name)
            wanted += np.nan_to_num(moved, nan=0.0)[..., None] * response
        return wanted


def wanted_draws(job: Job, port: LoftedPort, wanted: Wanted, sample_mm: F64) -> WantedDraws:
    """Return how the sections wanted of a port on its coarse chart answer to errors.

    Parameters
    ----------
    wanted : Wanted
        Of the port itself on that chart.
    sample_mm : (b, m, n) float
        Some draws of the sections as cast.
    """
    target = next((t for t in job.targets if t.name == port.port.target), None)
    own = port.cast.surface.rho_mm
    if target is not None and (target.sections is not None or target.copy_of is not None):
        # given sections do not move with what is measured; where they end the cast goes on
        given = (wanted.rho_mm != own).any(axis=1)
        follows = np.where(given, 0.0, 1.0)[:, None, None] * np.eye(own.shape[1])
        return WantedDraws(target, None, wanted.rho_mm, follows, (), ())
    steps = target_steps(port, target, limits=job.limits)
    plan = target if target is not None else Target("bridge")
    rho = wanted_distances(port, target, steps)
    lines = tuple(name for name in LINES if _moves(plan, name))
    response = tuple(
        (_asked(port, target, replace(steps, **{name: getattr(steps, name) + STEP_MM}), rho) - rho) / STEP_MM
        for name in lines
    )
    return WantedDraws(plan, steps, rho, _follows(job, port, target, steps, rho, sample_mm), lines, response)


def _moves(plan: Target, name: str) -> bool:
    given = {
        "roof_mm": plan.roof,
        "radius_mm": plan.corner_radius,
        "floor_mm": plan.floor_line,
        "left_mm": plan.widen,
        "right_mm": plan.widen,
    }
    return given[name] is not None


def _line_at(plan: Target, name: str, chart: Chart, crown_mm: F64) -> F64:
    """Return one of a target's lines (b, m) where the slabs of draws are."""
    s = chart.distance_mm
    if name == "roof_mm":
        return roof_heights_mm(plan, chart, crown_mm)
    if name == "radius_mm":
        assert plan.corner_radius is not None
        return along(plan.corner_radius, s)
    if name == "floor_mm":
        assert plan.floor_line is not None
        return along(plan.floor_line, s)
    assert plan.widen is not None
    side = plan.widen[:, 1 if name == "left_mm" else 2]
    return np.interp(s, plan.widen[:, 0], side, left=0.0, right=0.0)


def _follows(job: Job, port: LoftedPort, target: Target | None, steps: Steps, rho: F64, sample_mm: F64) -> F64:
    own = port.cast.surface.rho_mm
    rays = own.shape[1]
    apart = np.moveaxis(sample_mm - own, 0, 1)
    _, ways = np.linalg.eigh(np.swapaxes(apart, 1, 2) @ apart)
    ways = ways[..., ::-1][..., : min(WAYS, rays)]
    # what the leading ways do not hold goes through where the wanted wall is the cast one moved, and not at the roof
    held = port.chart.rays.direction[:, 1] > 0.0 if target is not None and target.roof is not None else np.zeros(rays)
    rest = np.eye(rays) - ways @ np.swapaxes(ways, 1, 2)
    follows = rest * np.where(held, 0.0, 1.0)
    for k in range(ways.shape[-1]):
        way = ways[..., k]
        # as long a step in every slab, whatever the share of the section that moves
        size = STEP_MM / np.abs(way).max(axis=1, keepdims=True)
        moved = _with_cast(port, own + size * way)
        try:
            line = steps if steps.bridge is not None else target_steps(moved, target, limits=job.limits)
        except JobError:  # a line that only just fits
            line = steps
        answer = (_asked(moved, target, line, rho) - rho) / size
        follows += way[:, :, None] * answer[:, None, :]
    return follows


def _asked(port: LoftedPort, target: Target | None, steps: Steps, otherwise: F64) -> F64:
    try:
        return wanted_distances(port, target, steps)
    except JobError:
        return otherwise


def _with_cast(port: LoftedPort, rho_mm: F64) -> LoftedPort:
    """Return the port with other distances as cast; only its sections are asked, so the rest stays."""
    cast = port.cast
    old = cast.surface
    surface = Surface(old.chart, rho_mm, old.moments, old.perimeter_mm, old.hidden_mm2)
    return replace(port, stages=(replace(cast, surface=surface), *port.stages[1:]))


def swept_less_mm3(chart: Chart, larger: Moments, smaller: Moments) -> F64:
    """Return the volume (b,) between two runs of sections of draws."""
    return chart.swept_mm3(larger - smaller).sum(axis=-1)


__all__: Sequence[str] = ("WantedDraws", "swept_less_mm3", "wanted_draws")
