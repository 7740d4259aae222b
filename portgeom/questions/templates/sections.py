"""Which section has a port at a station or a distance: as it is, and as wanted?"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from portgeom.geometry.arrays import F64, frozen
from portgeom.job.values import PlaceName
from portgeom.model.lofted import LoftedPort, LoftedStage
from portgeom.model.roof_end import TURNED_DEG
from portgeom.model.wanted import Wanted


@dataclass(frozen=True, slots=True)
class PlacedSection:
    """One section of a port, in (u, v) about the path, looking in.

    Attributes
    ----------
    station : str
        Its station, or "" between stations.
    place : PlaceName
        The named place there, or "".
    distance_mm : float
        Along the path.
    present_mm, wanted_mm : (n, 2), (k, 2) float
        Outlines as measured and as wanted, anticlockwise, without a repeated end.
    turned : bool
        Whether the flow has turned so far there that the section is worked from the chamber.
    """

    station: str
    place: PlaceName
    distance_mm: float
    present_mm: F64
    wanted_mm: F64
    turned: bool


class NotOnThePort(ValueError):  # noqa: N818  it names a place
    """There is no section at such a distance. The message says from where to where there is one."""


def stations(port: LoftedPort, stage: LoftedStage, wanted: Wanted) -> tuple[PlacedSection, ...]:
    """Return the section at every station of a stage, its outline as measured itself."""
    turned = _turned(port)
    rows = zip(stage.stage.sections.rows, stage.slab, stage.distance_mm, strict=True)
    return tuple(
        PlacedSection(
            row.station,
            row.place,
            float(s),
            row.outline.points_mm,
            frozen(wanted.polygons[slab]),
            bool(turned[slab]),
        )
        for row, slab, s in rows
    )


def sections_at(
    port: LoftedPort, stage: LoftedStage, wanted: Wanted, distances_mm: Sequence[float]
) -> tuple[PlacedSection, ...]:
    """Return the sections at some distances along the path: a station's own where there is one.

    Raises
    ------
    NotOnThePort
        Where a distance lies before the face or behind the last station.
    """
    chart = port.chart
    s, near = chart.distance_mm, chart.tolerance.length_mm
    measured = {section.distance_mm: section for section in stations(port, stage, wanted)}
    turned = _turned(port)
    present, target = stage.surface.points_mm, chart.tips_mm(wanted.rho_mm)
    found = []
    for distance in distances_mm:
        if not s[0] - near <= distance <= s[-1] + near:
            raise NotOnThePort(f"port {port.port.name} runs from {s[0]:g} to {s[-1]:g} mm along its path")
        station = next((m for d, m in measured.items() if abs(d - distance) <= near), None)
        if station is not None:
            found.append(station)
            continue
        after = int(np.clip(np.searchsorted(s, distance), 1, len(s) - 1))
        share = (distance - s[after - 1]) / (s[after] - s[after - 1])
        # places on one ray run straight from slab to slab
        here = [frozen((1.0 - share) * p[after - 1] + share * p[after]) for p in (present, target)]
        found.append(PlacedSection("", "", float(distance), here[0], here[1], bool(turned[after])))
    return tuple(found)


def _turned(port: LoftedPort) -> F64:
    normal = port.chart.planes.normal
    return np.degrees(np.arccos(np.clip(normal @ normal[0], -1.0, 1.0))) > TURNED_DEG
