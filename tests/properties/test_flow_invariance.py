"""What must not change the flow of a port: where it stands, which way it looks, left for right, one more reading."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pytest

from portgeom.geometry.outline import Outline
from portgeom.geometry.shapes import CornerRadii, rectangle
from portgeom.job.values import Job, SectionTable, Valve
from portgeom.model.lofted import loft_job
from portgeom.questions.flow.whole import FlowAnswers, flow_answers, flow_state

VALVE = Valve("intake", 52.0, 46.0, 8.0, 45.0, 1.5)
PITCH = np.array([0.0, 5.0, 15.0, 35.0, 60.0, 80.0])
DISTANCE = np.array([0.0, 25.0, 50.0, 70.0, 90.0, 110.0])
CORNERS = CornerRadii(14.0, 8.0, 10.0, 6.0)
WIDE = (44.0, 40.0, 38.0, 41.0, 44.0, 42.0)


@pytest.fixture(scope="module")
def flowing(job_of: Callable[..., Job], table_of: Callable[..., SectionTable]) -> Callable[..., FlowAnswers]:
    def answer(outlines: list[Outline], **more: object) -> FlowAnswers:
        table = {"pitch_deg": PITCH, "yaw_deg": np.zeros(len(PITCH)), **more}
        port = {key: table.pop(key) for key in ("position_mm",) if key in table}
        made = replace(job_of(table_of(DISTANCE, outlines, **table), **port), valves=(VALVE,))
        (lofted,) = loft_job(made)
        return flow_answers(made, flow_state(made, lofted, lofted.stages[0]))

    return answer


def sections() -> list[Outline]:
    return [rectangle(w, 46.0, CORNERS) for w in WIDE]


def mirrored() -> list[Outline]:
    return [Outline.polygon(o.points_mm[::-1] * [-1.0, 1.0]) for o in sections()]


def same(one: FlowAnswers, other: FlowAnswers, *, within: float) -> None:
    np.testing.assert_allclose(one.state.along.speed_m_s, other.state.along.speed_m_s, rtol=within)
    np.testing.assert_allclose(one.state.blocked.area_mm2, other.state.blocked.area_mm2, rtol=within, atol=1e-6)
    pairs = list(zip(one.losses.ranked, other.losses.ranked, strict=True))
    for a, b in pairs:
        assert a.kind == b.kind
        assert (a.low_pa, a.high_pa) == pytest.approx((b.low_pa, b.high_pa), rel=within)


def test_where_a_port_stands_and_which_way_it_looks(flowing: Callable[..., FlowAnswers]) -> None:
    here = flowing(sections())
    there = flowing(sections(), position_mm=np.array([300.0, -20.0, 55.0]), yaw_deg=np.full(len(PITCH), 70.0))
    same(here, there, within=1e-7)


def test_left_for_right(flowing: Callable[..., FlowAnswers]) -> None:
    right, left = flowing(sections()), flowing(mirrored())
    same(right, left, within=1e-3)
    clocks = [x.losses.bends[0].tightest.clock_deg for x in (right, left)]
    assert clocks[0] == pytest.approx((360.0 - clocks[1]) % 360.0, abs=0.5)


def test_mass_is_kept_between_stations(flowing: Callable[..., FlowAnswers]) -> None:
    state = flowing(sections()).state
    supply, along = state.supply, state.along
    mass = supply.density_kg_m3(along.mach) * along.speed_m_s * 1e-6 * along.sections.net_mm2
    np.testing.assert_allclose(mass, along.basis.mass_kg_s, rtol=1e-9)
