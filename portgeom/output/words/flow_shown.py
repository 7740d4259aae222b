"""In which units is flow shown to a person, and with how many digits?"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from portgeom.job.amounts import MASS_FLOWS_KG_S, SPEEDS_M_S, ZERO_CELSIUS_K, in_unit
from portgeom.job.flow_values import Stated
from portgeom.job.units import MM_PER_IN
from portgeom.output.words.shown import Shown
from portgeom.questions.flow.air import Air
from portgeom.questions.flow.whole import FlowState

DECIMALS = {
    "Pa": 0,
    "hPa": 1,
    "kPa": 2,
    "mbar": 1,
    "mmH2O": 0,
    "cmH2O": 1,
    "inH2O": 1,
    "m3/s": 4,
    "m3/h": 0,
    "l/s": 1,
    "l/min": 0,
    "cfm": 1,
    "kg/s": 4,
    "kg/h": 0,
    "g/s": 1,
    "lb/min": 2,
    "m/s": 0,
    "ft/s": 0,
}
"""Digits after the point: about a twentieth of an inch of water, and a few parts in a thousand of a port's flow."""


@dataclass(frozen=True, slots=True)
class FlowShown:
    """Formats for flow: pressures and flows in the units they were written in, the rest as the job has it."""

    shown: Shown
    pressure_unit: str
    flow_unit: str

    @property
    def speed_unit(self) -> str:
        """Return metres a second for a job in mm, feet a second for one in inches."""
        return "m/s" if self.shown.units == "mm" else "ft/s"

    def pressure_number(self, pressure_pa: float) -> str:
        """Return a pressure without its unit."""
        return _number(pressure_pa, self.pressure_unit)

    def pressure_span(self, low_pa: float, high_pa: float) -> str:
        """Return a span of pressures without their unit, "under" one that shows as nothing.

        Examples
        --------
        >>> FlowShown(Shown("mm"), "inH2O", "cfm").pressure_span(1.0, 3.0)
        'under 0.1'
        """
        high = self.pressure_number(high_pa)
        if float(high) == 0.0:
            return f"under {10.0 ** -DECIMALS[self.pressure_unit]:g}"
        return f"{self.pressure_number(low_pa)} to {high}"

    def pressure(self, pressure_pa: float) -> str:
        """Return a pressure with its unit."""
        return f"{self.pressure_number(pressure_pa)} {self.pressure_unit}"

    def flow_number(self, volume_m3_s: float, air: Air) -> str:
        """Return a flow without its unit; volume is that of the room's air."""
        mass = self.flow_unit in MASS_FLOWS_KG_S
        return _number(volume_m3_s * air.density_kg_m3 if mass else volume_m3_s, self.flow_unit)

    def flow(self, volume_m3_s: float, air: Air) -> str:
        """Return a flow with its unit."""
        return f"{self.flow_number(volume_m3_s, air)} {self.flow_unit}"

    def flow_on_area(self, volume_m3_s_mm2: float, air: Air) -> str:
        """Return a flow through a unit of area: the square inch or the square centimetre."""
        inches = self.shown.units == "in" or self.flow_unit == "cfm"
        area, word = (MM_PER_IN**2, "in2") if inches else (100.0, "cm2")
        return f"{self.flow(volume_m3_s_mm2 * area, air)} on 1 {word}"

    def speed_number(self, speed_m_s: float) -> str:
        """Return a speed without its unit."""
        return _number(speed_m_s, self.speed_unit)

    def speed(self, speed_m_s: float) -> str:
        """Return a speed with its unit."""
        return f"{self.speed_number(speed_m_s)} {self.speed_unit}"

    def exact_speed(self, speed_m_s: float) -> str:
        """Return a speed that is reckoned, not measured, with a digit more."""
        return f"{speed_m_s / SPEEDS_M_S[self.speed_unit]:.1f} {self.speed_unit}"


def flow_shown(shown: Shown, states: Iterable[FlowState], rate: Stated | None) -> FlowShown:
    """Return the formats for some states: in the units of the flow asked for, else of the first reading."""
    every = list(states)
    depression = every[0].along.basis.depression.unit if every else "inH2O"
    first = next((p.reading.rate.unit for s in every for p in s.points), None)
    usual = "cfm" if shown.units == "in" or depression == "inH2O" else "l/s"
    return FlowShown(shown, depression, rate.unit if rate is not None else first or usual)


def air_words(air: Air, shown: Shown) -> str:
    """Return what the air is, and what of it was assumed.

    Examples
    --------
    >>> from portgeom.questions.flow.air import air_of
    >>> air_words(air_of(), Shown("mm"))
    '20.0 C, 101.3 kPa, dry (assumed; state them in [air])'
    """
    celsius = air.temperature_k - ZERO_CELSIUS_K
    warm = f"{celsius:.1f} C" if shown.units == "mm" else f"{1.8 * celsius + 32.0:.1f} F"
    damp = "dry" if air.humidity == 0.0 else f"{100.0 * air.humidity:.0f} percent humid"
    words = f"{warm}, {1e-3 * air.pressure_pa:.1f} kPa, {damp}"
    if not air.assumed:
        return words
    if len(air.assumed) == 3:
        return f"{words} (assumed; state them in [air])"
    return f"{words} ({' and '.join(air.assumed)} assumed; state in [air])"


def _number(amount: float, unit: str) -> str:
    value = in_unit(amount, unit)
    return f"{value:.{DECIMALS[unit]}f}"
