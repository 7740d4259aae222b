"""How much metal stands between the port as it is and the port wanted, and on which side?

With W the wanted section and T the union of W and the present one, what comes off is T less the present;
what the present section already holds outside W is missing metal and is never set against it.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from portgeom.geometry.arrays import F64, Bool
from portgeom.geometry.chart import Chart
from portgeom.geometry.moments import Moments, polygon_moments, strip_moments
from portgeom.geometry.surface import Surface, with_distances
from portgeom.geometry.union import joined, moments_of, padded
from portgeom.model.lofted import LoftedPort, LoftedStage
from portgeom.model.wanted import Wanted
from portgeom.questions.shape.deepest import Deepest, deepest_cut
from portgeom.questions.shape.profile import AreaAt, smallest_area


@dataclass(frozen=True, slots=True)
class BySide:
    """Volumes in mm3: above the present upper boundary between its walls, below the lower, and beside."""

    roof: float
    floor: float
    left: float
    right: float


@dataclass(frozen=True, slots=True)
class Zone:
    """What comes off between two stations."""

    from_mm: float
    to_mm: float
    volume_mm3: float


@dataclass(frozen=True, slots=True)
class Removal:
    """Metal between a stage and the port wanted.

    Attributes
    ----------
    volume_mm3, mass_g : float
    by_side : BySide
        Adds up to the volume.
    by_zone : tuple of Zone
        Between the stage's stations; adds up to the volume.
    deepest : Deepest or None
        None where nothing comes off.
    missing_mm3 : float
        Where the stage is already outside what is wanted.
    volume_after_mm3 : float
    smallest_after : AreaAt
    after : Surface
        The port once the metal is off: the union of wanted and present.
    """

    volume_mm3: float
    mass_g: float
    by_side: BySide
    by_zone: tuple[Zone, ...]
    deepest: Deepest | None
    missing_mm3: float
    volume_after_mm3: float
    smallest_after: AreaAt
    after: Surface


def removal(port: LoftedPort, stage: LoftedStage, wanted: Wanted, *, density_g_cc: float) -> Removal:
    """Return the metal between a stage of a port and the port wanted."""
    return metal_between(port, stage, wanted.rho_mm, wanted.polygons, density_g_cc=density_g_cc)


def metal_between(
    port: LoftedPort, stage: LoftedStage, rho_mm: F64, polygons: Sequence[F64], *, density_g_cc: float
) -> Removal:
    """Return the metal between a stage of a port and other sections on its chart.

    Parameters
    ----------
    rho_mm : (m, n) float
        Distances of the other sections along the rays.
    polygons : m arrays (k, 2)
        The other sections themselves.
    """
    chart, present = port.chart, stage.surface
    before = present.points_mm
    proud = present.rho_mm - rho_mm
    proud = np.where(np.abs(proud) <= chart.tolerance.length_mm, 0.0, proud)
    union = padded(joined(list(before), polygons, proud))
    all_moments = polygon_moments(union)
    off = _where(np.any(proud < 0.0, axis=1), all_moments - polygon_moments(before))
    missing = _where(np.any(proud > 0.0, axis=1), all_moments - moments_of(polygons))
    after = with_distances(present, np.maximum(present.rho_mm, rho_mm), off)
    by_interval = chart.swept_mm3(off)
    volume = float(by_interval.sum())
    return Removal(
        volume_mm3=volume,
        mass_g=volume / 1000.0 * density_g_cc,
        by_side=_by_side(chart, before, union, off),
        by_zone=_by_zone(chart, stage.distance_mm, by_interval),
        deepest=deepest_cut(present, after),
        missing_mm3=float(chart.swept_mm3(missing).sum()),
        volume_after_mm3=float(after.volume_mm3.sum()),
        smallest_after=smallest_area(port, after.flow_area_mm2),
        after=after,
    )


def _where(chosen: Bool, moments: Moments) -> Moments:
    """Return moments that are exactly nothing where a section was not touched."""
    return Moments(np.where(chosen, moments.area_mm2, 0.0), np.where(chosen[:, None], moments.first_mm3, 0.0))


def _by_zone(chart: Chart, stations: F64, by_interval: F64) -> tuple[Zone, ...]:
    first = np.searchsorted(chart.knots_mm, stations - chart.tolerance.length_mm)
    volumes = np.add.reduceat(by_interval, first[:-1])
    return tuple(
        Zone(float(a), float(b), float(v)) for a, b, v in zip(stations[:-1], stations[1:], volumes, strict=True)
    )


def _by_side(chart: Chart, before: F64, after: F64, off: Moments) -> BySide:
    """Return the volume between two runs of sections (m, n, 2), parted by the walls of the first.

    What is neither beside the walls nor straight over or under the section, in an overhang of a wall, goes
    with the side it lies on.
    """
    low, high = before[..., 0].min(axis=1), before[..., 0].max(axis=1)
    endless = np.full(len(low), np.inf)
    left = _strips(after, -endless, low)
    right = _strips(after, high, endless)
    roof = _chain(before, after, low, high, upper=True) - _chain(before, before, low, high, upper=True)
    floor = _chain(before, after, low, high, upper=False) - _chain(before, before, low, high, upper=False)
    rest = off - left - right - roof - floor
    lever = rest.first_mm3[:, 0] - chart.centre_mm[:, 0] * rest.area_mm2
    on_right = (lever * rest.area_mm2 > 0.0).astype(np.float64)
    right = right + Moments(rest.area_mm2 * on_right, rest.first_mm3 * on_right[:, None])
    left = off - right - roof - floor
    return BySide(*(float(chart.swept_mm3(m).sum()) for m in (roof, floor, left, right)))


def _strips(points: F64, low: F64, high: F64) -> Moments:
    return strip_moments(points, np.roll(points, -1, axis=1), low, high)


def _chain(parted: F64, points: F64, low: F64, high: F64, *, upper: bool) -> Moments:
    """Return the moments under the boundary above (or over that below) the line through ``parted``'s widest points.

    One line parts both runs of sections: their own widest points may lie at unlike heights.
    """
    row = np.arange(len(parted))
    right, left = parted[row, np.argmax(parted[..., 0], axis=1)], parted[row, np.argmin(parted[..., 0], axis=1)]
    run = (right - left)[:, None]
    ends = np.roll(points, -1, axis=1)
    away = 0.5 * (points + ends) - left[:, None]
    above = run[..., 0] * away[..., 1] > run[..., 1] * away[..., 0]
    return strip_moments(points, ends, low, high, counted=above if upper else ~above)
