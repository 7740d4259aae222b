"""The parts of a proposal: sections that move as the target's own code moves them, slopes that hold, rows told."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest

from portgeom.geometry.chart import Resolution
from portgeom.geometry.shapes import CornerRadii, rectangle
from portgeom.job.propose_values import Wishes
from portgeom.job.read import read_job
from portgeom.job.values import Job, Limits, Port, Stage
from portgeom.model.lofted import LoftedPort, loft_job
from portgeom.model.wanted import wanted_port
from portgeom.output.charts.propose_chart import draw_proposal, draw_trade_off, propose_chart
from portgeom.output.words.propose_doc import depth_words, limit_words
from portgeom.output.words.shown import Shown
from portgeom.questions.propose.binding import NO_MORE
from portgeom.questions.propose.demand import demand_of
from portgeom.questions.propose.port_model import PortModel, port_model, port_slopes, port_state
from portgeom.questions.propose.proposed import groups_of, proposed
from portgeom.questions.propose.runs import SIDES
from portgeom.questions.propose.sureness import ONE_IN_TWENTY, WallDraws, wall_draws
from portgeom.questions.propose.target import target_from
from portgeom.questions.shape.removal import removal
from portgeom.questions.walls.behind import behind

EXAMPLE = Path(__file__).parents[3] / "examples" / "workshop-pair"
BOX = rectangle(36.0, 48.0, CornerRadii(8.0, 8.0, 8.0, 8.0))


@pytest.fixture(scope="module")
def job() -> Job:
    return read_job(EXAMPLE)


@pytest.fixture(scope="module")
def lofts(job: Job) -> tuple[LoftedPort, ...]:
    return loft_job(job, resolution=Resolution(2.0, 96))


def model_of(job: Job, port: LoftedPort, **wishes: object) -> PortModel:
    draws = [WallDraws(h, np.zeros(0)) for h in behind(job, port)]
    return port_model(port, port.cast, Wishes(**wishes), Limits(), draws)


@pytest.mark.parametrize("number", [0, 1])
def test_sections_move_as_the_target_that_is_written_moves_them(
    job: Job, lofts: tuple[LoftedPort, ...], number: int
) -> None:
    """The same cuts as depths of the model and as a target: distances agree to the rounding of the target's lines."""
    port = lofts[number]
    model = model_of(job, port, most_floor_mm=2.0)
    generator = np.random.default_rng(number)
    least = np.concatenate([r.least_mm for r in model.runs])
    most = np.concatenate([r.most_mm for r in model.runs])
    cut = np.maximum(0.0, least) + generator.uniform(0.2, 0.8, len(most)) * (most - np.maximum(0.0, least))
    target = target_from(model, cut, "t", "mm")
    wanted = wanted_port(port, target, limits=job.limits)
    state = port_state(model, cut)
    after = np.maximum(wanted.rho_mm, port.cast.surface.rho_mm)
    assert np.abs(after - state.shape.rho_mm).max() < 0.03
    removed = removal(port, port.cast, wanted, density_g_cc=7.2)
    assert state.removed_mm3 == pytest.approx(removed.volume_mm3, rel=2e-3)
    assert state.flow_mm2 == pytest.approx(removed.after.flow_area_mm2, rel=1e-3)


def test_slopes_are_those_of_the_true_areas_volumes_and_walls(job: Job, lofts: tuple[LoftedPort, ...]) -> None:
    """Central differences of the states themselves, five times the step of the slopes."""
    model = model_of(job, lofts[0])
    cut = 0.5 * np.concatenate([r.most_mm for r in model.runs])
    state = port_state(model, cut)
    slopes = port_slopes(model, state)
    volume = model.to_unknowns(slopes.volume[:, None, :])[0]
    for k in (3, 14, 26):
        step = np.zeros(model.count)
        step[k] = 0.1
        more, less = port_state(model, cut + step), port_state(model, cut - step)
        flow = (more.flow_mm2 - less.flow_mm2) / 0.2
        assert slopes.flow[k] == pytest.approx(flow, abs=0.02 * np.abs(flow).max())
        assert volume[k] == pytest.approx((more.removed_mm3 - less.removed_mm3) / 0.2, rel=0.01)


