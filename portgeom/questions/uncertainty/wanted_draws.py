"""Which port is wanted in a draw, where the wanted sections are made of the sections as cast?

What a target does to a section is asked of the real code: once for the port itself, and once more for every way
in which the draws' sections mainly differ from it and every line of the target that moves with the path. Between
those it is taken as even, but for the height of the roof's own crown, which the wanted roof is hung by: noise of a
roof only ever raises its highest point, so that is taken from every draw itself. The union with the present section
is then taken ray by ray in every draw.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from portgeom.geometry.arrays import F64
from portgeom.geometry.chart import Chart
from portgeom.geometry.rays import SPINE_HALF
from portgeom.geometry.surface import Surface
from portgeom.job.faults import JobError
from portgeom.job.values import Job, Target
from portgeom.model.bridge import highest_chords
from portgeom.model.line import along, roof_heights_mm
from portgeom.model.lofted import LoftedPort
from portgeom.model.steps import Steps
from portgeom.model.wanted import Wanted, target_steps, wanted_distances

WAYS = 8
"""How many ways a section may differ in: the leading ones of the draws' own, slab by slab."""

STEP_MM = 0.05
"""Step in which the wanted section's response is taken."""

THIRD = 1.0 / (6.0 * SPINE_HALF)
"""How far from the middle, in half lengths of the spine, a roof whose corners are cut anew is kept as it is."""

LINES = ("roof_mm", "floor_mm")
"""What a target says of every slab, as ``Steps`` names it, that moves with the path. Corner radii and widening change
by under 0.1 mm over the error of a distance, and stay."""


@dataclass(frozen=True, slots=True)
class Top:
    """The highest point of a roof over the spine, or the lowest of a floor, as the wanted section is hung by it.

    Attributes
    ----------
    line : str
        Which of LINES says where it goes.
    rays : slice
        Straight up, or straight down, in order across.
    sign : float
        1 for a roof, -1 for a floor.
    across_mm : (m, k) float
        Where they stand, rising.
    beyond : (m,) float
        How far a roof is carried on straight beyond its kept middle third; NaN where its corners stay.
    own_mm : (m,) float
        Its height without errors.
    follows : (m, n) float
        Its change for a change of the distances, as far as the wanted sections' answer holds it already.
    """

    line: str
    rays: slice
    sign: float
    across_mm: F64
    beyond: F64
    own_mm: F64
    follows: F64

    def beyond_mm(self, rho_mm: F64, apart_mm: F64) -> F64:
        """Return how much higher the top (b, m) is in draws than an even answer has it.

        ``apart_mm`` (b, m, n) is how far the distances (b, m, n) are from those without errors.
        """
        even = np.vecdot(apart_mm, self.follows)
        return self.height_mm(rho_mm) - self.own_mm - even

    def height_mm(self, rho_mm: F64) -> F64:
        """Return the height of the top (..., m) over the spine."""
        up = rho_mm[..., self.rays]
        recut = ~np.isnan(self.beyond)
        if not recut.any():
            return up.max(axis=-1)
        # draws innermost, as chords want them
        lead = up.shape[:-2]
        up = np.ascontiguousarray(np.moveaxis(up.reshape(-1, *up.shape[-2:]), 0, -1))
        hull = highest_chords(self.across_mm[:, None], np.swapaxes(up, 1, 2)[..., None], np.inf)[..., 0]
        count = up.shape[1]
        foot = np.linspace(-1.0, 1.0, count)
        height = hull[..., np.abs(foot) <= THIRD].max(axis=-1)
        for way in (1, -1):  # to the left, and seen from behind to the right
            side, place = hull[..., ::way], self.across_mm[:, None, ::way]
            outer = int(np.flatnonzero(way * foot[::way] <= -THIRD)[-1])
            step = np.abs(place[..., outer + 1] - place[..., outer])
            slope = (side[..., outer] - side[..., outer + 1]) / step
            share = (way * foot[::way][outer + 1] + THIRD) / (foot[1] - foot[0])
            at_third = side[..., outer + 1] + share * step * slope
            np.maximum(height, at_third + slope * np.nan_to_num(self.beyond, nan=0.0)[:, None], out=height)
        height = np.where(recut[:, None], height, up.max(axis=1))
        return np.moveaxis(height, -1, 0).reshape(*lead, len(self.beyond))


def _top(port: LoftedPort, steps: Steps, line: str, ways: F64) -> Top:
    """Return the top that a line is for; ``ways`` (m, n, w) are those whose answer is known already."""
    chart, own = port.chart, port.cast.surface.rho_mm
    rays = chart.rays
    up = slice(rays.up.stop - 1, rays.up.start - 1, -1) if line == "roof_mm" else rays.down
    across = chart.centre_mm[:, :1] + chart.half_mm[:, None] * rays.foot[up]
    third = chart.half_mm * THIRD
    beyond = np.full(len(third), np.nan)
    if line == "roof_mm":
        beyond = np.where(np.isnan(steps.radius_mm), np.nan, np.maximum(0.0, 2.0 * third - steps.radius_mm))
    top = Top(line, up, 1.0 if line == "roof_mm" else -1.0, across, beyond, np.zeros(len(own)), np.zeros_like(own))
    height = top.height_mm(own)
    follows = np.zeros_like(own)
    for k in range(ways.shape[-1]):
        way = ways[..., k]
        size = STEP_MM / np.abs(way).max(axis=1, keepdims=True)
        follows += (top.height_mm(own + size * way) - height)[:, None] / size * way
    return replace(top, own_mm=height, follows=follows)


