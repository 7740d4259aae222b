"""Daily vibration exposure against its formula and the values of the directive."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from portgeom.questions.cutting.vibration import (
    ACTION_VALUE_M_S2,
    LIMIT_VALUE_M_S2,
    ToolUse,
    daily_exposure_m_s2,
    exposure,
    minutes_until,
    total_value_m_s2,
)

DAY = 8.0 * 60.0


def test_the_values_are_those_of_the_directive() -> None:
    # Directive 2002/44/EC, article 3(1): limit value 5 m/s2, action value 2.5 m/s2, over eight hours
    assert (ACTION_VALUE_M_S2, LIMIT_VALUE_M_S2) == (2.5, 5.0)


def test_eight_hours_of_one_tool_expose_to_its_own_vibration() -> None:
    assert daily_exposure_m_s2([ToolUse("burr", 3.7, DAY)]) == pytest.approx(3.7)


@pytest.mark.parametrize("hours", [0.5, 1.0, 2.0, 4.0])
def test_a_shorter_time_counts_by_its_root(hours: float) -> None:
    assert daily_exposure_m_s2([ToolUse("burr", 6.0, 60.0 * hours)]) == pytest.approx(6.0 * math.sqrt(hours / 8.0))


def test_several_tools_add_root_sum_square() -> None:
    uses = [ToolUse("burr", 5.0, 90.0), ToolUse("flap wheel", 3.0, 45.0), ToolUse("stone", 8.0, 10.0)]
    apart = [5.0 * math.sqrt(90.0 / DAY), 3.0 * math.sqrt(45.0 / DAY), 8.0 * math.sqrt(10.0 / DAY)]
    assert daily_exposure_m_s2(uses) == pytest.approx(math.hypot(*apart))


@pytest.mark.parametrize(
    ("vibration", "action", "limit"),
    # minutes by 480 (level / a)^2, as tables for the bench list them
    [(2.5, 480.0, 1920.0), (5.0, 120.0, 480.0), (10.0, 30.0, 120.0), (20.0, 7.5, 30.0)],
)
def test_twice_the_vibration_is_reached_in_a_quarter_of_the_time(vibration: float, action: float, limit: float) -> None:
    assert minutes_until(ACTION_VALUE_M_S2, vibration) == pytest.approx(action)
    assert minutes_until(LIMIT_VALUE_M_S2, vibration) == pytest.approx(limit)


@given(
    level=st.floats(0.5, 10.0),
    vibration=st.floats(0.5, 50.0),
    before=st.lists(st.tuples(st.floats(0.0, 20.0), st.floats(0.0, 60.0)), max_size=3),
)
def test_what_is_left_of_the_day_just_reaches_the_level(level, vibration, before) -> None:
    uses = [ToolUse(str(k), a, t) for k, (a, t) in enumerate(before)]
    so_far = daily_exposure_m_s2(uses)
    minutes = minutes_until(level, vibration, so_far_m_s2=so_far)
    reached = daily_exposure_m_s2([*uses, ToolUse("next", vibration, minutes)])
    assert reached == pytest.approx(max(level, so_far))


def test_a_level_reached_before_leaves_no_minutes() -> None:
    assert minutes_until(2.5, 4.0, so_far_m_s2=2.5) == 0.0


def test_a_tool_that_does_not_vibrate_never_reaches_a_level() -> None:
    assert minutes_until(2.5, 0.0) == math.inf


@pytest.mark.parametrize(
    ("minutes", "verdict"),
    [
        (119.0, "below the action value"),
        (120.0, "action value reached"),
        (480.0, "action value reached"),
        (481.0, "limit value passed"),
    ],
)
def test_the_action_value_counts_when_reached_and_the_limit_when_passed(minutes: float, verdict: str) -> None:
    day = exposure([ToolUse("burr", 5.0, minutes)])
    assert day.verdict == verdict
    assert day.minutes == minutes


def test_nothing_done_is_no_exposure() -> None:
    assert exposure([]).daily_m_s2 == 0.0


def test_three_axes_add_root_sum_square() -> None:
    assert total_value_m_s2(1.0, 4.0, 8.0) == pytest.approx(math.sqrt(1.0 + 16.0 + 64.0))


@pytest.mark.parametrize(("vibration", "minutes"), [(-1.0, 10.0), (math.nan, 10.0), (3.0, -1.0), (3.0, math.inf)])
def test_what_cannot_be_is_refused_by_name(vibration: float, minutes: float) -> None:
    with pytest.raises(ValueError, match=r"stone: .* is impossible; give a number of at least 0"):
        daily_exposure_m_s2([ToolUse("stone", vibration, minutes)])
