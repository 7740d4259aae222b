"""Losses: each is its coefficient on its dynamic pressure, they rank and spread, and stations do not matter."""

from __future__ import annotations

from collections.abc import Callable
from math import pi, radians

import numpy as np
import pytest
from fluids.fittings import bend_rounded, contraction_conical, diffuser_conical
from fluids.friction import friction_factor

from portgeom.geometry.shapes import circle
from portgeom.questions.flow.losses import Loss, turning_points
from portgeom.questions.flow.whole import FlowAnswers, FlowAsked

from .conftest import cfm

RATE = FlowAsked(rate=cfm(150.0))


def only(answer: FlowAnswers, kind: str) -> Loss:
    (found,) = [x for x in answer.losses.ranked if x.kind == kind]
    return found


def reynolds(answer: FlowAnswers, diameter_mm: float) -> float:
    mass = cfm(150.0).amount * answer.state.air.density_kg_m3
    return 4.0 * mass / (pi * 1e-3 * diameter_mm * answer.state.air.viscosity_pa_s)


def dynamic_pa(answer: FlowAnswers, diameter_mm: float) -> float:
    supply, air = answer.state.supply, answer.state.air
    flux = cfm(150.0).amount * air.density_kg_m3 / (pi / 4 * (1e-3 * diameter_mm) ** 2)
    mach = supply.mach_at_flux(np.array(flux))
    return 0.5 * float(supply.density_kg_m3(mach) * supply.speed_m_s(mach) ** 2)


def test_a_straight_pipe_loses_by_friction_alone(flowing: Callable[..., FlowAnswers]) -> None:
    answer = flowing([0.0, 30.0, 100.0], [circle(40.0)] * 3, asked=RATE)
    (loss,) = answer.losses.ranked
    smooth = friction_factor(Re=reynolds(answer, 40.0), eD=0.0)
    cast = friction_factor(Re=reynolds(answer, 40.0), eD=0.26 / 40.0)
    # outlines of circles are polygons: area and perimeter are a ten-thousandth short
    assert loss.low_pa == pytest.approx(smooth * 100.0 / 40.0 * dynamic_pa(answer, 40.0), rel=2e-3)
    assert loss.high_pa == pytest.approx(cast * 100.0 / 40.0 * dynamic_pa(answer, 40.0), rel=2e-3)
    assert loss.shares == pytest.approx([0.3, 0.7], rel=1e-6)


def test_a_bend_loses_the_librarys_coefficient_less_its_own_friction(bent: Callable[..., FlowAnswers]) -> None:
    answer = bent(40.0, 80.0, asked=RATE)
    loss = only(answer, "bend")
    re = reynolds(answer, 40.0)
    along = friction_factor(Re=re, eD=0.0) * radians(90.0) * 2.0
    raw = [
        bend_rounded(Di=0.04, angle=90.0, bend_diameters=2.0, Re=re, method=m)
        for m in ("Rennels", "Crane", "Miller", "Ito")
    ]
    values = [k - along for k in raw]
    assert [c.value for c in loss.coefficients] == pytest.approx(values, rel=5e-3)
    assert loss.low_pa == pytest.approx(min(values) * dynamic_pa(answer, 40.0), rel=8e-3)
    assert loss.high_pa == pytest.approx(max(values) * dynamic_pa(answer, 40.0), rel=8e-3)


def test_narrowing_and_widening_are_whole_runs_on_their_narrow_end(narrowing: Callable[..., FlowAnswers]) -> None:
    answer = narrowing(asked=RATE)
    shrinks, grows = only(answer, "contraction"), only(answer, "diffusion")
    re, dynamic = reynolds(answer, 40.0), dynamic_pa(answer, 40.0)
    assert (shrinks.from_mm, shrinks.to_mm, grows.from_mm, grows.to_mm) == pytest.approx((0.0, 40.0, 40.0, 100.0))
    for loss, ask, ends, length in (
        (shrinks, contraction_conical, (0.05, 0.04), 0.04),
        (grows, diffuser_conical, (0.04, 0.046), 0.06),
    ):
        crane = ask(Di1=ends[0], Di2=ends[1], l=length, Re=re, method="Crane")
        assert next(c.value for c in loss.coefficients if c.method == "Crane") == pytest.approx(crane, rel=2e-3)
        values = [c.value for c in loss.coefficients]
        assert loss.low_pa == pytest.approx(min(values) * dynamic, rel=1e-3, abs=1e-6)
        assert loss.high_pa == pytest.approx(max(values) * dynamic, rel=1e-3)


def test_stations_within_a_run_do_not_change_it(flowing: Callable[..., FlowAnswers]) -> None:
    few = flowing([0.0, 100.0], [circle(40.0), circle(48.0)], asked=RATE)
    s = np.linspace(0.0, 100.0, 11)
    many = flowing(s, [circle(40.0 + 0.08 * x) for x in s], asked=RATE)
    a, b = only(few, "diffusion"), only(many, "diffusion")
    assert (a.low_pa, a.high_pa) == pytest.approx((b.low_pa, b.high_pa), rel=1e-3)


def test_an_exhaust_widens_where_an_intake_narrows(narrowing: Callable[..., FlowAnswers]) -> None:
    answer = narrowing(kind="exhaust", asked=RATE)
    grows = only(answer, "diffusion")
    assert (grows.from_mm, grows.to_mm) == pytest.approx((0.0, 40.0))
    assert grows.area_ratio == pytest.approx((50.0 / 40.0) ** 2, rel=1e-3)
    assert only(answer, "contraction").from_mm == pytest.approx(40.0)


def test_causes_are_ranked_and_stretches_hold_all_of_them(bent: Callable[..., FlowAnswers]) -> None:
    found = bent(40.0, 60.0, asked=RATE).losses
    middles = [x.middle_pa for x in found.ranked]
    assert middles == sorted(middles, reverse=True)
    assert sum(s.low_pa for s in found.stretches) == pytest.approx(found.low_pa, rel=1e-9)
    assert sum(s.high_pa for s in found.stretches) == pytest.approx(found.high_pa, rel=1e-9)
    for loss in found.ranked:
        assert loss.shares.sum() == pytest.approx(1.0)
        assert loss.low_pa <= loss.high_pa
    assert {s.most for s in found.stretches} == {"bend"}


def test_nothing_single_is_told_with_confidence(bent: Callable[..., FlowAnswers]) -> None:
    for loss in bent(40.0, 60.0, asked=RATE).losses.ranked:
        assert len(loss.coefficients) >= 2
        assert loss.low_pa < loss.high_pa


def test_losses_grow_with_the_square_of_the_flow(narrowing: Callable[..., FlowAnswers]) -> None:
    # shape alone: friction factors fall a little with speed, and air thins
    slow, fast = (only(narrowing(asked=FlowAsked(rate=cfm(q))), "contraction") for q in (20.0, 40.0))
    assert fast.high_pa / slow.high_pa == pytest.approx(4.0, rel=0.02)


@pytest.mark.parametrize(
    ("area", "ends"),
    [
        ([10.0, 9.0, 8.0], [0, 2]),
        ([10.0, 10.05, 10.0], [0, 2]),
        ([10.0, 8.0, 10.0, 9.0], [0, 1, 2, 3]),
        ([10.0, 8.0, 8.05, 6.0], [0, 3]),
        ([10.0, 8.0, 8.05], [0, 1, 2]),
        ([5.0, 5.0], [0, 1]),
    ],
)
def test_runs_end_where_the_area_turns_and_ripples_are_passed_over(area: list[float], ends: list[int]) -> None:
    assert turning_points(np.array(area)) == ends
