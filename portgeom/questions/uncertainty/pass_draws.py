"""How sure is what each pass takes off, and the wall it leaves?

A pass is too long a work to be done in every draw. So a few of the draws are made into jobs again and go through the
passes themselves, on the coarse chart. What a pass takes is laid, by least squares, on what is known of every draw;
what that leaves over of the few is dealt out to all, so that no spread is lost.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from portgeom.geometry.arrays import F64, Int
from portgeom.geometry.outline import OutlineError
from portgeom.job.faults import JobError
from portgeom.job.values import Job
from portgeom.model.lofted import LoftedPort, loft_job
from portgeom.questions.cutting.bench import PassResult
from portgeom.questions.cutting.passes import passes
from portgeom.questions.uncertainty.again import job_again
from portgeom.questions.uncertainty.campaign import StageDraws
from portgeom.questions.uncertainty.draws import COARSE
from portgeom.questions.uncertainty.interval import Spread, basic_interval, spread
from portgeom.questions.uncertainty.prepared import Prepared
from portgeom.questions.walls.behind import behind
from portgeom.questions.whole import wanted_of

RUNS = 16
"""Draws that go through the passes themselves."""


@dataclass(frozen=True, slots=True)
class PassVolume:
    """What one pass takes off."""

    name: str
    spread: Spread


@dataclass(frozen=True, slots=True)
class PassWall:
    """The least wall to one hazard after one pass."""

    hazard: str
    state: str
    spread: Spread


@dataclass(frozen=True, slots=True)
class PassDraws:
    """Every pass of a plan, and how many draws went through the passes themselves."""

    volumes: tuple[PassVolume, ...]
    walls: tuple[PassWall, ...]
    run: int


def pass_draws(
    job: Job, ports: Sequence[LoftedPort], p: Prepared, k: int, draws: StageDraws, results: Sequence[PassResult]
) -> PassDraws:
    """Return how sure the passes of a stage are; ``results`` are what they do to the port itself."""
    if not results or p.coarse is None:
        return PassDraws((), (), 0)
    plain = _worked(job, ports, p.coarse.port, k)
    chosen, found = [], []
    for draw in np.flatnonzero(draws.kept)[:RUNS].tolist():
        again = _again(job, ports, p, k, draw)
        if again is not None and _alike(again, plain):
            chosen.append(draw)
            found.append(again)
    if len(found) < 4:
        return PassDraws((), (), len(found))
    run = np.array(chosen, dtype=np.intp)
    return PassDraws(_volumes(draws, results, plain, found, run), _walls(draws, results, plain, found, run), len(run))


def _volumes(
    draws: StageDraws,
    results: Sequence[PassResult],
    plain: Sequence[PassResult],
    found: Sequence[Sequence[PassResult]],
    run: Int,
) -> tuple[PassVolume, ...]:
    known = [draws.removal_mm3, draws.peak_mm]
    volumes = []
    for result in results:
        i = next((i for i, r in enumerate(plain) if r.plan.name == result.plan.name), None)
        if i is None:
            continue
        moved = np.array([f[i].volume_mm3 for f in found]) - plain[i].volume_mm3
        spread_out = _spread_out(known, moved, run) + result.volume_mm3
        volumes.append(PassVolume(result.plan.name, spread(result.volume_mm3, spread_out, amount=True)))
    return tuple(volumes)


def _walls(
    draws: StageDraws,
    results: Sequence[PassResult],
    plain: Sequence[PassResult],
    found: Sequence[Sequence[PassResult]],
    run: Int,
) -> tuple[PassWall, ...]:
    walls = []
    for result in results:
        i = next((i for i, r in enumerate(plain) if r.plan.name == result.plan.name), None)
        if i is None:
            continue
        for h, wall in enumerate(result.walls.walls):
            least, coarse = wall.least, plain[i].walls.walls[h].least
            known = [w.wall_mm for w in draws.walls if w.hazard == wall.hazard]
            if least is None or coarse is None or not known:
                continue
            each = [f[i].walls.walls[h].least for f in found]
            moved = np.array([np.nan if at is None else at.wall_mm for at in each]) - coarse.wall_mm
            spread_out = _spread_out(known, moved, run) + least.wall_mm
            sd = spread(least.wall_mm, spread_out).sd
            interval = basic_interval(least.wall_mm, spread_out)
            walls.append(PassWall(wall.hazard, wall.state, Spread(least.wall_mm, sd, interval)))
    return tuple(walls)


def _spread_out(known: Sequence[F64], moved: F64, run: Int) -> F64:
    """Return draws (n,) of a change that is known for a few draws, from what is known of all.

    The share of the change that goes with what is known is laid on it by least squares; the rest, made larger for
    the fitted numbers, is dealt out in turn.
    """
    sound = np.isfinite(moved)
    ready = [x - np.nanmean(x) for x in known if np.nanstd(x) > 0.0]
    design = np.column_stack([np.ones(len(run)), *[x[run] for x in ready]])[sound]
    fit, *_ = np.linalg.lstsq(design, moved[sound], rcond=None)
    left = moved[sound] - design @ fit
    spare = max(1, len(left) - design.shape[1])
    left *= np.sqrt(len(left) / spare)
    everywhere = np.column_stack([np.ones(len(known[0])), *ready]) @ fit
    result: F64 = everywhere + np.resize(left, len(everywhere))
    return result


def _alike(found: Sequence[PassResult], plain: Sequence[PassResult]) -> bool:
    """Return whether the same passes were worked."""
    return [r.plan.name for r in found] == [r.plan.name for r in plain]


def _again(job: Job, ports: Sequence[LoftedPort], p: Prepared, k: int, draw: int) -> tuple[PassResult, ...] | None:
    try:
        again = job_again(job, [p.measuring], draw)
        name = p.measuring.port.port.name
        own = tuple(port for port in again.ports if port.name == name)
        (lofted,) = loft_job(replace(again, ports=own), resolution=COARSE)
        return _worked(job, [lofted if q.port.name == name else q for q in ports], lofted, k)
    except (JobError, OutlineError):  # a draw whose sections cannot be worked as planned
        return None


def _worked(job: Job, ports: Sequence[LoftedPort], port: LoftedPort, k: int) -> tuple[PassResult, ...]:
    wanted = wanted_of(job, ports, port)
    return passes(job, port, port.stages[k], wanted, behind(job, port)).results
