"""Theoretical speed: each way agrees with the other where air hardly thins, and choking is never passed."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from portgeom.questions.flow.air import moist_air
from portgeom.questions.flow.theoretical import Supply, supply_of, theory

AIR = moist_air(293.15, 101_325.0, 0.4)
SUPPLY = supply_of(AIR, 7000.0, "intake")


@given(st.floats(0.0, 1.0))
def test_a_mach_number_is_found_again_from_what_it_passes(mach: float) -> None:
    # the flux is flat at Mach 1: there a difference of 1e-16 in it is one of 1e-8 in Mach
    flux = SUPPLY.flux(np.array(mach))
    again = float(SUPPLY.mach_at_flux(np.minimum(flux, SUPPLY.choked_flux)))
    assert again == pytest.approx(mach, abs=1e-7 if mach > 0.99 else 1e-9)
    assert float(SUPPLY.flux(np.array(again))) == pytest.approx(float(flux), rel=1e-9, abs=1e-9)


@given(st.floats(1.0, 90_000.0), st.floats(1.0, 90_000.0))
def test_more_depression_never_passes_less_and_never_more_than_choked(one: float, other: float) -> None:
    low, high = (theory(AIR, p, "intake").flux_kg_s_m2 for p in sorted((one, other)))
    assert low <= high * (1 + 1e-12)
    assert high <= SUPPLY.choked_flux * (1 + 1e-12)


def test_the_choking_limit_is_approached_from_below() -> None:
    critical = (1.0 - SUPPLY.critical_ratio) * AIR.pressure_pa
    short = [SUPPLY.choked_flux - theory(AIR, critical - gap, "intake").flux_kg_s_m2 for gap in (1e4, 1e3, 1e2)]
    assert short[0] > short[1] > short[2] > 0.0
    # the flux is level at Mach 1, so what is missing falls with the square of the gap
    assert short[0] / short[1] == pytest.approx(100.0, rel=0.15)
    at = theory(AIR, critical + 1.0, "intake")
    assert at.choked
    assert at.flux_kg_s_m2 == pytest.approx(SUPPLY.choked_flux, rel=1e-12)


def test_both_ways_agree_as_the_depression_goes_to_nothing() -> None:
    # to first order in x = dp / p the isentropic speed is more by x / (4 kappa)
    for depression in (1000.0, 100.0):
        reckoned = theory(AIR, depression, "intake")
        more = reckoned.speed_m_s / reckoned.bernoulli_m_s - 1.0
        assert more == pytest.approx(depression / AIR.pressure_pa / (4.0 * AIR.kappa), rel=0.01)


def test_an_exhaust_is_blown_from_above_the_room() -> None:
    drawn, blown = supply_of(AIR, 7000.0, "intake"), supply_of(AIR, 7000.0, "exhaust")
    assert blown.pressure_pa - drawn.pressure_pa == pytest.approx(7000.0)
    assert theory(AIR, 7000.0, "exhaust").speed_m_s < theory(AIR, 7000.0, "intake").speed_m_s


def test_more_than_passes_at_mach_1_is_refused() -> None:
    with pytest.raises(ValueError, match="more than passes at Mach 1"):
        SUPPLY.mach_at_flux(np.array([1.01 * SUPPLY.choked_flux]))


def test_mass_is_density_times_speed() -> None:
    mach = np.linspace(0.01, 1.0, 30)
    supply = Supply(90_000.0, 310.0, 288.0, 1.395)
    np.testing.assert_allclose(supply.density_kg_m3(mach) * supply.speed_m_s(mach), supply.flux(mach), rtol=1e-12)
