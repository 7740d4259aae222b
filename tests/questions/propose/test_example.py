"""The example's pair: the proposal against the target made by hand, looked at by every question's own answer."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from portgeom.job.propose_values import Wishes
from portgeom.job.read import read_job
from portgeom.job.values import Job
from portgeom.model.lofted import LoftedPort, loft_job
from portgeom.questions.cutting.passes import passes
from portgeom.questions.propose.propose import Proposal, propose, taper_after
from portgeom.questions.propose.rows import worst
from portgeom.questions.propose.search import programme
from portgeom.questions.propose.sureness import wall_draws
from portgeom.questions.whole import answers
from portgeom.questions.whole_cutting import cutting

EXAMPLE = Path(__file__).parents[3] / "examples" / "workshop-pair"
OTHER_SEED = 20_261_125
TIMES = 200
AREA_MISS, MISS = 0.02, 0.005
"""Percent of an area, and mm, by which a neighbour may miss a demand: of the pair's volume, a third of a percent."""


@pytest.fixture(scope="module")
def job() -> Job:
    return read_job(EXAMPLE)


@pytest.fixture(scope="module")
def ports(job: Job) -> tuple[LoftedPort, ...]:
    return loft_job(job)


@pytest.fixture(scope="module")
def pair(job: Job, ports: tuple[LoftedPort, ...]) -> Proposal:
    return propose(job, ports, [(p, p.cast) for p in ports], Wishes(), matched=True)


def as_proposed(job: Job, found: Proposal) -> tuple[Job, tuple[LoftedPort, ...]]:
    """Return the job with its ports held against the proposed targets."""
    names = {one.port.port.name: one.target for one in found.ports}
    held = tuple(replace(p, target=names[p.name].name) if p.name in names else p for p in job.ports)
    changed = replace(job, ports=held, targets=(*job.targets, *names.values()))
    return changed, loft_job(changed)


@pytest.mark.slow
@pytest.mark.parametrize("number", [0, 1])
def test_it_takes_less_than_the_target_made_by_hand_at_equal_smallest_area_and_taper(
    job: Job, ports: tuple[LoftedPort, ...], number: int
) -> None:
    """Asked for: the hand-made target's own smallest area, and to stay no further below the schedule than it does."""
    port = ports[number]
    own = answers(job, ports, port, port.cast)
    by_hand = taper_after(job, port, port.cast, own.removal)
    wishes = Wishes(
        least_area_mm2=own.removal.smallest_after.area_mm2,
        follow="schedule",
        most_side_mm=4.0,  # the pushrod wall of port 2 is too unsure to be cut, so the common wall has to give
        taper_percent=-by_hand.worst_below.percent,
        above_percent=by_hand.worst_above.percent,
    )
    found = propose(job, ports, [(port, port.cast)], wishes, matched=False)
    assert found.found.blame is None
    changed, again = as_proposed(job, found)
    here = again[number]
    proposed = answers(changed, again, here, here.cast)
    assert proposed.removal.volume_mm3 < own.removal.volume_mm3
    smallest = proposed.removal.smallest_after.area_mm2
    assert smallest >= own.removal.smallest_after.area_mm2 * (1.0 - 2e-4)
    taper = found.ports[0].taper
    assert taper.smooth
    assert taper.worst_below.percent >= by_hand.worst_below.percent - 0.05
    assert taper.worst_above.percent <= by_hand.worst_above.percent + 0.05
    assert taper.steepest.cone_angle_deg <= max(job.limits.cone_angle_deg, by_hand.steepest.cone_angle_deg)
    cut = cutting(changed, proposed, units="mm")
    for wall in cut.walls[-1].walls:
        assert wall.verdict == "enough", wall.hazard
    assert cut.results[-1].left_mm3 < 0.02 * proposed.removal.volume_mm3


