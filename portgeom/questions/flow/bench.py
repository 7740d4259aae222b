"""What does a bench reading say: how large an opening without loss would pass as much?

The effective area is the mass flow over what isentropic flow passes through a square millimetre at the reading's
depression; a discharge coefficient is that over an area, which has to be named (Heywood 1988, section 6.3.2).
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from portgeom.geometry.told_lengths import mm, mm2
from portgeom.job.amounts import in_unit
from portgeom.job.flow_values import FlowReading, Stated
from portgeom.job.values import Job, Note, PortKind, Valve
from portgeom.questions.flow.air import Air, air_of
from portgeom.questions.flow.along import Sections, choked_mass_kg_s
from portgeom.questions.flow.theoretical import supply_of, theory
from portgeom.questions.flow.valve import QUARTER, curtain_mm2, opening, throat_net_mm2


@dataclass(frozen=True, slots=True)
class Coefficients:
    """Discharge coefficients of one reading, each on the area it is named for.

    ``curtain`` on pi times head diameter times lift, ``opening`` on the least geometric area between valve and
    seat, ``throat`` on the throat less the stem, ``head`` on the area of the head.
    """

    curtain: float
    opening: float
    throat: float
    head: float


@dataclass(frozen=True, slots=True)
class BenchPoint:
    """A reading worked out.

    Attributes
    ----------
    volume_m3_s : float
        Net of the leak, as air of the room.
    effective_mm2 : float
    coefficients : Coefficients or None
        None where the job gives no valve, or the lift is nothing.
    limits : str
        What is the smallest at this lift: "curtain", "throat" or "port"; "" without a valve.
    beyond_quarter : bool
        Whether the lift exceeds a quarter of the head's diameter.
    too_good : bool
        Whether more flowed than the smallest area there is could pass without loss: look at the reading.
    """

    reading: FlowReading
    air: Air
    mass_kg_s: float
    volume_m3_s: float
    effective_mm2: float
    coefficients: Coefficients | None
    limits: str
    beyond_quarter: bool
    too_good: bool


def mass_kg_s(stated: Stated, air: Air) -> float:
    """Return a flow by mass; a volume counts as air of the room."""
    return stated.amount if stated.quantity == "mass flow" else stated.amount * air.density_kg_m3


def volume_m3_s(stated: Stated, air: Air) -> float:
    """Return a flow by volume, as air of the room."""
    return mass_kg_s(stated, air) / air.density_kg_m3


def net_mass_kg_s(reading: FlowReading, air: Air) -> float:
    """Return the flow of a reading by mass, its leak taken off."""
    leak = 0.0 if reading.leak is None else mass_kg_s(reading.leak, air)
    return mass_kg_s(reading.rate, air) - leak


def bench_point(reading: FlowReading, job: Job, kind: PortKind, valve: Valve | None, sections: Sections) -> BenchPoint:
    """Return one reading worked out."""
    air = air_of(reading.air, job.air)
    mass = net_mass_kg_s(reading, air)
    effective = 1e6 * mass / theory(air, reading.depression.amount, kind).flux_kg_s_m2
    smallest = float(sections.net_mm2[sections.smallest])
    coefficients, limits, beyond = None, "", False
    if valve is not None and reading.lift_mm > 0.0:
        at = opening(valve, reading.lift_mm, port_mm2=sections.before_mm2)
        throat = throat_net_mm2(valve)
        head = 0.25 * valve.head_diameter_mm * curtain_mm2(valve, 1.0)
        coefficients = Coefficients(
            effective / at.curtain_mm2, effective / at.opening_mm2, effective / throat, effective / head
        )
        limits, beyond = at.smallest, reading.lift_mm > QUARTER * valve.head_diameter_mm
        smallest = min(smallest, at.smallest_mm2)
    return BenchPoint(
        reading=reading,
        air=air,
        mass_kg_s=mass,
        volume_m3_s=mass / air.density_kg_m3,
        effective_mm2=effective,
        coefficients=coefficients,
        limits=limits,
        beyond_quarter=beyond,
        too_good=effective > smallest,
    )


def readings_of(job: Job, port: str, stage: str) -> tuple[FlowReading, ...]:
    """Return the readings of one stage of a port, by lift."""
    own = [r for r in job.flow if (r.port, r.stage) == (port, stage)]
    return tuple(sorted(own, key=lambda r: r.lift_mm))


def reading_faults(job: Job, kind: PortKind, readings: Iterable[FlowReading], sections: Sections) -> tuple[Note, ...]:
    """Return a fault for every reading that its port cannot pass even at Mach 1, or that its leak makes nothing."""
    faults = []
    for reading in readings:
        air = air_of(reading.air, job.air)
        limit = choked_mass_kg_s(sections, supply_of(air, reading.depression.amount, kind))
        mass = net_mass_kg_s(reading, air)
        where = f"flow number {reading.number}"
        row = reading.row or None
        if mass > limit:
            at, area = sections.distance_mm[sections.smallest], sections.net_mm2[sections.smallest]
            found = (
                f"{in_its_unit(mass_kg_s(reading.rate, air), reading.rate, air)} at lift {mm(reading.lift_mm, None)} "
                f"is more than the smallest section, {mm2(float(area), 0)} at {mm(float(at))}, passes at "
                f"the speed of sound: {in_its_unit(limit, reading.rate, air)}"
            )
            faults.append(
                Note("job.toml", row, f"{where}: rate", found, "check the reading, its unit and the sections")
            )
        elif mass <= 0.0:
            faults.append(
                Note("job.toml", row, f"{where}: leak", "is no less than the flow itself", "check both readings")
            )
    return tuple(faults)


def in_its_unit(mass: float, like: Stated, air: Air) -> str:
    """Return a mass flow as words in the unit that a flow was stated in."""
    amount = mass if like.quantity == "mass flow" else mass / air.density_kg_m3
    return f"{in_unit(amount, like.unit):.4g} {like.unit}"
