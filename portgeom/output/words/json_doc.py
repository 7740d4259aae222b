"""What does each command say to a program? One document, in the job's units, without NaN."""

from __future__ import annotations

import json
import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, TypeAlias

from portgeom import __version__
from portgeom.job.units import area_from_mm2, area_word, length_from_mm
from portgeom.job.values import Units

if TYPE_CHECKING:
    from portgeom.questions.shape.bulges import Bulge, RoofPlace
    from portgeom.questions.shape.profile import AreaAt, Profile
    from portgeom.questions.shape.removal import Removal
    from portgeom.questions.shape.roof import Roof
    from portgeom.questions.shape.taper import Dip, Taper
    from portgeom.questions.valve_job.exhaust import Exhaust
    from portgeom.questions.whole import Answers

Json: TypeAlias = "dict[str, Json] | list[Json] | str | float | int | bool | None"


@dataclass(frozen=True, slots=True)
class Numbers:
    """Turns internal values into the numbers of a document, rounded where the arithmetic ends."""

    units: Units

    def length(self, length_mm: float) -> float | None:
        """Return a length; None for one that does not exist."""
        return _rounded(length_from_mm(length_mm, self.units), 4 if self.units == "mm" else 6)

    def area(self, area_mm2: float) -> float | None:
        """Return an area."""
        return _rounded(area_from_mm2(area_mm2, self.units), 3 if self.units == "mm" else 6)

    def lengths(self, lengths_mm: Iterable[float]) -> list[Json]:
        """Return lengths, None where there is none."""
        return [self.length(float(x)) for x in lengths_mm]


def cc(volume_mm3: float) -> float | None:
    """Return a volume in cc."""
    return _rounded(volume_mm3 / 1000.0, 4)


def document(command: str, units: Units, ports: Sequence[Json], **more: Json) -> str:
    """Return the whole document as text."""
    head: dict[str, Json] = {
        "portgeom": __version__,
        "command": command,
        "units": {"length": units, "area": area_word(units), "volume": "cc"},
        **more,
        "ports": list(ports),
    }
    return json.dumps(head, ensure_ascii=False, allow_nan=False)


def profile_json(result: Profile, n: Numbers) -> dict[str, Json]:
    """Return the entry of ``profile``, without port and stage."""
    return {
        "length": n.length(result.length_mm),
        "volume_cc": cc(result.volume_mm3),
        "stations": [
            {
                "station": s.station,
                "distance": n.length(s.distance_mm),
                "place": s.place or None,
                "area": n.area(s.area_mm2),
                "flow_area": n.area(s.flow_area_mm2),
                "perimeter": n.length(s.perimeter_mm),
                "width": n.length(s.width_mm),
                "height": n.length(s.height_mm),
                "hydraulic_diameter": n.length(s.hydraulic_diameter_mm),
                "centroid": n.lengths(s.centroid_mm),
            }
            for s in result.stations
        ],
        "profile": [
            {"distance": n.length(float(s)), "area": n.area(float(a)), "flow_area": n.area(float(f))}
            for s, a, f in zip(result.distance_mm, result.area_mm2, result.flow_area_mm2, strict=True)
        ],
        "smallest": _area_at(result.smallest, n),
        "taper": _taper(result.taper, n),
        "exhaust": None if result.exhaust is None else _exhaust(result.exhaust, n),
    }


def roof_json(result: Roof, n: Numbers) -> dict[str, Json]:
    """Return the entry of ``roof``."""
    roof_map = result.map
    return {
        "line": [n.lengths(row) for row in result.line_mm],
        "line_from": result.line_from,
        "peak": _roof_place(result.peak, n),
        "lowest": _roof_place(result.lowest, n),
        "roof_end": {"distance": n.length(result.end_mm), "reason": result.end_reason},
        "bulges": [_bulge(b, n) for b in result.bulges],
        "map": {
            "distance": n.lengths(roof_map.distance_mm),
            "across": n.lengths(roof_map.across_mm),
            "proud": [n.lengths(row) for row in roof_map.proud_mm],
        },
    }