def test_the_pair_matches_and_every_question_agrees(job: Job, pair: Proposal) -> None:
    changed, again = as_proposed(job, pair)
    flows, volumes = [], []
    for port, one in zip(again, pair.ports, strict=True):
        answer = answers(changed, again, port, port.cast)
        assert answer.removal.volume_mm3 == pytest.approx(one.removal.volume_mm3, rel=1e-9)
        model = pair.found.answer.state.ports[len(volumes)]
        assert answer.removal.volume_mm3 == pytest.approx(model.removed_mm3, rel=5e-3)
        s = np.linspace(0.0, port.throat_mm, 100)
        flows.append(np.interp(s, port.chart.distance_mm, answer.removal.after.flow_area_mm2))
        volumes.append(answer.removal.volume_after_mm3)
        assert passes(changed, port, port.cast, answer.wanted).results
    wishes = Wishes()
    apart = 100.0 * np.abs(flows[0] - flows[1]) / (0.5 * (flows[0] + flows[1]))
    assert apart.max() <= wishes.match_percent + 0.1
    assert abs(volumes[0] - volumes[1]) <= 1000.0 * wishes.match_cc


def test_walls_are_kept_in_95_percent_of_other_draws(job: Job, pair: Proposal) -> None:
    """Where the port as it is keeps limit and margin at all; where it does not, nothing is taken off."""
    looked_at = 0
    for one in pair.ports:
        hazards = tuple(w.behind for w in one.walls.walls)
        drawn = wall_draws(
            one.port, one.stage, hazards, job.accuracy, after=one.removal.after, draws=2000, seed=OTHER_SEED
        )
        short = {g.behind.hazard.name: g.short_mm for g in one.model.gauges}
        for wall, known in zip(one.walls.walls, drawn, strict=True):
            assert wall.least is not None
            if short[wall.hazard] > 0.0:
                continue
            looked_at += 1
            assert known.kept(wall.least.wall_mm, wall.behind.stop_mm) >= 0.95, wall.hazard
    assert looked_at >= 6


@pytest.mark.slow
def test_no_feasible_neighbour_is_better(pair: Proposal) -> None:
    """200 cuts near the answer, each the best of its own random aim within the demands: none 0.5 percent cheaper.

    Each keeps every demand to first order, and is then led back once to where the true shape keeps them; those
    that still miss one by more than the answer itself may are not counted, and are replaced by others.
    """
    problem, answer = pair.found.problem, pair.found.answer
    state = answer.state
    generator = np.random.default_rng(8)
    slopes = problem.slopes(state)
    cost = problem.cost_slope(slopes)
    feasible, best, tried = 0, state.cost, 0
    while feasible < TIMES and tried < 3 * TIMES:
        tried += 1
        step = float(generator.choice([0.02, 0.05, 0.1, 0.2]))
        blocks = problem.blocks(state, slopes, step)
        kinds = sorted({b.kind for b in blocks})
        # an aim that is part cost and part chance, so that some go along the demands and some away from them
        aim = cost * generator.uniform(0.0, 2.0) + np.abs(cost).mean() * generator.normal(size=len(cost))
        least = np.maximum(problem.least_mm - state.cut_mm, -step)
        most = np.minimum(problem.most_mm - state.cut_mm, step)
        change, _ = programme(aim, blocks, kinds, np.full(len(kinds), 1e4), np.minimum(least, most), most)
        trial = problem.state(state.cut_mm + change)
        blocks = problem.blocks(trial, slopes, 0.5 * step)
        kinds = sorted({b.kind for b in blocks})
        half = np.full(len(cost), 0.5 * step)
        back, _ = programme(
            0.01 * cost, blocks, kinds, np.full(len(kinds), 1e4), np.maximum(-half, least - change), half
        )
        trial = problem.state(trial.cut_mm + back)
        missed = worst(problem.blocks(trial, None, step))
        if any(
            by > (AREA_MISS if kind in ("area", "too large", "neck", "match") else MISS) for kind, by in missed.items()
        ):
            continue
        feasible += 1
        best = min(best, trial.cost)
    assert feasible == TIMES
    assert best >= state.cost * 0.995
