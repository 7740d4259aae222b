"""Demand: displacement over time, speeds from continuity, and area ratios of larger valves."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from math import pi

import pytest

from portgeom.job.flow_values import Engine, Stated
from portgeom.questions.flow.demand import MACH_INDEX_LIMIT, mean_coefficient
from portgeom.questions.flow.whole import FlowAnswers

from .conftest import EXHAUST_VALVE, VALVE, reading

ENGINE = Engine(100.0, 80.0, 6000.0, volumetric_efficiency=0.9)
SWEPT_M3 = pi / 4 * 0.1**2 * 0.08


@pytest.fixture
def driven(narrowing: Callable[..., FlowAnswers]) -> Callable[..., FlowAnswers]:
    def answer(engine: Engine = ENGINE, *readings: object, valve: object = VALVE) -> FlowAnswers:
        return narrowing(job={"valves": (valve,), "engine": engine, "flow": readings})

    return answer


def test_a_four_stroke_draws_its_swept_volume_every_other_turn(driven: Callable[..., FlowAnswers]) -> None:
    asks = driven().demand
    assert asks is not None
    assert asks.mean_m3_s == pytest.approx(0.9 * SWEPT_M3 * 3000.0 / 60.0)
    # four times as much while the piston goes down: one stroke of four
    assert asks.stroke_m3_s == pytest.approx(4.0 * asks.mean_m3_s)
    assert asks.piston_speed_m_s == pytest.approx(16.0)
    assert asks.smallest_m_s * 1e-6 * asks.smallest_mm2 == pytest.approx(asks.stroke_m3_s)


def test_two_valves_share_it(driven: Callable[..., FlowAnswers]) -> None:
    one, two = driven().demand, driven(replace(ENGINE, intake_valves=2)).demand
    assert one is not None
    assert two is not None
    assert two.stroke_m3_s == pytest.approx(0.5 * one.stroke_m3_s)


def test_efficiency_is_one_and_said_to_be_assumed_where_it_is_not_given(driven: Callable[..., FlowAnswers]) -> None:
    asks = driven(replace(ENGINE, volumetric_efficiency=None)).demand
    assert asks is not None
    assert (asks.efficiency, asks.efficiency_assumed) == (1.0, True)


def test_a_speed_limit_asks_for_an_area(driven: Callable[..., FlowAnswers]) -> None:
    limit = Stated(100.0, "speed", "m/s")
    answer = driven(replace(ENGINE, speed_limit=limit))
    assert answer.demand is not None
    assert answer.demand.asked_mm2 == pytest.approx(1e6 * 4 * 0.9 * SWEPT_M3 * 50.0 / 100.0)
    # 1131 mm2 are asked, 1257 less the stem are there
    assert not answer.found
    assert driven(replace(ENGINE, speed_limit=Stated(80.0, "speed", "m/s"))).found


def test_the_mach_index_is_taylors(driven: Callable[..., FlowAnswers]) -> None:
    answer = driven(replace(ENGINE, flow_coefficient=0.35))
    assert answer.demand is not None
    index = answer.demand.mach_index
    assert index is not None
    assert index.index == pytest.approx((100 / 52) ** 2 * 16.0 / (0.35 * answer.state.air.sound_m_s))
    assert (index.from_readings, answer.found) == (False, index.index > MACH_INDEX_LIMIT[1])


def test_without_coefficient_or_readings_there_is_no_mach_index(driven: Callable[..., FlowAnswers]) -> None:
    assert driven().demand is not None
    assert driven().demand.mach_index is None
    assert driven(ENGINE, reading(10.0, 180.0)).demand.mach_index is None


def test_a_flow_coefficient_is_averaged_from_the_readings(driven: Callable[..., FlowAnswers]) -> None:
    # flow that grows straight with lift: the mean of sine squared is a half of the largest
    answer = driven(ENGINE, reading(5.0, 90.0), reading(10.0, 180.0))
    top = answer.state.points[-1].effective_mm2 / (pi / 4 * 52.0**2)
    assert mean_coefficient(VALVE, answer.state.points) == pytest.approx(0.5 * top, rel=1e-9)
    assert answer.demand.mach_index.from_readings


def test_exhaust_ports_have_no_demand(narrowing: Callable[..., FlowAnswers]) -> None:
    job = {"valves": (EXHAUST_VALVE,), "engine": ENGINE}
    assert narrowing(kind="exhaust", job=job).demand is None


def test_a_larger_head_asks_for_its_area_everywhere_upstream(narrowing: Callable[..., FlowAnswers]) -> None:
    valve = replace(VALVE, head_diameter_mm=50.0, throat_diameter_mm=44.0, larger_heads_mm=(51.4,))
    answer = narrowing(job={"valves": (valve,)}, places=["face", "pinch", "throat"])
    present, larger = answer.larger
    assert (present.head_diameter_mm, present.area_ratio) == (50.0, 1.0)
    # common practice, no source: 50.0 to 51.4 mm asks about 5.7 percent more
    assert larger.area_ratio == pytest.approx(1.057, abs=5e-4)
    assert larger.throat_net_mm2 == pytest.approx(pi / 4 * ((44.0 * 51.4 / 50.0) ** 2 - 8.0**2))
    shares = dict(larger.percent)
    assert list(shares) == ["face", "pinch"]
    assert not larger.enough
    wide = replace(valve, head_diameter_mm=40.0, throat_diameter_mm=36.0, larger_heads_mm=(42.0,))
    assert narrowing(job={"valves": (wide,)}, places=["face", "pinch", "throat"]).larger[1].enough