def test_what_a_port_has_already_is_never_too_much(job: Job, lofts: tuple[LoftedPort, ...]) -> None:
    port = lofts[0]
    asked = demand_of(port, port.cast, Wishes(entry_area_mm2=1500.0, throat_area_mm2=1500.0))
    assert asked.follows == "straight"
    assert (asked.most_mm2 >= port.cast.surface.flow_area_mm2).all()
    least = demand_of(port, port.cast, Wishes(follow="least area", least_area_mm2=1700.0))
    before_throat = port.chart.distance_mm <= port.throat_mm
    assert least.least_mm2[before_throat] == pytest.approx(1700.0, rel=1e-3)
    assert np.isinf(least.most_mm2).all()


def test_a_margin_is_so_many_standard_deviations(job: Job, lofts: tuple[LoftedPort, ...]) -> None:
    port = lofts[0]
    hazards = behind(job, port)
    drawn = wall_draws(port, port.cast, hazards, job.accuracy, draws=400)
    for known in drawn:
        assert known.margin_mm(ONE_IN_TWENTY) >= ONE_IN_TWENTY * known.sd_mm
        assert known.margin_mm(0.0) == 0.0
        limit = 3.0
        assert known.kept(limit + known.margin_mm(ONE_IN_TWENTY), limit) >= 0.95
    exact = replace(job.accuracy, gauge_mm=0.0, tool_bias_mm=0.0, distance_mm=0.0, pitch_deg=0.0, trace_mm=0.0)
    for known in wall_draws(port, port.cast, hazards, exact, draws=5):
        assert known.moved_mm == pytest.approx(0.0, abs=1e-9)


@pytest.fixture(scope="module")
def box(table_of: Callable[..., object]) -> tuple[Job, tuple[LoftedPort, ...]]:
    table = table_of([0.0, 20.0, 40.0, 60.0], [BOX] * 4, pitch_deg=0.0)
    job = Job(Path(), "box", "mm", "grey iron", 7.2, (Port("1", "intake", (Stage("as cast", table),)),))
    return job, loft_job(job)


def test_the_charts_say_what_the_proposal_says(box: tuple[Job, tuple[LoftedPort, ...]]) -> None:
    job, ports = box
    wishes = Wishes(entry_area_mm2=1750.0, throat_area_mm2=1750.0)
    (found,) = proposed(job, ports, groups_of([(ports[0], ports[0].cast)]), wishes, curve=True)
    (one,) = found.proposal.ports
    shown = Shown("in")
    chart = propose_chart(one, shown)
    assert chart.proposed * 25.4**2 == pytest.approx(one.removal.after.flow_area_mm2)
    assert chart.sides == ("roof", "left", "right")
    for side in chart.sides:
        stops = [s for s in chart.stops if s.side == side]
        assert stops[0].start == 0.0
        assert stops[-1].end * 25.4 == pytest.approx(60.0)
        assert all(a.end == b.start for a, b in pairwise(stops))
    assert draw_proposal(chart).height > 300.0
    assert found.curve is not None
    areas = [p.smallest_mm2 for p in found.curve.points]
    metal = [p.removed_mm3 for p in found.curve.points]
    assert areas == sorted(areas)
    assert metal == sorted(metal)
    assert areas[found.curve.asked] == pytest.approx(0.99 * 1750.0, rel=1e-3)
    assert draw_trade_off(found.curve, shown).width > 0.0


def test_words_of_depths_and_stops() -> None:
    assert depth_words(-1.24, Shown("mm")) == "leaves 1.2"
    assert depth_words(-0.01, Shown("mm")) == "0.0"
    assert limit_words([]) == NO_MORE
    assert SIDES == ("roof", "left", "right", "floor")
