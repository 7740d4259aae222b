"""The valve's opening: continuous, never falling, never more than the throat; and which is smallest is told."""

from __future__ import annotations

from math import pi

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from portgeom.job.values import Valve
from portgeom.questions.flow.valve import (
    curtain_mm2,
    joins,
    opening,
    opening_mm2,
    regime,
    throat_net_mm2,
    valve_areas,
)

VALVE = Valve("intake", 52.0, 46.0, 8.0, 45.0, 1.5)

VALVES = st.builds(
    lambda head, throat, stem, angle, width: Valve(
        "intake", head, throat * head, stem * throat * head, angle, width * head
    ),
    st.floats(20.0, 70.0),
    st.floats(0.3, 0.95),
    st.floats(0.05, 0.6),
    st.floats(15.0, 60.0),
    st.floats(0.005, 0.1),
)


@given(VALVES)
def test_regimes_join_to_a_billionth(valve: Valve) -> None:
    meet = joins(valve)
    for lift in (meet.first_mm, meet.second_mm):
        before, at, after = opening_mm2(valve, lift * np.array([1 - 1e-13, 1.0, 1 + 1e-13]))
        assert before == pytest.approx(at, rel=1e-9)
        assert after == pytest.approx(at, rel=1e-9)
    assert float(opening_mm2(valve, np.array(meet.second_mm))) == pytest.approx(throat_net_mm2(valve), rel=1e-9)


@given(VALVES)
def test_more_lift_never_opens_less_and_never_more_than_the_throat(valve: Valve) -> None:
    area = opening_mm2(valve, np.linspace(0.0, 0.5 * valve.head_diameter_mm, 400))
    assert area[0] == 0.0
    assert (np.diff(area) >= -1e-9).all()
    assert area.max() <= throat_net_mm2(valve)


@given(VALVES, st.floats(0.0, 30.0))
def test_the_regime_is_the_one_whose_area_it_is(valve: Valve, lift: float) -> None:
    meet = joins(valve)
    assume(min(abs(lift - meet.first_mm), abs(lift - meet.second_mm)) > 1e-6)
    area, throat = float(opening_mm2(valve, np.array(lift))), throat_net_mm2(valve)
    assert (regime(valve, lift) == "throat") == (area >= throat * (1 - 1e-12))


def test_the_opening_stays_below_the_curtain() -> None:
    lift = np.linspace(0.1, 16.0, 50)
    assert (opening_mm2(VALVE, lift) < [curtain_mm2(VALVE, x) for x in lift]).all()


def test_the_smallest_is_first_the_curtain_then_whichever_is_tighter() -> None:
    tight, wide = 1200.0, 3000.0
    assert opening(VALVE, 4.0, port_mm2=tight).smallest == "curtain"
    assert opening(VALVE, 13.0, port_mm2=tight).smallest == "port"
    assert opening(VALVE, 13.0, port_mm2=tight).smallest_mm2 == tight
    assert opening(VALVE, 13.0, port_mm2=wide).smallest == "throat"
    assert opening(VALVE, 13.0, port_mm2=wide).smallest_mm2 == pytest.approx(pi / 4 * (46.0**2 - 8.0**2))


def test_a_lift_beyond_a_quarter_of_the_head_is_noted_and_not_refused() -> None:
    assert not opening(VALVE, 13.0, port_mm2=2000.0).beyond_quarter
    assert opening(VALVE, 13.01, port_mm2=2000.0).beyond_quarter


def test_lifts_are_the_jobs_or_steps_to_three_tenths_of_the_head() -> None:
    usual = valve_areas(VALVE, port_mm2=1500.0)
    assert usual.openings[-1].lift_mm == pytest.approx(0.3 * 52.0)
    own = valve_areas(Valve("intake", 52.0, 46.0, 8.0, 45.0, 1.5, lifts_mm=(3.0, 6.0)), port_mm2=1500.0)
    assert [o.lift_mm for o in own.openings] == [3.0, 6.0]
    assert own.throat_percent == pytest.approx(100.0 * 46.0 / 52.0)
