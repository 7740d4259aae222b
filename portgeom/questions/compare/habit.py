"""How far below the groove bottoms does this person's levelling end, and what does that mean for the next port?"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from portgeom.geometry.arrays import F64, frozen
from portgeom.model.lofted import LoftedStage
from portgeom.model.wanted import Wanted
from portgeom.questions.cutting.bench import PassResult
from portgeom.questions.cutting.side import grid_lines_mm, heights_of

COVERAGE = 0.95


@dataclass(frozen=True, slots=True)
class Levelled:
    """One levelling as it was measured afterwards, station by station.

    Attributes
    ----------
    port, stage, name : str
        Where it was measured, and the pass.
    grooves : str
        The pass whose grooves it levelled.
    leave_mm : float
        What those grooves were to leave over the line.
    distance_mm : (k,) float
        The measured stations at which a groove ran.
    overshoot_mm, planned_mm : (k,) float
        How far below the planned groove bottoms the metal lies there as measured, and as the plan would have it.
    """

    port: str
    stage: str
    name: str
    grooves: str
    leave_mm: float
    distance_mm: F64
    overshoot_mm: F64
    planned_mm: F64


@dataclass(frozen=True, slots=True)
class Habit:
    """The mean over all levellings, and how well it is known.

    Attributes
    ----------
    overshoot_mm, planned_mm : float
        Mean overshoot as measured, and as planned at the same places.
    further_mm : float
        By how much the levelling ends deeper than planned; negative where it ends short.
    standard_mm, half_width_mm : float
        Standard uncertainty of ``further_mm``, and half its 95 percent interval by Student's t: the scatter from
        station to station, which errors of single readings are part of. An error that all readings of one tool
        share cancels where the casting was read with it too.
    stations : int
    """

    overshoot_mm: float
    planned_mm: float
    further_mm: float
    standard_mm: float
    half_width_mm: float
    stations: int

    @property
    def clear(self) -> bool:
        """Return whether the interval leaves zero out."""
        return abs(self.further_mm) > self.half_width_mm


def levelled(port: str, stage: LoftedStage, wanted: Wanted, results: Sequence[PassResult]) -> Levelled | None:
    """Return how a levelling ended, or None where the stage was not measured right after one.

    Parameters
    ----------
    results : sequence of PassResult
        The plan's passes up to and including the one that the stage was measured after.
    """
    level = results[-1] if results else None
    if level is None or level.plan.kind != "level" or not level.grooves:
        return None
    cut = next(r for r in reversed(results) if r.plan.kind == "grooves" and r.plan.side == level.plan.side)
    side = level.plan.side
    lines = grid_lines_mm([*stage.surface.points_mm, *wanted.polygons], side)
    measured = heights_of(stage.surface.points_mm, side, lines)
    planned = heights_of(level.after.points_mm, side, lines)
    slabs = stage.slab
    bottom = np.array([g.bottom_mm[slabs] for g in level.grooves])
    ended = np.array([measured.at(g.along_mm)[slabs] for g in level.grooves]) - bottom
    meant = np.array([planned.at(g.along_mm)[slabs] for g in level.grooves]) - bottom
    runs = np.isfinite(ended) & np.isfinite(meant)
    seen = runs.any(axis=0)
    if not seen.any():
        return None
    count = runs.sum(axis=0)[seen]
    return Levelled(
        port=port,
        stage=stage.stage.name,
        name=level.plan.name,
        grooves=cut.plan.name,
        leave_mm=cut.plan.leave_mm,
        distance_mm=frozen(stage.distance_mm[seen]),
        overshoot_mm=frozen(np.where(runs, ended, 0.0).sum(axis=0)[seen] / count),
        planned_mm=frozen(np.where(runs, meant, 0.0).sum(axis=0)[seen] / count),
    )


def habit(seen: Sequence[Levelled]) -> Habit | None:
    """Return the mean of all levellings, or None where fewer than two stations tell of one."""
    if sum(len(s.overshoot_mm) for s in seen) < 2:
        return None
    from scipy.special import stdtrit

    overshoot = np.concatenate([s.overshoot_mm for s in seen])
    planned = np.concatenate([s.planned_mm for s in seen])
    further = overshoot - planned
    count = len(further)
    standard = float(further.std(ddof=1) / np.sqrt(count))
    return Habit(
        overshoot_mm=float(overshoot.mean()),
        planned_mm=float(planned.mean()),
        further_mm=float(further.mean()),
        standard_mm=standard,
        half_width_mm=float(stdtrit(count - 1, 0.5 + 0.5 * COVERAGE)) * standard,
        stations=count,
    )