@dataclass(frozen=True, slots=True)
class WantedDraws:
    """The wanted sections' answer to errors.

    Attributes
    ----------
    crown_mm : (m,) float
        Height of the roof as cast.
    rho_mm : (m, n) float
        Of the port itself, on the coarse chart.
    ways, answers : (m, n, w), (m, w, n) float
        In which ways the sections as cast mainly differ from draw to draw, and how the wanted distances change for
        1 mm of each.
    held : (m, n) float
        0 where the wanted wall stands whatever small is left of the cast one's difference, 1 where it moves with it.
    tops : tuple of Top
        The crown, and the lowest point, where a line says where they go.
    lines : tuple of str
        Which of LINES the target gives.
    response : tuple of (m, n) float
        Change of the wanted distances for 1 mm more of each of those lines.
    """

    target: Target
    steps: Steps | None
    crown_mm: F64
    rho_mm: F64
    ways: F64
    answers: F64
    held: F64
    tops: tuple[Top, ...]
    lines: tuple[str, ...]
    response: tuple[F64, ...]

    @property
    def bridged(self) -> bool:
        """Return whether the wanted roof is the cast one bridged, because no line was given."""
        return self.steps is not None and self.steps.bridge is not None

    def distances_mm(self, chart: Chart, cast_rho_mm: F64, cast_mm: F64) -> F64:
        """Return the wanted distances (b, m, n) of draws whose sections as cast have distances (b, m, n).

        ``cast_mm`` (m, n) are those of the port itself.
        """
        apart = cast_rho_mm - cast_mm
        wanted = np.empty_like(apart)
        # slab by slab, laid draw by draw again: sums of unlike layouts are slow
        np.matmul(np.moveaxis(apart, 0, 1) @ self.ways, self.answers, out=np.moveaxis(wanted, 0, 1))
        wanted += self.rho_mm
        wanted += apart * self.held
        if self.steps is None:
            return wanted
        for top in self.tops:
            response = self.response[self.lines.index(top.line)]
            wanted -= top.beyond_mm(cast_rho_mm, apart)[..., None] * (top.sign * response)
        for name, response in zip(self.lines, self.response, strict=True):
            moved = _line_at(self.target, name, chart, self.crown_mm) - getattr(self.steps, name)
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
    crown = port.cast.surface.points_mm[..., 1].max(axis=1)
    if target is not None and (target.sections is not None or target.copy_of is not None):
        # given sections do not move with what is measured; where they end the cast goes on
        given = (wanted.rho_mm != own).any(axis=1)
        held = np.where(given, 0.0, 1.0)[:, None] * np.ones(own.shape[1])
        none = np.zeros((*own.shape, 0))
        return WantedDraws(target, None, crown, wanted.rho_mm, none, np.swapaxes(none, 1, 2), held, (), (), ())
    steps = target_steps(port, target, limits=job.limits)
    plan = target if target is not None else Target("bridge")
    rho = wanted.rho_mm
    lines = tuple(n for n, line in zip(LINES, (plan.roof, plan.floor_line), strict=True) if line is not None)
    response = _responses(port, target, steps, rho, lines)
    ways = _ways(own, sample_mm)
    # at a roof that is hung by a line, what the leading ways do not hold stays behind
    upper = port.chart.rays.direction[:, 1] > 0.0
    held = np.broadcast_to(np.where(upper & (plan.roof is not None), 0.0, 1.0), own.shape)
    answers = _answers(job, port, target, steps, rho, ways) - np.swapaxes(ways, 1, 2) * held[:, None, :]
    tops = tuple(_top(port, steps, name, ways) for name in ("roof_mm", "floor_mm") if name in lines)
    return WantedDraws(plan, steps, crown, rho, ways, answers, held, tops, lines, response)


def _responses(
    port: LoftedPort, target: Target | None, steps: Steps, rho: F64, lines: Sequence[str]
) -> tuple[F64, ...]:
    """Return the change of the wanted distances for 1 mm more of each line."""
    further = [replace(steps, **{name: getattr(steps, name) + STEP_MM}) for name in lines]
    return tuple((_asked(port, target, more, rho) - rho) / STEP_MM for more in further)


def _line_at(plan: Target, name: str, chart: Chart, crown_mm: F64) -> F64:
    """Return one of a target's lines (b, m) where the slabs of draws are."""
    if name == "roof_mm":
        return roof_heights_mm(plan, chart, crown_mm)
    assert plan.floor_line is not None
    return along(plan.floor_line, chart.distance_mm)


def _ways(own: F64, sample_mm: F64) -> F64:
    """Return the leading ways (m, n, w), unit vectors, in which the sections of draws (b, m, n) differ."""
    apart = np.moveaxis(sample_mm - own, 0, 1)
    _, ways = np.linalg.eigh(np.swapaxes(apart, 1, 2) @ apart)
    return ways[..., ::-1][..., :WAYS]


def _answers(job: Job, port: LoftedPort, target: Target | None, steps: Steps, rho: F64, ways: F64) -> F64:
    """Return the change of the wanted distances (m, w, n) for 1 mm of each way, asked of the real code."""
    own = port.cast.surface.rho_mm
    answers = np.empty(np.swapaxes(ways, 1, 2).shape)
    for k in range(ways.shape[-1]):
        way = ways[..., k]
        # as long a step in every slab, whatever the share of the section that moves
        size = STEP_MM / np.abs(way).max(axis=1, keepdims=True)
        moved = _with_cast(port, own + size * way)
        try:
            line = steps if steps.bridge is not None else target_steps(moved, target, limits=job.limits)
        except JobError:  # a line that only just fits
            line = steps
        answers[:, k] = (_asked(moved, target, line, rho) - rho) / size
    return answers


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
