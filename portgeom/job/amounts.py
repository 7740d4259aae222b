"""What does an amount written with its unit, such as "28 inH2O" or "225 cfm", state in SI?"""

from __future__ import annotations

import re
from dataclasses import dataclass

from portgeom.job.faults import Spot, nearest, shown
from portgeom.job.flow_values import Quantity, Stated
from portgeom.job.units import MM_PER_IN
from portgeom.job.values import Units

PA_PER_MMH2O = 9.80665
"""Conventional: water of 1000 kg/m3 under standard gravity (ISO 80000-3)."""

PA_PER_MMHG = 133.322387415
"""Conventional: mercury of 13595.1 kg/m3 under standard gravity."""

M3_PER_FT3 = (12.0 * MM_PER_IN / 1000.0) ** 3
KG_PER_LB = 0.45359237

PRESSURES_PA = {
    "Pa": 1.0,
    "hPa": 100.0,
    "kPa": 1000.0,
    "mbar": 100.0,
    "mmH2O": PA_PER_MMH2O,
    "cmH2O": 10.0 * PA_PER_MMH2O,
    "inH2O": MM_PER_IN * PA_PER_MMH2O,
}

BAROMETERS_PA = {
    "Pa": 1.0,
    "hPa": 100.0,
    "kPa": 1000.0,
    "mbar": 100.0,
    "bar": 1e5,
    "mmHg": PA_PER_MMHG,
    "inHg": MM_PER_IN * PA_PER_MMHG,
}

FLOWS_M3_S = {
    "m3/s": 1.0,
    "m3/h": 1.0 / 3600.0,
    "l/s": 1e-3,
    "l/min": 1e-3 / 60.0,
    "cfm": M3_PER_FT3 / 60.0,
}

MASS_FLOWS_KG_S = {
    "kg/s": 1.0,
    "kg/h": 1.0 / 3600.0,
    "g/s": 1e-3,
    "lb/min": KG_PER_LB / 60.0,
}

SPEEDS_M_S = {"m/s": 1.0, "ft/s": 12.0 * MM_PER_IN / 1000.0}

ZERO_CELSIUS_K = 273.15

_AMOUNT = re.compile(r"([+-]?)([0-9]+(?:\.[0-9]*)?|\.[0-9]+)\s*([A-Za-z][A-Za-z0-9/]*)")


@dataclass(frozen=True, slots=True)
class UnitTable:
    """The units of one quantity, each with what one of it is in SI, and the most that makes sense, in SI."""

    quantity: Quantity
    units: tuple[tuple[str, float], ...]
    most: float
    least: float = 0.0


@dataclass(frozen=True, slots=True)
class Amount:
    """A number with its unit, in quotes, of one of some quantities."""

    what: str
    tables: tuple[UnitTable, ...]
    example: str
    sign: str = "give it without a sign"

    def read(self, value: object, spot: Spot, units: Units) -> Stated | None:
        """Return the amount in SI with its unit."""
        stated = self.understood(value)
        if isinstance(stated, Stated):
            return stated
        spot.fault(*stated)
        return None

    def understood(self, value: object) -> Stated | tuple[str, str]:
        """Return the amount, or what is wrong with it and what would be right."""
        parts = _AMOUNT.fullmatch(value.strip()) if isinstance(value, str) else None
        if parts is None:
            return f"{shown(value)} is not a {self.what}", (
                f'give a {self.what} with its unit, in quotes, as "{self.example}"'
            )
        sign, digits, unit = parts.groups()
        known = {name: (size, table) for table in self.tables for name, size in table.units}
        if unit not in known:
            return f"{shown(unit)} is not a unit of {self.what}", nearest(unit, known, what="unit")
        size, table = known[unit]
        if sign == "-":
            return f"{shown(value)} is below 0", self.sign
        amount = float(digits) * size
        if not table.least < amount <= table.most:
            low, top = f"{table.least / size:.4g}", f"{table.most / size:.4g} {unit}"
            return f"{shown(value)} is out of range", f"give a {self.what} above {low}, at most {top}"
        return Stated(amount, table.quantity, unit)


class Temperature:
    """A temperature with its unit, in quotes."""

    def read(self, value: object, spot: Spot, units: Units) -> Stated | None:
        """Return the temperature in kelvin."""
        parts = _AMOUNT.fullmatch(value.strip()) if isinstance(value, str) else None
        if parts is None or parts[3] not in ("C", "F", "K"):
            spot.fault(f"{shown(value)} is not a temperature", 'give it with its unit, as "20 C", "68 F" or "293 K"')
            return None
        number, unit = float(parts[1] + parts[2]), parts[3]
        kelvin = {"C": number + ZERO_CELSIUS_K, "F": (number + 459.67) / 1.8, "K": number}[unit]
        if not 223.0 <= kelvin <= 473.0:
            spot.fault(f"{shown(value)} is out of range", "give the temperature of the air, from -50 C to 200 C")
            return None
        return Stated(kelvin, "temperature", unit)


WITHOUT_SIGN = "give the depression as a positive number, whichever way the bench blows"

PRESSURE = UnitTable("pressure", tuple(PRESSURES_PA.items()), 101_325.0)
BAROMETER = UnitTable("pressure", tuple(BAROMETERS_PA.items()), 120_000.0, 30_000.0)
VOLUME_FLOW = UnitTable("volume flow", tuple(FLOWS_M3_S.items()), 5.0)
MASS_FLOW = UnitTable("mass flow", tuple(MASS_FLOWS_KG_S.items()), 6.0)
SPEED = UnitTable("speed", tuple(SPEEDS_M_S.items()), 340.0)

PER_UNIT = {name: size for table in (PRESSURE, VOLUME_FLOW, MASS_FLOW, SPEED) for name, size in table.units}
"""What one of each unit is in SI."""


def in_unit(amount: float, unit: str) -> float:
    """Return an amount of SI in a unit of pressure, flow or speed.

    Examples
    --------
    >>> round(in_unit(6974.489412, "inH2O"), 6)
    28.0
    """
    return amount / PER_UNIT[unit]


def pressure() -> Amount:
    """Return the kind of a test depression, at most a whole atmosphere."""
    return Amount("pressure", (PRESSURE,), "28 inH2O", WITHOUT_SIGN)


def barometer() -> Amount:
    """Return the kind of the pressure of the room."""
    return Amount("pressure of the air", (BAROMETER,), "101.3 kPa")


def flow_rate() -> Amount:
    """Return the kind of a flow, by volume or by mass."""
    return Amount("flow", (VOLUME_FLOW, MASS_FLOW), "225 cfm")


def speed() -> Amount:
    """Return the kind of a gas speed, below that of sound."""
    return Amount("speed", (SPEED,), "100 m/s")
