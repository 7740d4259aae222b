"""Bench readings: the effective area gives the flow back, leak comes off, coefficients are on what they say."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from math import pi

import pytest

from portgeom.job.faults import JobError
from portgeom.job.flow_values import AirGiven, Stated
from portgeom.questions.flow.air import moist_air
from portgeom.questions.flow.whole import FlowAnswers

from .conftest import VALVE, cfm, reading


@pytest.fixture
def read(narrowing: Callable[..., FlowAnswers]) -> Callable[..., FlowAnswers]:
    def answer(*readings: object, **job: object) -> FlowAnswers:
        return narrowing(job={"valves": (VALVE,), "flow": readings, **job})

    return answer


def test_the_effective_area_is_what_would_pass_as_much_without_loss(read: Callable[..., FlowAnswers]) -> None:
    (point,) = read(reading(10.0, 180.0)).state.points
    # 28 inH2O at 20 C, isentropic: 109.000 m/s, air thinned to (1 - 6974.49 / 101325)^(1 / 1.4) of its density
    thinned = (1.0 - 28.0 * 249.08891 / 101_325.0) ** (1.0 / 1.4)
    volume = 1e-6 * point.effective_mm2 * 109.000 * thinned
    assert volume == pytest.approx(cfm(180.0).amount, rel=1e-5)


def test_coefficients_are_on_the_areas_they_are_named_for(read: Callable[..., FlowAnswers]) -> None:
    (point,) = read(reading(10.0, 180.0)).state.points
    c = point.coefficients
    assert c is not None
    assert c.curtain * pi * 52.0 * 10.0 == pytest.approx(point.effective_mm2)
    assert c.throat * pi / 4 * (46.0**2 - 8.0**2) == pytest.approx(point.effective_mm2)
    assert c.head * pi / 4 * 52.0**2 == pytest.approx(point.effective_mm2)
    assert c.curtain < c.opening < 1.0


def test_a_leak_comes_off(read: Callable[..., FlowAnswers]) -> None:
    (tight,) = read(reading(10.0, 180.0)).state.points
    (leaky,) = read(reading(10.0, 183.0, leak=cfm(3.0))).state.points
    assert leaky.effective_mm2 == pytest.approx(tight.effective_mm2, rel=1e-12)


def test_a_flow_by_mass_is_the_same_reading(read: Callable[..., FlowAnswers]) -> None:
    air = {"air": AirGiven(290.0, 99_000.0, 0.5)}
    (volume,) = read(reading(10.0, 180.0, **air)).state.points
    mass = Stated(cfm(180.0).amount * moist_air(290.0, 99_000.0, 0.5).density_kg_m3, "mass flow", "kg/s")
    (weighed,) = read(replace(reading(10.0, 180.0, **air), rate=mass)).state.points
    assert weighed.effective_mm2 == pytest.approx(volume.effective_mm2, rel=1e-12)
    assert weighed.volume_m3_s == pytest.approx(cfm(180.0).amount, rel=1e-12)


def test_readings_are_told_by_lift_and_speeds_are_for_the_largest(read: Callable[..., FlowAnswers]) -> None:
    state = read(reading(10.0, 180.0), reading(4.0, 90.0), reading(8.0, 160.0)).state
    assert [p.reading.lift_mm for p in state.points] == [4.0, 8.0, 10.0]
    assert (state.along.basis.kind, state.along.basis.reading) == ("reading", state.points[-1].reading)


def test_other_stages_readings_are_left_alone(read: Callable[..., FlowAnswers]) -> None:
    assert read(reading(10.0, 180.0, stage="finished")).state.points == ()


def test_more_than_the_opening_could_pass_is_told(read: Callable[..., FlowAnswers]) -> None:
    good, bad = read(reading(3.0, 60.0), reading(3.0, 90.0)).state.points
    assert (good.too_good, bad.too_good) == (False, True)
    assert read(reading(3.0, 90.0)).found


def test_lift_beyond_a_quarter_is_allowed_and_noted(read: Callable[..., FlowAnswers]) -> None:
    (point,) = read(reading(14.0, 180.0)).state.points
    assert point.beyond_quarter
    assert point.coefficients is not None


def test_a_reading_beyond_choked_flow_is_a_fault_with_the_limit(read: Callable[..., FlowAnswers]) -> None:
    with pytest.raises(JobError, match=r"flow number 1: rate: 900 cfm at lift 10.*speed of sound: 5\d\d\.?\d* cfm"):
        read(reading(10.0, 900.0, row=17))


def test_without_a_valve_there_is_the_effective_area_alone(narrowing: Callable[..., FlowAnswers]) -> None:
    answer = narrowing(job={"flow": (reading(10.0, 180.0),)})
    (point,) = answer.state.points
    assert (answer.valve, point.coefficients, point.limits) == (None, None, "")
    assert point.effective_mm2 > 0.0


def test_a_valve_shut_has_no_coefficient(read: Callable[..., FlowAnswers]) -> None:
    (point,) = read(reading(0.0, 2.0)).state.points
    assert point.coefficients is None
