"""How much does a valve open at each lift, and which is then the smallest: curtain, throat or port?

J. B. Heywood, Internal Combustion Engine Fundamentals (1988), section 6.3.2: while the valve's face is over the
seat the least area is a cone's that stands square on it; then one between the seat's and the valve's edges; and
from where that exceeds the throat less the stem, the throat. The seat's width counts radially.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import cos, pi, radians, sin, sqrt, tan
from typing import Literal, TypeAlias

import numpy as np

from portgeom.geometry.arrays import F64
from portgeom.job.values import Valve

Regime: TypeAlias = Literal["seat", "edges", "throat"]
Smallest: TypeAlias = Literal["curtain", "throat", "port"]

REGIMES: tuple[Regime, ...] = ("seat", "edges", "throat")
QUARTER = 0.25
"""Lift over head diameter at which the curtain is as large as the head: pi D L = pi D^2 / 4."""

THROAT_PERCENT = (85.0, 91.0)
"""Throat over head diameter. Common practice, no source."""

STEPS = 8
"""Lifts told where the job gives none, to three tenths of the head's diameter."""


@dataclass(frozen=True, slots=True)
class Joins:
    """The lifts at which the first regime passes into the second, and the second into the third."""

    first_mm: float
    second_mm: float


@dataclass(frozen=True, slots=True)
class Opening:
    """A valve at one lift.

    Attributes
    ----------
    curtain_mm2 : float
        The plain cylinder, pi times head diameter times lift.
    opening_mm2 : float
        Least geometric area between valve and seat, never more than the throat less the stem.
    regime : Regime
    smallest : Smallest
        Which of opening, throat and port is the smallest, and ``smallest_mm2`` its area.
    beyond_quarter : bool
        Whether the lift exceeds a quarter of the head's diameter: allowed, the curtain no longer limits.
    """

    lift_mm: float
    lift_ratio: float
    curtain_mm2: float
    opening_mm2: float
    regime: Regime
    smallest: Smallest
    smallest_mm2: float
    beyond_quarter: bool


@dataclass(frozen=True, slots=True)
class ValveAreas:
    """A valve's areas over its lifts.

    ``throat_net_mm2`` is the throat by the valve's own diameters less its stem, ``port_mm2`` the smallest net
    section of the port before the throat.
    """

    valve: Valve
    throat_net_mm2: float
    port_mm2: float
    joins: Joins
    openings: tuple[Opening, ...]

    @property
    def throat_percent(self) -> float:
        """Return the throat's diameter in percent of the head's."""
        return 100.0 * self.valve.throat_diameter_mm / self.valve.head_diameter_mm

    @property
    def head_mm2(self) -> float:
        """Return the area of the head."""
        return 0.25 * pi * self.valve.head_diameter_mm**2


def throat_net_mm2(valve: Valve) -> float:
    """Return the throat less the stem, by the valve's own diameters."""
    return 0.25 * pi * (valve.throat_diameter_mm**2 - valve.stem_diameter_mm**2)


def curtain_mm2(valve: Valve, lift_mm: float) -> float:
    """Return the plain curtain area."""
    return pi * valve.head_diameter_mm * lift_mm


def joins(valve: Valve) -> Joins:
    """Return the lifts where the regimes meet. Where the throat is so tight that the second never comes, both
    are the lift at which the seat's opening equals the throat."""
    width, angle = valve.seat_width_mm, radians(valve.seat_angle_deg)
    first = width / (sin(angle) * cos(angle))
    across = throat_net_mm2(valve) / (pi * (valve.head_diameter_mm - width))
    if across**2 > width**2:
        second = sqrt(across**2 - width**2) + width * tan(angle)
        if second >= first:
            return Joins(first, second)
    alone = _seat_lift_mm(valve, throat_net_mm2(valve))
    return Joins(alone, alone)


def opening_mm2(valve: Valve, lift_mm: F64) -> F64:
    """Return the least geometric area between valve and seat at lifts (k,)."""
    return np.minimum(_before_throat(valve, lift_mm), throat_net_mm2(valve))


def regime(valve: Valve, lift_mm: float) -> Regime:
    """Return which of the three regimes a lift lies in; a join belongs to the later."""
    meet = joins(valve)
    if lift_mm >= meet.second_mm:
        return "throat"
    return "edges" if lift_mm >= meet.first_mm else "seat"


def _before_throat(valve: Valve, lift_mm: F64) -> F64:
    head, width, angle = valve.head_diameter_mm, valve.seat_width_mm, radians(valve.seat_angle_deg)
    lift = np.asarray(lift_mm, dtype=np.float64)
    seat = pi * lift * cos(angle) * (head - 2.0 * width + 0.5 * lift * sin(2.0 * angle))
    edges = pi * (head - width) * np.sqrt((lift - width * tan(angle)) ** 2 + width**2)
    return np.where(lift < width / (sin(angle) * cos(angle)), seat, edges)


def _seat_lift_mm(valve: Valve, area_mm2: float) -> float:
    """Return the lift at which the first regime's area is ``area_mm2``: a quadratic in the lift."""
    angle = radians(valve.seat_angle_deg)
    a = 0.5 * pi * cos(angle) * sin(2.0 * angle)
    b = pi * cos(angle) * (valve.head_diameter_mm - 2.0 * valve.seat_width_mm)
    return (sqrt(b**2 + 4.0 * a * area_mm2) - b) / (2.0 * a)


def valve_areas(valve: Valve, *, port_mm2: float) -> ValveAreas:
    """Return a valve's areas at the lifts of the job, or at steps up to three tenths of the head's diameter."""
    head = valve.head_diameter_mm
    lifts = valve.lifts_mm or tuple(0.3 * head * (k + 1) / STEPS for k in range(STEPS))
    return ValveAreas(
        valve=valve,
        throat_net_mm2=throat_net_mm2(valve),
        port_mm2=port_mm2,
        joins=joins(valve),
        openings=tuple(opening(valve, lift, port_mm2=port_mm2) for lift in lifts),
    )


def opening(valve: Valve, lift_mm: float, *, port_mm2: float) -> Opening:
    """Return a valve at one lift over a port whose smallest section before the throat is given."""
    area, throat = float(opening_mm2(valve, np.array(lift_mm))), throat_net_mm2(valve)
    which: Smallest = "port" if port_mm2 < area else "curtain" if area < throat else "throat"
    return Opening(
        lift_mm=lift_mm,
        lift_ratio=lift_mm / valve.head_diameter_mm,
        curtain_mm2=curtain_mm2(valve, lift_mm),
        opening_mm2=area,
        regime=regime(valve, lift_mm),
        smallest=which,
        smallest_mm2=min(area, port_mm2),
        beyond_quarter=lift_mm > QUARTER * valve.head_diameter_mm,
    )
