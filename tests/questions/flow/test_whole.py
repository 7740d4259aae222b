"""The whole answer: what is asked for goes before readings, and what the job lacks leaves its part out."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import pytest

from portgeom.geometry.shapes import circle
from portgeom.model.lofted import loft_job
from portgeom.questions.flow.whole import USUAL_DEPRESSION, FlowAnswers, FlowAsked, flow_faults

from .conftest import EXHAUST_VALVE, TWENTY_EIGHT, VALVE, cfm, reading


def test_a_rate_goes_before_a_reading_and_a_reading_before_a_depression(narrowing: Callable[..., FlowAnswers]) -> None:
    job = {"flow": (reading(10.0, 180.0),)}

    def kind(**asked: object) -> str:
        return narrowing(job=job, asked=FlowAsked(**asked)).state.along.basis.kind

    assert kind() == "reading"
    assert kind(rate=cfm(100.0)) == "rate"
    assert kind(depression=TWENTY_EIGHT) == "depression"
    assert narrowing().state.along.basis.depression == USUAL_DEPRESSION


def test_a_missing_valve_leaves_its_parts_out(narrowing: Callable[..., FlowAnswers]) -> None:
    answer = narrowing(job={"valves": (EXHAUST_VALVE,)})
    assert (answer.valve, answer.larger, answer.throat_differs) == (None, (), None)
    assert answer.losses.ranked


def test_the_exhausts_valve_is_for_the_exhaust(narrowing: Callable[..., FlowAnswers]) -> None:
    answer = narrowing(kind="exhaust", job={"valves": (VALVE, EXHAUST_VALVE)})
    assert answer.valve is not None
    assert answer.valve.valve == EXHAUST_VALVE


def test_a_throat_that_is_not_the_valves_is_told(narrowing: Callable[..., FlowAnswers]) -> None:
    assert narrowing(job={"valves": (VALVE,)}).throat_differs is None
    narrow = replace(VALVE, throat_diameter_mm=44.0)
    differs = narrowing(job={"valves": (narrow,)}).throat_differs
    assert differs == pytest.approx((46.0**2 - 8.0**2) / (44.0**2 - 8.0**2), rel=1e-3)


def test_every_reading_beyond_choking_is_one_fault(job_of, table_of) -> None:
    table = table_of([0.0, 40.0, 100.0], [circle(50.0), circle(40.0), circle(46.0)])
    job = replace(job_of(table), flow=(reading(10.0, 900.0), reading(12.0, 100.0), reading(13.0, 950.0, number=3)))
    faults = flow_faults(job, loft_job(job))
    assert [f.field for f in faults] == ["flow number 1: rate", "flow number 3: rate"]
    assert flow_faults(replace(job, flow=()), loft_job(job)) == ()


def test_a_smooth_port_without_anything_more_finds_nothing(flowing: Callable[..., FlowAnswers]) -> None:
    assert not flowing([0.0, 50.0, 100.0], [circle(50.0), circle(48.0), circle(46.0)]).found


def test_a_widening_that_may_separate_is_found(flowing: Callable[..., FlowAnswers]) -> None:
    answer = flowing([0.0, 30.0], [circle(40.0), circle(46.0)])
    assert answer.found
