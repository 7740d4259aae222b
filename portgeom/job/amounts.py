"""What pressure or volume flow does a bench reading such as "28 inH2O" or "225 cfm" state, in SI?"""

from __future__ import annotations

import re
from dataclasses import dataclass

from portgeom.job.faults import Spot, nearest, shown
from portgeom.job.units import MM_PER_IN
from portgeom.job.values import Units

PA_PER_MMH2O = 9.80665
"""Conventional: water of 1000 kg/m3 under standard gravity (ISO 80000-3)."""

M3_PER_FT3 = (12.0 * MM_PER_IN / 1000.0) ** 3

PRESSURES_PA = {
    "Pa": 1.0,
    "hPa": 100.0,
    "kPa": 1000.0,
    "mbar": 100.0,
    "mmH2O": PA_PER_MMH2O,
    "cmH2O": 10.0 * PA_PER_MMH2O,
    "inH2O": MM_PER_IN * PA_PER_MMH2O,
}

FLOWS_M3_S = {
    "m3/s": 1.0,
    "m3/h": 1.0 / 3600.0,
    "l/s": 1e-3,
    "l/min": 1e-3 / 60.0,
    "cfm": M3_PER_FT3 / 60.0,
}

MASS_FLOWS = ("kg/h", "kg/s", "g/s", "lb/min")

_AMOUNT = re.compile(r"([0-9]+(?:\.[0-9]*)?|\.[0-9]+)\s*([A-Za-z][A-Za-z0-9/]*)")


@dataclass(frozen=True, slots=True)
class Amount:
    """A number with its unit, in quotes. ``most`` is in SI."""

    what: str
    units: tuple[tuple[str, float], ...]
    example: str
    most: float

    def read(self, value: object, spot: Spot, units: Units) -> float | None:
        """Return the amount in SI."""
        mend = f'give a {self.what} with its unit, in quotes, as "{self.example}"'
        parts = _AMOUNT.fullmatch(value.strip()) if isinstance(value, str) else None
        if parts is None:
            spot.fault(f"{shown(value)} is not a {self.what}", mend)
            return None
        unit, known = parts[2], dict(self.units)
        if unit in MASS_FLOWS:
            spot.fault(
                f"{shown(value)} is a mass, which needs the density of the air to become a volume",
                f"give it as volume: known are {', '.join(known)}",
            )
            return None
        if unit not in known:
            spot.fault(f"{shown(unit)} is not a unit of {self.what}", nearest(unit, known, what="unit"))
            return None
        amount = float(parts[1]) * known[unit]
        if not 0.0 < amount <= self.most:
            top = f"{self.most / known[unit]:.4g} {unit}"
            spot.fault(f"{shown(value)} is out of range", f"give a {self.what} above 0, at most {top}")
            return None
        return amount


def pressure() -> Amount:
    """Return the kind of a test depression, at most a whole atmosphere."""
    return Amount("pressure", tuple(PRESSURES_PA.items()), "28 inH2O", 101_325.0)


def volume_flow() -> Amount:
    """Return the kind of a volume flow."""
    return Amount("volume flow", tuple(FLOWS_M3_S.items()), "225 cfm", 5.0)
