"""What is the air like that a bench draws: how dense is it, and how fast does sound travel in it?

Dry air and water vapour as perfect gases that mix. Against the tables of moist air that is within 0.1 percent
at the temperatures and pressures of a workshop.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import exp, sqrt

from portgeom.job.amounts import ZERO_CELSIUS_K
from portgeom.job.flow_values import AirGiven

GAS_CONSTANT_DRY = 287.05
"""J/(kg K); U.S. Standard Atmosphere, 1976."""

GAS_CONSTANT_VAPOUR = 461.5
"""J/(kg K)."""

KAPPA_DRY = 1.4
HEAT_VAPOUR = 1860.0
"""Specific heat of water vapour at constant pressure, J/(kg K)."""

USUAL = AirGiven(ZERO_CELSIUS_K + 20.0, 101_325.0, 0.0)
"""What is taken where the job says nothing: 20 C, 101.325 kPa, dry."""


@dataclass(frozen=True, slots=True)
class Air:
    """Air at rest.

    Attributes
    ----------
    temperature_k, pressure_pa : float
    humidity : float
        Relative, from 0 to 1.
    gas_constant : float
        J/(kg K), of the mixture.
    kappa : float
        Ratio of its specific heats.
    assumed : tuple of str
        What the job did not say of it.
    """

    temperature_k: float
    pressure_pa: float
    humidity: float
    gas_constant: float
    kappa: float
    assumed: tuple[str, ...] = ()

    @property
    def density_kg_m3(self) -> float:
        """Return its density."""
        return self.pressure_pa / (self.gas_constant * self.temperature_k)

    @property
    def sound_m_s(self) -> float:
        """Return the speed of sound in it."""
        return sqrt(self.kappa * self.gas_constant * self.temperature_k)

    @property
    def viscosity_pa_s(self) -> float:
        """Return its viscosity by Sutherland's formula (U.S. Standard Atmosphere, 1976)."""
        return 1.458e-6 * self.temperature_k**1.5 / (self.temperature_k + 110.4)


def air_of(*given: AirGiven | None) -> Air:
    """Return the air that is stated; what the first does not say is taken from the next, then from the usual air."""
    known = [g for g in given if g is not None]

    def first(name: str) -> float:
        stated: list[float | None] = [getattr(g, name) for g in [*known, USUAL]]
        return next(x for x in stated if x is not None)

    assumed = tuple(
        word
        for word, name in (("temperature", "temperature_k"), ("pressure", "pressure_pa"), ("humidity", "humidity"))
        if all(getattr(g, name) is None for g in known)
    )
    return moist_air(first("temperature_k"), first("pressure_pa"), first("humidity"), assumed=assumed)


def moist_air(temperature_k: float, pressure_pa: float, humidity: float, *, assumed: tuple[str, ...] = ()) -> Air:
    """Return air with vapour in it; ``humidity`` is relative, from 0 to 1.

    Examples
    --------
    >>> round(moist_air(288.15, 101325.0, 0.0).density_kg_m3, 4)
    1.225
    """
    vapour_pa = humidity * saturation_pa(temperature_k)
    ratio = GAS_CONSTANT_DRY / GAS_CONSTANT_VAPOUR
    share = ratio * vapour_pa / (pressure_pa - (1.0 - ratio) * vapour_pa)
    constant = (1.0 - share) * GAS_CONSTANT_DRY + share * GAS_CONSTANT_VAPOUR
    heat_dry = GAS_CONSTANT_DRY * KAPPA_DRY / (KAPPA_DRY - 1.0)
    heat = (1.0 - share) * heat_dry + share * HEAT_VAPOUR
    return Air(temperature_k, pressure_pa, humidity, constant, heat / (heat - constant), assumed)


def saturation_pa(temperature_k: float) -> float:
    """Return the pressure of saturated vapour over water (O. A. Alduchov and R. E. Eskridge, J. Applied
    Meteorology 35, 1996, eq. 21), within 0.4 percent from -40 to 50 C."""
    celsius = temperature_k - ZERO_CELSIUS_K
    return 610.94 * exp(17.625 * celsius / (celsius + 243.04))
