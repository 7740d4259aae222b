"""Air: what is stated counts, what is not is taken from the next, and said to be assumed."""

from __future__ import annotations

import pytest

from portgeom.job.flow_values import AirGiven
from portgeom.questions.flow.air import air_of, moist_air, saturation_pa


def test_a_reading_overrides_the_job_and_the_rest_is_assumed() -> None:
    air = air_of(AirGiven(temperature_k=300.0), AirGiven(temperature_k=290.0, pressure_pa=98_000.0))
    assert (air.temperature_k, air.pressure_pa, air.humidity) == (300.0, 98_000.0, 0.0)
    assert air.assumed == ("humidity",)


def test_nothing_stated_is_all_assumed() -> None:
    air = air_of(None, None)
    assert air.assumed == ("temperature", "pressure", "humidity")
    assert air.density_kg_m3 == pytest.approx(101_325.0 / (287.05 * 293.15))


def test_damp_air_is_lighter_and_sound_faster_in_it() -> None:
    dry, damp = (moist_air(303.15, 101_325.0, h) for h in (0.0, 1.0))
    assert damp.density_kg_m3 < dry.density_kg_m3
    assert damp.sound_m_s > dry.sound_m_s
    assert damp.kappa < dry.kappa == pytest.approx(1.4)


def test_water_boils_at_the_pressure_of_the_room() -> None:
    # saturated vapour at 20 C is 2339 Pa (steam tables); the formula is given to 0.4 percent
    assert saturation_pa(293.15) == pytest.approx(2339.0, rel=4e-3)
