"""Where has the cutter gone past what was wanted, and where was the casting past it already?

What should be left is the wanted section joined with the casting: nobody can put back what was cast away. A stage
that lies outside that by more than a limit was cut too far. Where the casting alone lies outside the wanted section
by more than the limit it was so when it came.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from portgeom.geometry.arrays import F64, Bool, Int
from portgeom.geometry.chart import Chart
from portgeom.job.values import Accuracy
from portgeom.model.lofted import LoftedPort, LoftedStage
from portgeom.model.wanted import Wanted
from portgeom.questions.shape.places import clock_deg

FINE = 4
"""Steps that a cell of the chart is parted into either way when a patch is measured."""

LEAST_AREA_MM2 = 3.0
"""A patch smaller than this is a speck on a tracing: no cutter leaves one so small."""

COVERED = 1.96
"""Half the 95 percent interval of a normal spread, in standard deviations."""

LEAST_WIDTH_MM = 1.0
"""A patch narrower than this is the edge of a line or a tracing: no cutter leaves one so narrow."""


@dataclass(frozen=True, slots=True)
class Patch:
    """A connected patch of a surface that lies too deep by more than the limit.

    Attributes
    ----------
    distance_mm, clock_deg : float
        Its middle, each place weighted by its depth.
    deepest_mm, deepest_at_mm, deepest_clock_deg : float
        How much too deep it is at most, along the normal, and where.
    mean_mm : float
        Mean of that over the patch.
    from_mm, to_mm : float
        Its extent along the path.
    around_mm : float
        Its extent round the section.
    area_mm2, volume_mm3 : float
        On the surface that should have been left, and what is missing over it.
    standard_mm : float
        What its mean depth may be off by, by the readings it was seen in; 0 where nobody asked.
    """

    distance_mm: float
    clock_deg: float
    deepest_mm: float
    deepest_at_mm: float
    deepest_clock_deg: float
    mean_mm: float
    from_mm: float
    to_mm: float
    around_mm: float
    area_mm2: float
    volume_mm3: float
    standard_mm: float = 0.0

    @property
    def clear(self) -> bool:
        """Return whether it is deeper than the readings may be off by."""
        return self.mean_mm > COVERED * self.standard_mm

    @property
    def width_mm(self) -> float:
        """Return its mean width, across its longer extent."""
        return self.area_mm2 / max(self.to_mm - self.from_mm, self.around_mm)


@dataclass(frozen=True, slots=True)
class Overcut:
    """What is past the wanted port, by more than a limit.

    Attributes
    ----------
    cut : tuple of Patch
        Cut too far: past what was wanted and past the casting. The largest volume first.
    as_cast : tuple of Patch
        Where the casting was already past what is wanted.
    cut_mm3 : float
        Missing over all patches cut too far.
    limit_mm : float
    """

    cut: tuple[Patch, ...]
    as_cast: tuple[Patch, ...]
    cut_mm3: float
    limit_mm: float


def overcut(
    port: LoftedPort,
    stage: LoftedStage,
    wanted: Wanted,
    *,
    limit_mm: float,
    accuracy: Accuracy = Accuracy(),  # noqa: B008
) -> Overcut:
    """Return where a stage of a port has gone past what was wanted.

    Parameters
    ----------
    accuracy : Accuracy
        Of the readings, for how deep a patch must be to be more than they may be off by.
    limit_mm : float
        A patch is what lies deeper than this, along the normal of the surface that should have been left.
    """
    chart, cast = port.chart, port.cast.surface.rho_mm
    left = np.maximum(wanted.rho_mm, cast)
    cut = () if stage is port.cast else patches(chart, left, stage.surface.rho_mm, limit_mm=limit_mm)
    cut = tuple(replace(p, standard_mm=_standard_mm(stage, p, accuracy)) for p in cut)
    past = patches(chart, wanted.rho_mm, cast, limit_mm=limit_mm)
    return Overcut(
        cut=cut,
        as_cast=tuple(replace(p, standard_mm=_standard_mm(port.cast, p, accuracy)) for p in past),
        cut_mm3=float(sum(p.volume_mm3 for p in cut)),
        limit_mm=limit_mm,
    )


def _standard_mm(stage: LoftedStage, patch: Patch, accuracy: Accuracy) -> float:
    """Return what the mean depth of a patch may be off by: readings of the stations across it, and their tool."""
    at = stage.distance_mm
    seen = np.flatnonzero((at >= patch.from_mm) & (at <= patch.to_mm))
    if not len(seen):  # a patch between two stations is known from the nearest
        seen = np.array([int(np.argmin(np.abs(at - patch.distance_mm)))])
    rows = [stage.stage.sections.rows[k] for k in seen]
    read = [accuracy.trace_mm if row.readings is None else accuracy.gauge_mm for row in rows]
    return float(np.hypot(np.sqrt(np.mean(np.square(read)) / len(read)), accuracy.tool_bias_mm))


def patches(chart: Chart, from_rho_mm: F64, to_rho_mm: F64, *, limit_mm: float) -> tuple[Patch, ...]:
    """Return the patches where one surface lies deeper in the metal than another, the largest volume first.

    Depths are taken along the normal of the first, which is right to the second order of depth over radius.
    """
    beyond = to_rho_mm - from_rho_mm
    if not (beyond > limit_mm).any():
        return ()
    cosine, cell = _surface_of(chart, from_rho_mm)
    depth = beyond * cosine
    label, count = _labelled(depth > limit_mm)
    found = [_patch(chart, to_rho_mm, label == k, depth, cell, limit_mm) for k in range(1, count + 1)]
    kept = (p for p in found if p.area_mm2 >= LEAST_AREA_MM2 and p.width_mm >= LEAST_WIDTH_MM)
    return tuple(sorted(kept, key=lambda p: -p.volume_mm3))


def _surface_of(chart: Chart, rho_mm: F64) -> tuple[F64, F64]:
    """Return the cosine (m, n) between each ray and the surface's normal, and the area for one step either way."""
    grid = chart.planes.world_mm(chart.tips_mm(rho_mm))
    along = np.gradient(grid, axis=0)
    around = 0.5 * (np.roll(grid, -1, axis=1) - np.roll(grid, 1, axis=1))
    normal = np.cross(around, along)
    cell = np.linalg.norm(normal, axis=-1)
    planes, way = chart.planes, chart.rays.direction
    ray = way[None, :, :1] * planes.right[:, None, :] + way[None, :, 1:] * planes.up[:, None, :]
    cosine = np.abs(np.einsum("mnk,mnk->mn", normal, ray)) / np.where(cell > 0.0, cell, 1.0)
    return cosine, cell


