"""Speeds along a port: mass is kept, the smallest section is the fastest, choking is refused with its limit."""

from __future__ import annotations

from collections.abc import Callable
from math import pi

import numpy as np
import pytest

from portgeom.geometry.shapes import CornerRadii, circle, rectangle
from portgeom.questions.flow.along import ChokedFlow
from portgeom.questions.flow.theoretical import bernoulli_speed_m_s
from portgeom.questions.flow.whole import FlowAnswers, FlowAsked

from .conftest import TWENTY_EIGHT, VALVE, cfm

PLACES = ["face", "pinch", "throat"]


def test_mass_is_the_same_in_every_section(narrowing: Callable[..., FlowAnswers]) -> None:
    state = narrowing(asked=FlowAsked(rate=cfm(250.0))).state
    supply, along = state.supply, state.along
    mass = supply.density_kg_m3(along.mach) * along.speed_m_s * 1e-6 * along.sections.net_mm2
    np.testing.assert_allclose(mass, cfm(250.0).amount * state.air.density_kg_m3, rtol=1e-9)


def test_slow_air_runs_as_volume_over_area(narrowing: Callable[..., FlowAnswers]) -> None:
    rate = cfm(2.0)
    along = narrowing(asked=FlowAsked(rate=rate)).state.along
    plain = rate.amount / (1e-6 * along.sections.net_mm2)
    # air thins by half the square of the Mach number, under 1e-5 here
    np.testing.assert_allclose(along.speed_m_s, plain, rtol=2e-5)


def test_the_smallest_section_is_the_fastest_and_all_ratios_are_to_it(narrowing: Callable[..., FlowAnswers]) -> None:
    along = narrowing().state.along
    assert along.fastest.distance_mm == pytest.approx(40.0)
    assert along.fastest.net_mm2 == pytest.approx(pi / 4 * 40.0**2, rel=1e-4)
    assert along.fastest.speed_m_s == along.speed_m_s.max()
    ratios = [s.ratio_to_smallest for s in along.stations]
    assert ratios == pytest.approx([(50 / 40) ** 2, 1.0, (46 / 40) ** 2], rel=1e-3)


def test_without_a_rate_the_smallest_section_runs_at_the_theoretical_speed(
    narrowing: Callable[..., FlowAnswers],
) -> None:
    state = narrowing(asked=FlowAsked(depression=TWENTY_EIGHT)).state
    assert state.along.basis.kind == "depression"
    assert state.along.fastest.speed_m_s == pytest.approx(state.theory.speed_m_s, rel=1e-6)
    assert state.along.fastest.speed_m_s > bernoulli_speed_m_s(TWENTY_EIGHT.amount, state.air.density_kg_m3)


def test_named_places_come_in_order_with_percent_of_the_net_throat(narrowing: Callable[..., FlowAnswers]) -> None:
    answer = narrowing(job={"valves": (VALVE,)}, places=PLACES)
    face, pinch, throat = answer.state.along.places
    assert [p.name for p in (face, pinch, throat)] == PLACES
    stem = 8.0**2
    assert throat.at.net_mm2 == pytest.approx(pi / 4 * (46.0**2 - stem), rel=1e-3)
    assert throat.at.throat_percent == pytest.approx(100.0)
    # the stem stands on the throat's axis, which runs along this straight port: it is in every section
    assert pinch.at.throat_percent == pytest.approx(100.0 * (40.0**2 - stem) / (46.0**2 - stem), rel=1e-3)
    assert (pinch.believable_percent, pinch.verdict) == ((88.0, 105.0), "below")
    assert (face.believable_percent, face.verdict) == (None, "")
    assert answer.state.along.not_named == ("turn", "bowl")


def test_face_and_throat_are_known_without_names(narrowing: Callable[..., FlowAnswers]) -> None:
    along = narrowing().state.along
    assert [p.name for p in along.places] == ["face", "throat"]
    assert along.not_named == ("pinch", "turn", "bowl")


@pytest.mark.parametrize(("bowl", "verdict"), [(48.6, "below"), (49.5, "within"), (51.5, "above")])
def test_a_place_is_held_against_its_believable_range(
    flowing: Callable[..., FlowAnswers], bowl: float, verdict: str
) -> None:
    # 46 mm throat: 112 percent is 48.68 mm, 125 percent 51.43 mm
    answer = flowing([0.0, 60.0, 100.0], [circle(50.0), circle(bowl), circle(46.0)], places=["face", "bowl", "throat"])
    assert next(p for p in answer.state.along.places if p.name == "bowl").verdict == verdict
    assert answer.found == (verdict != "within")


def test_more_than_choked_is_refused_with_the_limit(narrowing: Callable[..., FlowAnswers]) -> None:
    with pytest.raises(ChokedFlow) as refused:
        narrowing(asked=FlowAsked(rate=cfm(700.0)))
    limit = refused.value.limit_kg_s
    assert limit == pytest.approx(0.0404149 * 101_325.0 / 293.15**0.5 * pi / 4 * 0.04**2, rel=1e-3)
    air = refused.value.air
    state = narrowing(asked=FlowAsked(rate=cfm(0.9999 * limit / air.density_kg_m3 / cfm(1.0).amount))).state
    assert 0.95 < state.along.fastest.mach < 1.0


def test_an_exhaust_feeds_from_the_valve_and_is_reckoned_so(narrowing: Callable[..., FlowAnswers]) -> None:
    out, into = (narrowing(kind=kind, asked=FlowAsked(rate=cfm(150.0))).state for kind in ("exhaust", "intake"))
    assert out.supply.pressure_pa > into.supply.pressure_pa
    assert out.along.fastest.speed_m_s < into.along.fastest.speed_m_s


def test_a_port_smallest_between_stations_is_as_small_for_the_valve(flowing: Callable[..., FlowAnswers]) -> None:
    # half way from one shape to another every ray is a mean of two, and its square less than the mean of theirs
    tall = rectangle(32.0, 52.0, CornerRadii(4.0, 4.0, 4.0, 4.0))
    for stations, throat in ([circle(46.0), tall], 50.0), ([tall], 46.0):
        at = np.linspace(0.0, 80.0, len(stations) + 2)
        answer = flowing(at, [circle(52.0), *stations, circle(throat)], job={"valves": (VALVE,)})
        fastest = answer.state.along.fastest
        assert not np.isclose(at, fastest.distance_mm).any()
        assert fastest.net_mm2 < min(s.net_mm2 for s in answer.state.along.stations) - 1.0
        assert answer.valve is not None
        assert answer.valve.port_mm2 == fastest.net_mm2


def test_a_port_that_narrows_to_its_throat_is_not_smaller_before_it(flowing: Callable[..., FlowAnswers]) -> None:
    answer = flowing([0.0, 40.0, 80.0], [circle(52.0), circle(49.0), circle(46.0)], job={"valves": (VALVE,)})
    assert answer.valve is not None
    assert answer.valve.port_mm2 == pytest.approx(pi / 4 * (49.0**2 - 8.0**2), rel=1e-3)
