"""How sure is what each pass takes off, and the wall it leaves?

A pass is too long a work to be done in every draw. So the port as it is in a few of the draws goes through the passes
themselves, on their coarse chart. What a pass takes is laid, by least squares, on what is known of every draw;
what that leaves over of the few is given to all as a normal spread, so that none is lost.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from portgeom.geometry.arrays import F64, Int
from portgeom.geometry.findings import GeometryError
from portgeom.geometry.least import least_distances_mm
from portgeom.job.faults import JobError
from portgeom.job.values import CutPass, Job
from portgeom.model.lofted import LoftedPort
from portgeom.questions.cutting.bench import PassResult
from portgeom.questions.cutting.passes import pass_results
from portgeom.questions.uncertainty.campaign import StageDraws
from portgeom.questions.uncertainty.chance import SEED, normals
from portgeom.questions.uncertainty.drawn_port import drawn_port
from portgeom.questions.uncertainty.draws import drawn, without_errors
from portgeom.questions.uncertainty.interval import (
    Interval,
    Spread,
    basic_interval,
    spread,
    standard_uncertainty,
    symmetric_interval,
)
from portgeom.questions.uncertainty.prepared import Prepared
from portgeom.questions.walls.behind import Behind, behind
from portgeom.questions.whole import wanted_of

RUNS = 8
"""Draws that go through the passes themselves. Against 300 of them the ends of the examples' intervals lie off by 10 to
14 percent of their width; with 10 by 9 to 12 percent."""


LEAST_MM3 = 1.0
"""Metal of which no share is taken: it would be none once rounded."""

ALIKE = 1e-3
"""What two known quantities differ by in the draws worked counts for nothing below this share of their spread: a
rounding there would else be carried out to draws in which they do differ."""


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
    own = p.coarse.port
    nothing = without_errors(p.measuring)
    hazards = behind(job, own)
    plain = _worked(job, ports, drawn_port(nothing, own, drawn(nothing, slice(0, 1)), 0), k, hazards)
    tried = np.flatnonzero(draws.kept)[:RUNS]
    block = drawn(p.measuring, slice(0, int(tried.max(initial=-1)) + 1))
    chosen, found = [], []
    for draw in tried.tolist():
        try:
            again = _worked(job, ports, drawn_port(p.measuring, own, block, draw), k, hazards)
        except (JobError, GeometryError):  # a draw whose sections cannot be worked as planned
            continue
        if _alike(again, plain):
            chosen.append(draw)
            found.append(again)
    if len(found) < 4:
        return PassDraws((), (), len(found))
    run = np.array(chosen, dtype=np.intp)
    asked = [h for h in hazards if h.readings is None]
    walls = _walls(draws, results, plain, found, run, asked)
    metal = float(p.own[k].removal_mm3[0])
    return PassDraws(_volumes(draws, metal, results, plain, found, run), walls, len(run))


def _volumes(
    draws: StageDraws,
    metal_mm3: float,
    results: Sequence[PassResult],
    plain: Sequence[PassResult],
    found: Sequence[Sequence[PassResult]],
    run: Int,
) -> tuple[PassVolume, ...]:
    """Return how sure is what each pass takes of the ``metal_mm3`` that is to come off.

    A pass takes a share of that metal, and errors only ever seem to add to it: what the draws are off the measured
    metal by, that is off the truth by. So the shares are carried to the metal on the other side of the measured, as
    intervals of the metal itself are, and the passes together take no more than there is.
    """
    metal, mirrored = draws.removal_mm3, np.maximum(2.0 * metal_mm3 - draws.removal_mm3, 0.0)
    volumes = []
    for result in results:
        i = next((i for i, r in enumerate(plain) if r.plan.name == result.plan.name), None)
        if i is None:
            continue
        taken = result.volume_mm3 + np.array([f[i].volume_mm3 for f in found]) - plain[i].volume_mm3
        own = result.volume_mm3 / metal_mm3 if metal_mm3 > 0.0 else 0.0
        share = np.maximum(taken, 0.0) / np.maximum(metal[run], LEAST_MM3)
        everywhere = np.clip(spread_out([metal], share - own, run, at=[mirrored]) + own, 0.0, 1.0) * mirrored
        volumes.append(PassVolume(result.plan.name, _amount(result.volume_mm3, everywhere)))
    return tuple(volumes)


def _amount(value: float, draws: F64) -> Spread:
    """Return an amount whose draws are mirrored already; its interval holds the value."""
    if not np.isfinite(draws).any():
        return spread(value, draws, amount=True)
    plain = symmetric_interval(draws)
    interval = Interval(min(value, plain.low), max(value, plain.high), "basic")
    return Spread(value, standard_uncertainty(draws), interval)


def _walls(
    draws: StageDraws,
    results: Sequence[PassResult],
    plain: Sequence[PassResult],
    found: Sequence[Sequence[PassResult]],
    run: Int,
    hazards: Sequence[Behind],
) -> tuple[PassWall, ...]:
    walls = []
    least = {h.hazard.name: _least_mm(h, plain, found) for h in hazards}
    for result in results:
        i = next((i for i, r in enumerate(plain) if r.plan.name == result.plan.name), None)
        if i is None:
            continue
        for wall in result.walls.walls:
            known = [w.wall_mm for w in draws.walls if w.hazard == wall.hazard]
            if wall.least is None or not known:
                continue
            coarse, *each = least[wall.hazard][:, i]
            # a hazard that lies in the passage is the more open the further it is from the wall
            moved = (np.array(each) - coarse) * (-1.0 if wall.inside else 1.0)
            everywhere = spread_out(known, moved, run) + wall.least.wall_mm
            sd = spread(wall.least.wall_mm, everywhere).sd
            interval = basic_interval(wall.least.wall_mm, everywhere)
            walls.append(PassWall(wall.hazard, wall.state, Spread(wall.least.wall_mm, sd, interval)))
    return tuple(walls)


def _least_mm(hazard: Behind, plain: Sequence[PassResult], found: Sequence[Sequence[PassResult]]) -> F64:
    """Return the least wall after every pass (r + 1, i): first of the port itself, then of the draws worked."""
    surfaces = [result.after for results in (plain, *found) for result in results]
    nodes = np.stack([s.world_mm for s in surfaces])
    return least_distances_mm(nodes, hazard.wall_mm).reshape(-1, len(plain))


def spread_out(known: Sequence[F64], moved: F64, run: Int, *, at: Sequence[F64] | None = None) -> F64:
    """Return draws (n,) of a change that is known for a few draws, from what is known of all.

    The share of the change that goes with what is known is laid on it by least squares; the rest, made larger for
    the fitted numbers, is taken to be normal. ``at`` is what is known of the draws to return, where it is not that of
    the draws that the change is known for.
    """
    sound = np.isfinite(moved)
    counted = [(x, y) for x, y in zip(known, known if at is None else at, strict=True) if np.nanstd(x) > 0.0]
    ready = [(x - np.nanmean(x)) / np.nanstd(x) for x, _ in counted]
    asked = [(y - np.nanmean(x)) / np.nanstd(x) for x, y in counted]
    design = np.column_stack([np.ones(len(run)), *[x[run] for x in ready]])[sound]
    fit, *_ = np.linalg.lstsq(design, moved[sound], rcond=ALIKE)
    left = moved[sound] - design @ fit
    sd = np.sqrt((left**2).sum() / max(1, len(left) - design.shape[1]))
    everywhere = np.column_stack([np.ones(len(known[0])), *asked]) @ fit
    result: F64 = everywhere + sd * normals(SEED, "what is left over", shape=everywhere.shape)
    return result


def _alike(found: Sequence[PassResult], plain: Sequence[PassResult]) -> bool:
    """Return whether the same passes were worked."""
    return [r.plan.name for r in found] == [r.plan.name for r in plain]


def _worked(
    job: Job, ports: Sequence[LoftedPort], port: LoftedPort, k: int, hazards: Sequence[Behind]
) -> tuple[PassResult, ...]:
    """Return what the passes do to a stage; walls are asked while cutting only where they are to be respected."""
    plan = tuple(_on_path(one, port.chart.path.length_mm) for one in job.passes)
    wanted = wanted_of(job, [port if q.port.name == port.port.name else q for q in ports], port)
    kept = behind(job, port, before=hazards) if job.respect_walls else ()
    return pass_results(replace(job, passes=plan), port, port.stages[k], wanted, kept, told=False)


def _on_path(one: CutPass, length_mm: float) -> CutPass:
    """Return a pass that ends with the path at the latest: a draw's may be shorter than the port's own."""
    return one if one.to_mm is None or one.to_mm <= length_mm else replace(one, to_mm=length_mm)
