"""What flow does the engine ask for, and is the port large enough for it?

One cylinder of a four-stroke. C. F. Taylor, The Internal-Combustion Engine in Theory and Practice, vol. 1,
chapter 6: the mean inlet Mach index Z = (piston area / inlet valve area) (mean piston speed) / (Ci a), with Ci
the mean inlet flow coefficient on the area of the valve's head; volumetric efficiency falls from about Z 0.5
to 0.6 on (the limit from memory).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import pi

import numpy as np

from portgeom.job.flow_values import Engine
from portgeom.job.values import PlaceName, Valve
from portgeom.questions.flow.air import Air
from portgeom.questions.flow.along import BELIEVABLE_PERCENT, Place, Sections
from portgeom.questions.flow.bench import BenchPoint

MACH_INDEX_LIMIT = (0.5, 0.6)
"""From memory of Taylor (1985), vol. 1, chapter 6."""

CAM_STEPS = 181
"""Crank angles over which a flow coefficient is averaged."""


@dataclass(frozen=True, slots=True)
class MachIndex:
    """Taylor's mean inlet Mach index.

    Attributes
    ----------
    coefficient : float
        The mean inlet flow coefficient, on the area of the valve's head.
    from_readings : bool
        Whether it was averaged from the bench readings over a lift that rises and falls as sine squared, the
        largest lift read being the valve's own; else the job gives it.
    index : float
    """

    coefficient: float
    from_readings: bool
    index: float


@dataclass(frozen=True, slots=True)
class HeldHead:
    """A valve's head held against the port: its area over the present one's, and the named places in percent.

    ``throat_net_mm2`` is the throat it would have at the same share of its head and with the same stem;
    ``percent`` are the places' present net areas in percent of it.
    """

    head_diameter_mm: float
    area_ratio: float
    throat_net_mm2: float
    percent: tuple[tuple[PlaceName, float], ...]
    enough: bool


@dataclass(frozen=True, slots=True)
class Demand:
    """What one cylinder asks of one intake port.

    Attributes
    ----------
    efficiency : float
        Volumetric, 1 where the job does not say (``efficiency_assumed``).
    piston_speed_m_s : float
        Mean.
    mean_m3_s : float
        Over the whole cycle, through one port.
    stroke_m3_s : float
        While the piston goes down, on average, through one port: four times as much.
    smallest_m_s : float
        Mean speed in the smallest section then.
    asked_mm2 : float or None
        The smallest section that keeps to the job's speed limit; None without one.
    mach_index : MachIndex or None
        None where there is no valve, or neither a coefficient nor readings.
    """

    engine: Engine
    efficiency: float
    efficiency_assumed: bool
    piston_speed_m_s: float
    mean_m3_s: float
    stroke_m3_s: float
    smallest_mm2: float
    smallest_m_s: float
    asked_mm2: float | None
    mach_index: MachIndex | None


def demand(engine: Engine, air: Air, sections: Sections, valve: Valve | None, points: Sequence[BenchPoint]) -> Demand:
    """Return what one cylinder asks of one intake port."""
    given = engine.volumetric_efficiency
    efficiency = 1.0 if given is None else given
    piston_m2 = 0.25 * pi * (1e-3 * engine.bore_mm) ** 2
    speed = piston_speed_m_s(engine)
    stroke = piston_m2 * speed * efficiency / engine.intake_valves
    smallest = float(sections.net_mm2[sections.smallest])
    limit = engine.speed_limit
    coefficient = engine.flow_coefficient or (None if valve is None else mean_coefficient(valve, points))
    index = None
    if valve is not None and coefficient is not None:
        z = mach_index(
            engine.bore_mm,
            valve.head_diameter_mm,
            speed,
            coefficient,
            air.sound_m_s,
            valves=engine.intake_valves,
        )
        index = MachIndex(coefficient, engine.flow_coefficient is None, z)
    return Demand(
        engine=engine,
        efficiency=efficiency,
        efficiency_assumed=given is None,
        piston_speed_m_s=speed,
        mean_m3_s=0.25 * stroke,
        stroke_m3_s=stroke,
        smallest_mm2=smallest,
        smallest_m_s=stroke / (1e-6 * smallest),
        asked_mm2=None if limit is None else 1e6 * stroke / limit.amount,
        mach_index=index,
    )


def piston_speed_m_s(engine: Engine) -> float:
    """Return the mean piston speed: two strokes a turn."""
    return 2.0 * 1e-3 * engine.stroke_mm * engine.speed_rpm / 60.0


def mach_index(
    bore_mm: float, head_mm: float, piston_m_s: float, coefficient: float, sound_m_s: float, *, valves: int = 1
) -> float:
    """Return Taylor's mean inlet Mach index.

    Examples
    --------
    >>> round(mach_index(100.0, 50.0, 15.0, 0.35, 343.0), 3)
    0.5
    """
    return (bore_mm / head_mm) ** 2 / valves * piston_m_s / (coefficient * sound_m_s)


def mean_coefficient(valve: Valve, points: Sequence[BenchPoint]) -> float | None:
    """Return the flow coefficient on the head's area, averaged over a lift that rises and falls as sine squared.

    Between readings the effective area runs straight, from nothing at lift 0. None without two readings.
    """
    known = [(p.reading.lift_mm, p.effective_mm2) for p in points if p.reading.lift_mm > 0.0]
    lifts = sorted({lift for lift, _ in known})
    if len(lifts) < 2:
        return None
    effective = [float(np.mean([a for x, a in known if x == lift])) for lift in lifts]
    lift = lifts[-1] * np.sin(np.linspace(0.0, pi, CAM_STEPS)) ** 2
    # the trapezoidal rule: both ends are 0
    mean = float(np.interp(lift, [0.0, *lifts], [0.0, *effective]).sum()) / (CAM_STEPS - 1)
    return mean / (0.25 * pi * valve.head_diameter_mm**2)


def larger_heads(valve: Valve, places: Sequence[Place]) -> tuple[HeldHead, ...]:
    """Return the valve itself and each larger one of the job held against the port as it is; none without a larger."""
    if not valve.larger_heads_mm:
        return ()
    return tuple(held_head(valve, head, places) for head in (valve.head_diameter_mm, *valve.larger_heads_mm))


def held_head(valve: Valve, head_mm: float, places: Sequence[Place]) -> HeldHead:
    """Return a head held against a port: its throat has the same share of it as the valve's, and the same stem.

    The port has the room where every place with a believable range is at least at the low end of it.
    """
    throat = valve.throat_diameter_mm * head_mm / valve.head_diameter_mm
    net = 0.25 * pi * (throat**2 - valve.stem_diameter_mm**2)
    percent = tuple((p.name, 100.0 * p.at.net_mm2 / net) for p in places if p.name != "throat")
    low = [p >= BELIEVABLE_PERCENT[name][0] for name, p in percent if name in BELIEVABLE_PERCENT]
    return HeldHead(head_mm, area_ratio(valve.head_diameter_mm, head_mm), net, percent, bool(low) and all(low))


def area_ratio(before_mm: float, after_mm: float) -> float:
    """Return how many times the area a larger diameter has, and asks for everywhere upstream.

    Examples
    --------
    >>> round(area_ratio(50.0, 51.4), 4)
    1.0568
    """
    return (after_mm / before_mm) ** 2
