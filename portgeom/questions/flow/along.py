"""How fast does air run at every station of a port, and where fastest?

Mass is kept from section to section, and nothing is lost: the total pressure is the supply's everywhere. A speed
is the mean over a section; near the inside of a bend it is higher.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal, TypeAlias

import numpy as np

from portgeom.geometry.arrays import F64, frozen
from portgeom.job.flow_values import FlowReading, Stated
from portgeom.job.values import PlaceName
from portgeom.model.lofted import LoftedPort, LoftedStage
from portgeom.questions.flow.air import Air
from portgeom.questions.flow.blocked import Blocked
from portgeom.questions.flow.theoretical import Supply

BELIEVABLE_PERCENT: dict[PlaceName, tuple[float, float]] = {
    "pinch": (88.0, 105.0),
    "turn": (105.0, 115.0),
    "bowl": (112.0, 125.0),
}
"""Flow area in percent of the throat less the stem, of sound ports. Common practice, no source."""

FIRST: tuple[PlaceName, ...] = ("face", "pinch", "turn", "bowl", "throat")
"""The named places, in the order they are told."""

BasisKind: TypeAlias = Literal["rate", "reading", "depression"]
Verdict: TypeAlias = Literal["below", "within", "above", ""]


class ChokedFlow(ValueError):  # noqa: N818  it names what the flow would be
    """More flow is asked than the smallest section passes at Mach 1.

    ``limit_kg_s`` is what it passes, ``air`` that of the room.
    """

    def __init__(self, limit_kg_s: float, area_mm2: float, distance_mm: float, air: Air) -> None:
        self.limit_kg_s, self.area_mm2, self.distance_mm, self.air = limit_kg_s, area_mm2, distance_mm, air
        super().__init__(f"the smallest section passes at most {limit_kg_s:.4f} kg/s")


@dataclass(frozen=True, slots=True)
class Basis:
    """What flow the speeds are for.

    ``kind`` is "rate" for a flow that was asked for, "reading" for the largest reading of the bench, and
    "depression" for what would pass if the smallest section ran at the theoretical speed: more than any bench
    will read. ``reading`` is there for the second.
    """

    kind: BasisKind
    mass_kg_s: float
    depression: Stated
    reading: FlowReading | None = None


@dataclass(frozen=True, slots=True)
class Sections:
    """The net flow areas of a stage of a port.

    Attributes
    ----------
    distance_mm, area_mm2, net_mm2 : (m,) float
        At every slab: flow area, and what stem and boss leave of it.
    smallest, throat : int
        The slab of the smallest net area from face to throat, and that of the throat.
    before_mm2 : float
        The smallest net area before the throat, whose own size the valve gives.
    """

    distance_mm: F64
    area_mm2: F64
    net_mm2: F64
    smallest: int
    throat: int
    before_mm2: float


@dataclass(frozen=True, slots=True)
class StationSpeed:
    """One station: areas square to the flow, ratio to the smallest, and the speed there."""

    station: str
    place: PlaceName
    distance_mm: float
    flow_area_mm2: float
    net_mm2: float
    ratio_to_smallest: float
    throat_percent: float
    speed_m_s: float
    mach: float


@dataclass(frozen=True, slots=True)
class Place:
    """A named place, and how its share of the net throat compares with common practice ("" where none is)."""

    name: PlaceName
    at: StationSpeed
    believable_percent: tuple[float, float] | None
    verdict: Verdict


@dataclass(frozen=True, slots=True)
class Along:
    """Speeds along a stage of a port.

    Attributes
    ----------
    speed_m_s, mach : (m,) float
        At every slab.
    fastest : StationSpeed
        The place of the smallest net area, which need not be a station; its name is then "".
    places : tuple of Place
    not_named : tuple of str
        Places that the section table does not name.
    """

    basis: Basis
    sections: Sections
    speed_m_s: F64
    mach: F64
    stations: tuple[StationSpeed, ...]
    places: tuple[Place, ...]
    fastest: StationSpeed
    not_named: tuple[PlaceName, ...]


def sections_of(port: LoftedPort, stage: LoftedStage, taken: Blocked) -> Sections:
    """Return the net flow areas of a stage."""
    area, distance = stage.surface.flow_area_mm2, port.chart.distance_mm
    net = area - taken.area_mm2
    throat = port.chart.slab_at(port.throat_mm)
    ahead = stage.slab[stage.slab < throat]
    return Sections(
        distance_mm=distance,
        area_mm2=area,
        net_mm2=frozen(net),
        smallest=int(np.argmin(net[: throat + 1])),
        throat=throat,
        before_mm2=_before_mm2(net, int(ahead.max()), throat) if len(ahead) else float(net[throat]),
    )


def _before_mm2(net_mm2: F64, last: int, throat: int) -> float:
    """Return the smallest area up to the last station before the throat, or beyond it where the port dips there."""
    dip = float(net_mm2[last:throat].min())
    before = float(net_mm2[: last + 1].min())
    return min(before, dip) if dip < net_mm2[throat] else before


def choked_mass_kg_s(sections: Sections, supply: Supply) -> float:
    """Return what the smallest section passes at Mach 1."""
    return supply.choked_flux * 1e-6 * float(sections.net_mm2[sections.smallest])


def along(port: LoftedPort, stage: LoftedStage, sections: Sections, supply: Supply, basis: Basis, *, air: Air) -> Along:
    """Return the speeds along a stage of a port.

    Raises
    ------
    ChokedFlow
        Where the smallest section cannot pass so much.
    """
    limit, j = choked_mass_kg_s(sections, supply), sections.smallest
    mass = basis.mass_kg_s
    if mass > limit * (1.0 + 1e-12):
        raise ChokedFlow(limit, float(sections.net_mm2[j]), float(sections.distance_mm[j]), air)
    last = len(sections.net_mm2) - 1
    flux = np.minimum(mass / (1e-6 * sections.net_mm2), supply.choked_flux)
    mach = supply.mach_at_flux(flux)
    speed = supply.speed_m_s(mach)

    def figures(slab: int, station: str, place: PlaceName) -> StationSpeed:
        return StationSpeed(
            station=station,
            place=place,
            distance_mm=float(sections.distance_mm[slab]),
            flow_area_mm2=float(sections.area_mm2[slab]),
            net_mm2=float(sections.net_mm2[slab]),
            ratio_to_smallest=float(sections.net_mm2[slab] / sections.net_mm2[j]),
            throat_percent=100.0 * float(sections.net_mm2[slab] / sections.net_mm2[sections.throat]),
            speed_m_s=float(speed[slab]),
            mach=float(mach[slab]),
        )

    rows = stage.stage.sections.rows
    stations = tuple(figures(int(k), r.station, r.place) for r, k in zip(rows, stage.slab, strict=True))
    named = {s.place: s for s in stations if s.place}
    named.setdefault("face", figures(0, stations[0].station if stage.slab[0] == 0 else "", "face"))
    own = next((s.station for s, k in zip(stations, stage.slab, strict=True) if k == sections.throat), "")
    named.setdefault("throat", figures(min(sections.throat, last), own, "throat"))
    at_smallest = next((s for s, k in zip(stations, stage.slab, strict=True) if k == j), None)
    return Along(
        basis=basis,
        sections=sections,
        speed_m_s=frozen(speed),
        mach=frozen(mach),
        stations=stations,
        places=tuple(_place(name, named[name]) for name in FIRST if name in named),
        fastest=at_smallest or figures(j, "", ""),
        not_named=tuple(name for name in FIRST if name not in named),
    )


def _place(name: PlaceName, at: StationSpeed) -> Place:
    usual = BELIEVABLE_PERCENT.get(name)
    return Place(name, at, usual, "" if usual is None else _verdict(at.throat_percent, usual))


def _verdict(percent: float, usual: tuple[float, float]) -> Verdict:
    if percent < usual[0]:
        return "below"
    return "above" if percent > usual[1] else "within"