def removal_json(result: Removal, n: Numbers) -> dict[str, Json]:
    """Return the entry of ``removal``."""
    side = result.by_side
    deepest = result.deepest
    return {
        "volume_cc": cc(result.volume_mm3),
        "mass_g": _rounded(result.mass_g, 2),
        "by_side": {
            "roof": cc(side.roof),
            "floor": cc(side.floor),
            "left": cc(side.left),
            "right": cc(side.right),
        },
        "by_zone": [
            {"from": n.length(z.from_mm), "to": n.length(z.to_mm), "volume_cc": cc(z.volume_mm3)}
            for z in result.by_zone
        ],
        "deepest": None
        if deepest is None
        else {
            "distance": n.length(deepest.distance_mm),
            "clock": _rounded(deepest.clock_deg, 1),
            "depth": n.length(deepest.depth_mm),
        },
        "missing_cc": cc(result.missing_mm3),
        "volume_after_cc": cc(result.volume_after_mm3),
        "smallest_after": _area_at(result.smallest_after, n),
    }


def named(answer: Answers, entry: dict[str, Json]) -> dict[str, Json]:
    """Return an entry with its port and stage in front."""
    return {"port": answer.port.port.name, "stage": answer.stage.stage.name, **entry}


def _taper(taper: Taper, n: Numbers) -> dict[str, Json]:
    return {
        "against": taper.against,
        "line": [[n.length(float(s)), n.area(float(a))] for s, a in taper.line_mm2],
        "entry_area": n.area(taper.entry_area_mm2),
        "seat_area": n.area(taper.seat_area_mm2),
        "worst_above": {
            "distance": n.length(taper.worst_above.distance_mm),
            "percent": _rounded(taper.worst_above.percent, 3),
        },
        "worst_below": {
            "distance": n.length(taper.worst_below.distance_mm),
            "percent": _rounded(taper.worst_below.percent, 3),
        },
        "necks": [_dip(d, n, "drop_percent") for d in taper.necks],
        "bellies": [_dip(d, n, "rise_percent") for d in taper.bellies],
        "steepest": {
            "distance": n.length(taper.steepest.distance_mm),
            "cone_angle_deg": _rounded(taper.steepest.cone_angle_deg, 2),
        },
        "narrows_percent": _rounded(taper.narrows_percent, 3) if taper.exhaust else None,
        "smooth": taper.smooth,
    }


def _exhaust(found: Exhaust, n: Numbers) -> Json:
    return {
        "throat_percent": None if found.throat_percent is None else _rounded(found.throat_percent, 2),
        "face_percent": _rounded(found.face_percent, 2),
        "floor_lower": n.length(found.floor_lower_mm),
        "as_common_practice": not found.found,
    }


def _dip(dip: Dip, n: Numbers, percent: str) -> Json:
    return {
        "distance": n.length(dip.distance_mm),
        "area": n.area(dip.area_mm2),
        percent: _rounded(dip.percent, 3),
        "planned": dip.planned,
        "between_stations": dip.between_stations,
    }


def _bulge(bulge: Bulge, n: Numbers) -> Json:
    return {
        "peak": _roof_place(bulge.peak, n),
        "stands_out": n.length(bulge.stands_out_mm),
        "from": n.length(bulge.from_mm),
        "to": n.length(bulge.to_mm),
        "across_from": n.length(bulge.across_from_mm),
        "across_to": n.length(bulge.across_to_mm),
        "area": n.area(bulge.area_mm2),
        "volume_cc": cc(bulge.volume_mm3),
        "stations_seen": bulge.stations_seen,
    }


def _roof_place(place: RoofPlace, n: Numbers) -> Json:
    return {
        "distance": n.length(place.distance_mm),
        "across": n.length(place.across_mm),
        "proud": n.length(place.proud_mm),
    }


def _area_at(place: AreaAt, n: Numbers) -> Json:
    return {"distance": n.length(place.distance_mm), "area": n.area(place.area_mm2)}


def _rounded(value: float, digits: int) -> float | None:
    """Return a number rounded, None for NaN and infinity, and never minus zero."""
    return None if not math.isfinite(value) else round(float(value), digits) + 0.0