def _labelled(deep: Bool) -> tuple[Int, int]:
    """Return connected patches numbered from 1, the last ray being the neighbour of the first."""
    from scipy import ndimage

    label, count = ndimage.label(deep, structure=np.ones((3, 3)))
    same = np.arange(count + 1)
    rows = len(deep)
    for shift in (-1, 0, 1):
        here = np.arange(max(0, -shift), min(rows, rows - shift))
        for one, other in zip(label[here, -1], label[here + shift, 0], strict=True):
            if one and other:
                low, high = sorted((int(same[one]), int(same[other])))
                same[same == high] = low
    kept = np.unique(same[1:])
    number = np.zeros(count + 1, dtype=np.intp)
    number[1:] = np.searchsorted(kept, same[1:]) + 1
    return number[label], len(kept)


def _patch(chart: Chart, rho: F64, patch: Bool, depth: F64, cell: F64, limit: float) -> Patch:
    """Return the measures of one patch, its edge found between the rays and slabs."""
    rays = chart.rays.total
    # turned so that the patch does not run over the first ray
    gap = int(np.argmin(patch.sum(axis=0)))
    turn = (np.arange(rays) + gap) % rays
    inside = patch[:, turn]
    rows, columns = np.flatnonzero(inside.any(axis=1)), np.flatnonzero(inside.any(axis=0))
    top, bottom = max(0, rows[0] - 1), min(len(depth) - 1, rows[-1] + 1)
    first, last = max(0, columns[0] - 1), min(rays - 1, columns[-1] + 1)
    # what belongs to a neighbouring patch is left out, and so is not measured twice
    own = np.where(inside | (depth[:, turn] <= limit), depth[:, turn], 0.0)
    box = np.s_[top : bottom + 1, first : last + 1]
    deep, size = own[box], cell[:, turn][box]
    i, j = _steps(deep.shape[0]), _steps(deep.shape[1])
    fine, area = _between(deep, i, j), _between(size, i, j) * _share(i)[:, None] * _share(j)
    over = fine > limit
    weight = np.where(over, fine * area, 0.0)
    volume, plan = float(weight.sum()), float(area[over].sum())
    s = chart.distance_mm[top : bottom + 1]
    along = np.interp(i, np.arange(len(s)), s)
    tips = chart.tips_mm(rho)
    at_row = weight.sum(axis=1) / volume
    at_column = weight.sum(axis=0) / volume
    k = chart.slab_at(float(at_row @ along))
    middle = int(np.clip(round(float(at_column @ j)), 0, deep.shape[1] - 1))
    ray = int(turn[first + middle])
    peak = np.unravel_index(int(np.argmax(np.where(patch, depth, -np.inf))), depth.shape)
    seen = along[over.any(axis=1)]
    width = np.linalg.norm(np.diff(tips[k][turn][first : last + 1], axis=0), axis=1)
    round_it = np.interp(j, np.arange(deep.shape[1]), np.concatenate([[0.0], np.cumsum(width)]))[over.any(axis=0)]
    return Patch(
        distance_mm=float(at_row @ along),
        clock_deg=clock_deg(tips[k, ray], chart.centre_mm[k]),
        deepest_mm=float(depth[peak]),
        deepest_at_mm=float(chart.distance_mm[peak[0]]),
        deepest_clock_deg=clock_deg(tips[peak], chart.centre_mm[peak[0]]),
        mean_mm=volume / plan,
        from_mm=float(seen[0]),
        to_mm=float(seen[-1]),
        around_mm=float(round_it[-1] - round_it[0]),
        area_mm2=plan,
        volume_mm3=volume,
    )


def _steps(count: int) -> F64:
    return np.linspace(0.0, count - 1.0, FINE * (count - 1) + 1)


def _share(steps: F64) -> F64:
    """Return how much of a whole step each fine one stands for, those at the ends for half of that."""
    share = np.full(len(steps), 1.0 / FINE)
    share[[0, -1]] *= 0.5
    return share


def _between(values: F64, i: F64, j: F64) -> F64:
    """Return values (a, b) at places between rows and columns."""
    rows = np.array([np.interp(i, np.arange(values.shape[0]), column) for column in values.T]).T
    return np.array([np.interp(j, np.arange(values.shape[1]), row) for row in rows])
