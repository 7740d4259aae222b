"""How does the area run along the path, and does it taper smoothly from entry to throat?"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from portgeom.geometry.arrays import F64
from portgeom.job.values import Limits, PlaceName, Valve
from portgeom.model.lofted import LoftedPort, LoftedStage
from portgeom.questions.shape.taper import Taper, taper_of
from portgeom.questions.valve_job.exhaust import Exhaust, exhaust


@dataclass(frozen=True, slots=True)
class StationFigures:
    """The measures of one measured section. ``flow_area_mm2`` is square to the flow, the rest in the plane."""

    station: str
    distance_mm: float
    place: PlaceName
    area_mm2: float
    flow_area_mm2: float
    perimeter_mm: float
    width_mm: float
    height_mm: float
    hydraulic_diameter_mm: float
    centroid_mm: F64


@dataclass(frozen=True, slots=True)
class AreaAt:
    """An area square to the flow and where it is."""

    distance_mm: float
    area_mm2: float


@dataclass(frozen=True, slots=True)
class Profile:
    """The area along one stage of a port.

    Attributes
    ----------
    length_mm : float
        Of the path.
    volume_mm3 : float
        From the first station to the last.
    stations : tuple of StationFigures
    distance_mm, area_mm2, flow_area_mm2 : (m,) float
        At every slab, at most 0.5 mm apart unless asked otherwise.
    smallest : AreaAt
        Smallest flow area up to the throat.
    taper : Taper
    exhaust : Exhaust or None
        How it stands to common practice; None for an intake.
    """

    length_mm: float
    volume_mm3: float
    stations: tuple[StationFigures, ...]
    distance_mm: F64
    area_mm2: F64
    flow_area_mm2: F64
    smallest: AreaAt
    taper: Taper
    exhaust: Exhaust | None = None


def profile(port: LoftedPort, stage: LoftedStage, limits: Limits, *, valves: Sequence[Valve] = ()) -> Profile:
    """Return the area profile of one stage of a port.

    ``valves`` are the job's; the exhaust's is what an exhaust port's throat is held against.

    Areas, perimeters and centroids of stations are those of the outlines themselves; between stations
    they are the loft's, with the stations' own differences carried along.
    """
    surface, chart = stage.surface, port.chart
    flow = surface.flow_area_mm2
    rows = stage.stage.sections.rows
    stations = tuple(
        StationFigures(
            station=row.station,
            distance_mm=float(chart.distance_mm[slab]),
            place=row.place,
            area_mm2=row.outline.area_mm2,
            flow_area_mm2=float(flow[slab]),
            perimeter_mm=row.outline.perimeter_mm,
            width_mm=row.outline.width_mm,
            height_mm=row.outline.height_mm,
            hydraulic_diameter_mm=row.outline.hydraulic_diameter_mm,
            centroid_mm=row.outline.centroid_mm,
        )
        for row, slab in zip(rows, stage.slab, strict=True)
    )
    taper = taper_of(
        chart.distance_mm,
        flow,
        station_slab=stage.slab,
        places=tuple(r.place for r in rows),
        throat_mm=port.throat_mm,
        schedule=port.port.schedule,
        limits=limits,
        exhaust=port.port.kind == "exhaust",
    )
    practice = None
    if port.port.kind == "exhaust":
        valve = next((v for v in valves if v.kind == "exhaust"), None)
        practice = exhaust(taper, valve, cast=port.cast.surface, now=surface, to_mm=port.throat_mm)
    return Profile(
        length_mm=chart.path.length_mm,
        volume_mm3=float(surface.volume_mm3.sum()),
        stations=stations,
        distance_mm=chart.distance_mm,
        area_mm2=surface.area_mm2,
        flow_area_mm2=flow,
        smallest=smallest_area(port, flow),
        taper=taper,
        exhaust=practice,
    )


def smallest_area(port: LoftedPort, flow_area_mm2: F64) -> AreaAt:
    """Return the smallest flow area from the face to the throat, the first of equal ones."""
    last = port.chart.slab_at(port.throat_mm)
    slab = int(np.argmin(flow_area_mm2[: last + 1]))
    return AreaAt(float(port.chart.distance_mm[slab]), float(flow_area_mm2[slab]))
