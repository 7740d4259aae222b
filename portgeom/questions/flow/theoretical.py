"""How fast can air run at a test depression, and how much passes a square millimetre, at the very most?

Two ways: incompressible, v = sqrt(2 dp / rho), as the trade reckons; and isentropic flow of a perfect gas from
rest, which knows that air thins out as it speeds up and that no section passes more than it does at Mach 1.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import sqrt

import numpy as np

from portgeom.geometry.arrays import F64
from portgeom.job.values import PortKind
from portgeom.questions.flow.air import Air

HALVINGS = 60
"""Of the interval in which a Mach number is sought: enough for the last digit."""


@dataclass(frozen=True, slots=True)
class Supply:
    """A perfect gas at rest, from where it is drawn."""

    pressure_pa: float
    temperature_k: float
    gas_constant: float
    kappa: float

    @property
    def choked_flux(self) -> float:
        """Return the most that a section passes, at Mach 1, kg/(s m2)."""
        return float(self.flux(np.array(1.0)))

    @property
    def critical_ratio(self) -> float:
        """Return the pressure at Mach 1 over that at rest."""
        return float((0.5 * (self.kappa + 1.0)) ** (-self.kappa / (self.kappa - 1.0)))

    def flux(self, mach: F64) -> F64:
        """Return what passes a unit of area at a Mach number, kg/(s m2)."""
        k = self.kappa
        still = self.pressure_pa * sqrt(k / (self.gas_constant * self.temperature_k))
        return still * mach * (1.0 + 0.5 * (k - 1.0) * mach**2) ** (-0.5 * (k + 1.0) / (k - 1.0))

    def speed_m_s(self, mach: F64) -> F64:
        """Return the speed at a Mach number: slower than that times the speed of sound at rest, as gas cools."""
        k = self.kappa
        local_k = self.temperature_k / (1.0 + 0.5 * (k - 1.0) * mach**2)
        return mach * np.sqrt(k * self.gas_constant * local_k)

    def density_kg_m3(self, mach: F64) -> F64:
        """Return the density at a Mach number."""
        k = self.kappa
        still = self.pressure_pa / (self.gas_constant * self.temperature_k)
        return still * (1.0 + 0.5 * (k - 1.0) * mach**2) ** (-1.0 / (k - 1.0))

    def mach_at_pressure(self, pressure_pa: float) -> float:
        """Return the Mach number at which the gas has this pressure; above 1 for a nozzle that widens again."""
        k = self.kappa
        return sqrt(2.0 / (k - 1.0) * ((self.pressure_pa / pressure_pa) ** ((k - 1.0) / k) - 1.0))

    def mach_at_flux(self, flux: F64) -> F64:
        """Return the Mach number below 1 at which so much passes a unit of area.

        Raises
        ------
        ValueError
            Where more is asked than passes at Mach 1.
        """
        asked = np.asarray(flux, dtype=np.float64)
        if np.any(asked > self.choked_flux):
            raise ValueError(f"{float(np.max(asked)):.1f} kg/(s m2) is more than passes at Mach 1")
        low, high = np.zeros_like(asked), np.ones_like(asked)
        for _ in range(HALVINGS):
            middle = 0.5 * (low + high)
            less = self.flux(middle) < asked
            low, high = np.where(less, middle, low), np.where(less, high, middle)
        return 0.5 * (low + high)


@dataclass(frozen=True, slots=True)
class Theory:
    """What a depression could do without any loss.

    Attributes
    ----------
    bernoulli_m_s, speed_m_s, mach : float
        Speed reckoned incompressible; speed and Mach number of isentropic flow.
    bernoulli_m3_s_mm2, volume_m3_s_mm2 : float
        Volume flow through a square millimetre either way, as air of the room.
    flux_kg_s_m2, choked_flux_kg_s_m2 : float
        What isentropic flow passes, and the most at any depression.
    choked : bool
        Whether the depression is enough for Mach 1; then more of it brings no more.
    """

    depression_pa: float
    bernoulli_m_s: float
    speed_m_s: float
    mach: float
    bernoulli_m3_s_mm2: float
    volume_m3_s_mm2: float
    flux_kg_s_m2: float
    choked_flux_kg_s_m2: float
    choked: bool


def supply_of(air: Air, depression_pa: float, kind: PortKind) -> Supply:
    """Return the gas at rest before a port: the room's for an intake, drawn; above it for an exhaust, blown."""
    above = depression_pa if kind == "exhaust" else 0.0
    return Supply(air.pressure_pa + above, air.temperature_k, air.gas_constant, air.kappa)


def bernoulli_speed_m_s(depression_pa: float, density_kg_m3: float) -> float:
    """Return the speed that a depression gives to air that keeps its density.

    Examples
    --------
    >>> round(bernoulli_speed_m_s(28 * 249.08891, 1.2041), 1)
    107.6
    """
    return sqrt(2.0 * depression_pa / density_kg_m3)


def theory(air: Air, depression_pa: float, kind: PortKind) -> Theory:
    """Return what a depression could do without loss."""
    supply = supply_of(air, depression_pa, kind)
    low = supply.pressure_pa - depression_pa
    choked = low <= supply.critical_ratio * supply.pressure_pa
    mach = 1.0 if choked else supply.mach_at_pressure(low)
    flux = float(supply.flux(np.array(mach)))
    plain = bernoulli_speed_m_s(depression_pa, air.density_kg_m3)
    return Theory(
        depression_pa=depression_pa,
        bernoulli_m_s=plain,
        speed_m_s=float(supply.speed_m_s(np.array(mach))),
        mach=mach,
        bernoulli_m3_s_mm2=plain * 1e-6,
        volume_m3_s_mm2=1e-6 * flux / air.density_kg_m3,
        flux_kg_s_m2=flux,
        choked_flux_kg_s_m2=supply.choked_flux,
        choked=choked,
    )
