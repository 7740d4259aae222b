"""Cutting as a whole: states in order, hands by the standard's formula, nothing asked that has no answer."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from portgeom.geometry.shapes import CornerRadii, rectangle
from portgeom.job.values import CutPass, Cutter, Hazard, Line, Target
from portgeom.model.lofted import loft_job
from portgeom.questions.states import UnknownState, state_after
from portgeom.questions.whole import answers
from portgeom.questions.whole_cutting import cutting

BALL = Cutter("ball 10", "ball", 10.0, 9.0, 6.0, 150.0, rate_cc_per_min=0.5, vibration_m_s2=8.0)
SPARE = Cutter("oval 16", "oval", 16.0, 25.0, 6.0, 150.0)
PASSES = (CutPass("grooves", "grooves", "roof", "ball 10"), CutPass("blend", "blend", "roof", "oval 16"))
FACE = Hazard("face", "plane", point_mm=np.array([0.0, 0.0, 24.0]), normal=np.array([0.0, 0.0, 1.0]))
RISE = 2.0


@pytest.fixture(scope="module")
def asked(job_of, table_of):
    """Return a 40 by 30 duct whose roof is wanted 2 mm higher, cut with two of its cutters, and its answer."""
    s = np.linspace(0.0, 60.0, 4)
    outlines = [rectangle(40.0, 30.0, CornerRadii(6.0, 6.0, 6.0, 6.0))] * 4
    raised = Target("raised", roof=Line(np.array([[0.0, RISE], [60.0, RISE]])), roof_kind="roof_raise")
    job = replace(
        job_of(table_of(s, outlines), target=raised),
        hazards=(FACE,),
        cutters=(BALL, SPARE, replace(SPARE, name="never used")),
        passes=PASSES,
        min_wall_mm=3.0,
    )
    ports = loft_job(job)
    return job, answers(job, ports, ports[0], ports[0].cast)


@pytest.fixture(scope="module")
def done(asked):
    return cutting(*asked, units="mm")


def test_walls_run_from_as_it_is_over_every_pass_to_the_target(done):
    assert [w.state for w in done.walls] == ["as cast", "after grooves", "after blend", "target"]
    left = [w.walls[0].least.wall_mm for w in done.walls]
    # the roof is at 15, and 2 mm higher at the target
    assert left[0] == pytest.approx(24.0 - 15.0)
    assert left[-1] == pytest.approx(24.0 - 15.0 - RISE)
    assert left == sorted(left, reverse=True)


def test_finished_is_the_target_unless_the_passes_stop_for_a_wall(asked, done):
    job, answer = asked
    assert done.finished is done.walls[-1]
    near = replace(FACE, point_mm=np.array([0.0, 0.0, 19.0]))
    held = cutting(replace(job, hazards=(near,), respect_walls=True), answer, units="mm")
    assert held.finished.state == "after blend"
    assert held.finished.walls[0].least.wall_mm >= 3.0 - 0.01
    assert held.kept_back.volume_mm3 > 0.0


def test_cards_belong_to_the_passes_that_cut_grooves(done):
    assert len(done.cards) == len(done.results)
    assert done.cards[0]
    assert done.cards[1] == ()


def test_reach_is_asked_of_the_cutters_that_the_passes_use(done):
    assert [c.cutter.name for c in done.reach.cutters] == ["ball 10", "oval 16"]


def test_hands_count_every_cutter_with_rate_and_vibration_and_name_the_others(done):
    minutes = done.results[0].volume_mm3 / 1000.0 / 0.5
    # one tool: a_hv sqrt(T / 8 h), ISO 5349-1:2001, equation 2
    assert done.exposure.daily_m_s2 == pytest.approx(8.0 * np.sqrt(minutes / 480.0))
    assert done.unjudged == ("oval 16",)


def test_without_any_rate_there_is_no_exposure(asked):
    job, answer = asked
    bare = tuple(replace(c, rate_cc_per_min=None) for c in job.cutters)
    found = cutting(replace(job, cutters=bare), answer, units="mm")
    assert found.exposure is None
    assert found.unjudged == ()


def test_nothing_to_come_off_means_no_pass_and_no_reach_but_walls_all_the_same(asked):
    job, _ = asked
    bare = replace(job, targets=(), passes=(), ports=(replace(job.ports[0], target=None),))
    ports = loft_job(bare)
    found = cutting(bare, answers(bare, ports, ports[0], ports[0].cast), units="mm")
    assert found.results == ()
    assert found.reach is None
    assert [w.state for w in found.walls] == ["as cast", "target"]
    assert found.finished.state == "target"


def test_passes_that_the_tool_plans_are_kept_only_where_they_take_something(asked):
    job, answer = asked
    found = cutting(replace(job, passes=()), answer, units="mm")
    assert all(r.volume_mm3 > 0.0 for r in found.results)
    assert not any(r.plan.side == "floor" for r in found.results)


def test_state_after_a_pass_is_that_passs_surface(asked, done):
    job, answer = asked
    state = state_after(job, answer, done.hazards, "grooves")
    assert state.name == "after grooves"
    np.testing.assert_array_equal(state.surface.rho_mm, done.results[0].after.rho_mm)


def test_state_at_the_target_has_its_roof_at_the_line(asked, done):
    job, answer = asked
    state = state_after(job, answer, done.hazards, "target")
    assert state.surface is answer.removal.after
    assert abs(state.roof.peak.proud_mm) < 0.05
    assert answer.roof.peak.proud_mm == pytest.approx(RISE, abs=0.01)


def test_state_without_a_name_is_the_stage_as_measured(asked, done):
    job, answer = asked
    state = state_after(job, answer, done.hazards, None)
    assert (state.name, state.surface, state.roof) == ("as cast", answer.stage.surface, answer.roof)


def test_a_pass_that_is_not_there_is_named_with_those_that_are(asked, done):
    job, answer = asked
    with pytest.raises(UnknownState, match='no pass "level"; there is "grooves", "blend", "target"'):
        state_after(job, answer, done.hazards, "level")
