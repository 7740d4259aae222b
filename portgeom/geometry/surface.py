"""What surface runs through measured sections, and what are its areas and volume?"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, fields
from functools import cached_property

import numpy as np

from portgeom.geometry.arrays import F64, Bool, Int, frozen, read_only
from portgeom.geometry.chart import Chart
from portgeom.geometry.findings import Finding, GeometryError
from portgeom.geometry.flow_area import flow_area_mm2
from portgeom.geometry.interpolate import shape_preserving
from portgeom.geometry.moments import Moments, polygon_moments, polygon_perimeter_mm
from portgeom.geometry.outline import Outline
from portgeom.geometry.rays import read_outlines
from portgeom.geometry.told_lengths import mm

HIDDEN_SHARE = 0.005
"""Undercut area, as a share of a section, above which it is refused."""


@dataclass(frozen=True)
class Surface:
    """A lofted port: one distance for every slab and ray of its chart; with a leading axis, many at once.

    Its points are laid out once, when they are first asked for, and stay here when the surface is sent elsewhere.

    Attributes
    ----------
    chart : Chart
    rho_mm : (..., m, n) float
    moments : Moments
        Of every slab's section (..., m): the polygon's own, plus what the measured outlines hold more than
        their polygons at the stations, carried along between them.
    perimeter_mm : (m,) float
    hidden_mm2 : (m,) float
        Undercut that no ray sees, at the stations it was measured at.
    """

    chart: Chart
    rho_mm: F64
    moments: Moments
    perimeter_mm: F64
    hidden_mm2: F64

    @property
    def area_mm2(self) -> F64:
        """Return the area in the plane of every slab (..., m)."""
        return self.moments.area_mm2

    @cached_property
    def points_mm(self) -> F64:
        """Return section points (..., m, n, 2)."""
        return read_only(self.chart.tips_mm(self.rho_mm))

    @cached_property
    def world_mm(self) -> F64:
        """Return the same points in the head frame (..., m, n, 3)."""
        return read_only(self.chart.planes.world_mm(self.points_mm))

    def __getstate__(self) -> dict[str, object]:
        return {field.name: getattr(self, field.name) for field in fields(self)}

    @property
    def centroid_mm(self) -> F64:
        """Return the centroid (..., m, 2) of every section."""
        return self.moments.first_mm3 / self.moments.area_mm2[..., None]

    @property
    def volume_mm3(self) -> F64:
        """Return the volume (..., i) between knots of the chart."""
        return self.chart.swept_mm3(self.moments)

    @property
    def flow_area_mm2(self) -> F64:
        """Return the area square to the flow (..., m), as ``flow_area_mm2`` has it."""
        return flow_area_mm2(self.chart, self.moments)


def loft(chart: Chart, distance_mm: F64, outlines: Sequence[Outline]) -> Surface:
    """Return the surface through outlines at distances that are knots of the chart.

    Raises
    ------
    GeometryError
        Naming every section that does not hold the chart's spine, or hides more than half a percent of
        its area behind its own wall.
    """
    centre, half = chart.spine_at(distance_mm)
    rho, hidden, inside = _read(chart, outlines, centre, half)
    area = np.array([o.area_mm2 for o in outlines])
    findings = [
        Finding(
            int(k),
            "outline",
            "does not reach round the middle of the port's first measured section there",
            "check across, up and the distance of this section",
        )
        for k in np.flatnonzero(~inside)
    ]
    findings += [
        Finding(
            int(k),
            "outline",
            f"is undercut: {100.0 * hidden[k] / area[k]:.1f} percent of it lies behind its own wall",
            "trace it without the undercut, or tilt the plane",
        )
        for k in np.flatnonzero(inside & (hidden > HIDDEN_SHARE * area))
    ]
    if findings:
        raise GeometryError(findings)
    return _surface(chart, distance_mm, rho, outlines, hidden, centre, half)


def with_distances(surface: Surface, rho_mm: F64, more: Moments) -> Surface:
    """Return a surface on the same chart with other distances and with ``more`` area than ``surface``.

    The area added is given, since it is known better from the polygons that were joined than from the
    rays that meet them; the perimeter changes as the polygons through the rays do.
    """
    chart = surface.chart
    moved = np.flatnonzero((rho_mm != surface.rho_mm).any(axis=1))
    centre, half = chart.centre_mm[moved], chart.half_mm[moved]
    before, after = (polygon_perimeter_mm(chart.rays.tips_mm(centre, half, r[moved])) for r in (surface.rho_mm, rho_mm))
    longer = np.zeros(len(rho_mm))
    longer[moved] = after - before
    return Surface(
        chart,
        frozen(rho_mm),
        surface.moments + more,
        surface.perimeter_mm + longer,
        surface.hidden_mm2,
    )


def station_distances(chart: Chart, distance_mm: F64, outlines: Sequence[Outline]) -> F64:
    """Return how far (k, n) outlines at distances that are knots of the chart lie along its rays."""
    centre, half = chart.spine_at(distance_mm)
    return _read(chart, outlines, centre, half)[0]


def crossings(chart: Chart, rho_mm: F64) -> tuple[Finding, ...]:
    """Return where section planes cross inside distances (m, n), each with the turn that would not.

    The station of a finding is the second of the two between which they cross, on the chart's path.
    """
    sweep = chart.sweep
    stretch = sweep.stretch(chart.tips_mm(rho_mm)[sweep.slab])
    interval = chart.path.interval_of(0.5 * (chart.knots_mm[:-1] + chart.knots_mm[1:]))
    row_interval = np.repeat(interval, np.diff([*sweep.first_row, len(sweep.slab)]))
    findings = []
    for i in np.unique(row_interval[(stretch <= 0.0).any(axis=1)]):
        rows = row_interval == i
        # stretch = advance - reach x turn: the turn may be at most advance / (reach x turn) of itself
        taken = sweep.advance[rows, None] - stretch[rows]
        share = float(
            (sweep.advance[rows, None] / np.where(taken > 0.0, taken, np.inf)).min(initial=np.inf, where=taken > 0.0)
        )
        turn = np.degrees(chart.path.turn_rad[i])
        reach = chart.path.turn_rad[i] and float(
            (-stretch[rows]).max() * np.diff(chart.path.distance_mm)[i] / chart.path.turn_rad[i]
        )
        most = np.floor(10.0 * share * turn) / 10.0
        mend = (
            f"turn at most {most:.1f} degrees there, or lay the path at least {mm(np.ceil(10.0 * reach) / 10.0)} "
            "nearer to the inside of the bend"
        )
        findings.append(
            Finding(
                int(i) + 1,
                "pitch",
                f"its plane crosses the plane of the station before inside the passage (turn {turn:.1f} degrees "
                "between them)",
                mend if most >= 0.0 else "stand the planes there more nearly square to the path",
            )
        )
    return tuple(findings)


def _read(chart: Chart, outlines: Sequence[Outline], centre: F64, half: F64) -> tuple[F64, F64, Bool]:
    """Return distances, hidden area and whether the spine is inside; outlines of one size go together."""
    sizes: dict[int, list[int]] = {}
    for k, outline in enumerate(outlines):
        sizes.setdefault(len(outline.points_mm), []).append(k)
    rho = np.empty((len(outlines), chart.rays.total))
    hidden, inside = np.zeros(len(outlines)), np.ones(len(outlines), dtype=bool)
    for members in sizes.values():
        points = np.stack([outlines[k].points_mm for k in members])
        reading = read_outlines(chart.rays, points, centre[members], half[members])
        rho[members], hidden[members], inside[members] = reading.rho_mm, reading.hidden_mm2, reading.inside
    return rho, hidden, inside


def _surface(
    chart: Chart,
    distance: F64,
    rho: F64,
    outlines: Sequence[Outline],
    hidden: F64,
    centre: F64,
    half: F64,
) -> Surface:
    drawn = chart.rays.tips_mm(centre, half, rho)
    moments, perimeter = polygon_moments(drawn), polygon_perimeter_mm(drawn)
    area = np.array([o.area_mm2 for o in outlines])
    first = area[:, None] * np.array([o.centroid_mm for o in outlines])
    more = np.column_stack(
        [
            area - moments.area_mm2,
            first - moments.first_mm3,
            np.array([o.perimeter_mm for o in outlines]) - perimeter,
            hidden,
        ]
    )
    s = chart.distance_mm
    carried = np.column_stack([np.interp(s, distance, column) for column in more.T])
    everywhere = shape_preserving(distance, rho, np.clip(s, distance[0], distance[-1]))
    points = chart.tips_mm(everywhere)
    return Surface(
        chart=chart,
        rho_mm=frozen(everywhere),
        moments=polygon_moments(points) + Moments(carried[:, 0], carried[:, 1:3]),
        perimeter_mm=frozen(polygon_perimeter_mm(points) + carried[:, 3]),
        hidden_mm2=frozen(carried[:, 4]),
    )


def knot_slabs(chart: Chart, distance_mm: F64) -> Int:
    """Return the slab of each distance that is a knot."""
    return chart.knot_slab[np.searchsorted(chart.knots_mm, distance_mm - chart.tolerance.length_mm)]
