"""What does it take to bring one stage of a port to what is wanted: passes, cards, walls, reach and hands?"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from portgeom.job.values import Job, Units
from portgeom.questions.cutting.bench import PassResult
from portgeom.questions.cutting.depth_card import CardMark, depth_card
from portgeom.questions.cutting.passes import KeptBack, passes
from portgeom.questions.cutting.tool_use import uses_of
from portgeom.questions.cutting.vibration import Exposure, exposure
from portgeom.questions.reach.reach import Reach, reach
from portgeom.questions.walls.behind import Behind, behind
from portgeom.questions.walls.plan import TARGET
from portgeom.questions.walls.walls import WallMap, Walls, wall_map, walls
from portgeom.questions.whole import Answers

IDLE_MM3 = 1.0
"""A pass that the tool planned itself and that would take less than this is no pass."""


@dataclass(frozen=True, slots=True)
class Cutting:
    """Everything asked about cutting one stage of one port.

    Attributes
    ----------
    results : tuple of PassResult
        In cutting order; none where nothing is to come off.
    cards : tuple of (tuple of CardMark)
        One for each pass, empty where it cuts no grooves.
    kept_back : KeptBack or None
        What respecting the walls costs, where the job asks for it.
    hazards : tuple of Behind
        What concerns this port.
    walls : tuple of Walls
        As it is, after each pass, and at the target; the first and the last are there without any pass.
    reach : Reach or None
        Of the cutters that the passes use; None where nothing is to come off, or the job has no cutter.
    exposure : Exposure or None
        Of the hands, all passes in one day; None where no cutter has both a rate and a vibration.
    unjudged : tuple of str
        Cutters in use that lack one of the two, where another has both.
    """

    results: tuple[PassResult, ...]
    cards: tuple[tuple[CardMark, ...], ...]
    kept_back: KeptBack | None
    hazards: tuple[Behind, ...]
    walls: tuple[Walls, ...]
    reach: Reach | None
    exposure: Exposure | None
    unjudged: tuple[str, ...]

    @property
    def now(self) -> Walls:
        """Return the walls as they are."""
        return self.walls[0]

    @property
    def finished(self) -> Walls:
        """Return the walls once all is done: after the last pass where walls are respected, else at the target."""
        return self.walls[-2 if self.kept_back is not None and self.results else -1]

    def finished_map(self) -> WallMap:
        """Return the least wall all over the port once all is done."""
        return wall_map(self.finished.surface, self.hazards)


def cutting(job: Job, answer: Answers, *, units: Units, hazards: Sequence[Behind] | None = None) -> Cutting:
    """Return everything about cutting one stage of a port whose shape has been answered already.

    Parameters
    ----------
    units : "mm" or "in"
        Marks of the depth cards lie on whole steps of a rule in these units.
    hazards : sequence of Behind, optional
        What is behind the port's walls, from ``behind``; made here if left out.

    Raises
    ------
    JobError
        Where a pass does not fit the port, a hazard's mesh cannot be read, or a reading lies outside it.
    """
    port, stage, removed = answer.port, answer.stage, answer.removal
    hazards = behind(job, port) if hazards is None else tuple(hazards)
    now = walls(port, stage.surface, stage.stage.name, hazards)
    plan = passes(job, port, stage, answer.wanted, hazards)
    results = tuple(r for r in plan.results if r.plan.said or r.volume_mm3 >= IDLE_MM3)
    earlier = results[-1].walls if results else now
    target = walls(port, removed.after, TARGET, hazards, earlier=earlier)
    uses, unjudged = uses_of(results)
    used = [c for c in job.cutters if any(r.plan.cutter.name == c.name for r in results)]
    return Cutting(
        results=results,
        cards=tuple(depth_card(r, answer.wanted, units) for r in results),
        kept_back=plan.kept_back,
        hazards=hazards,
        walls=(now, *(r.walls for r in results), target),
        reach=reach(port, stage, removed, used) if used and removed.volume_mm3 > 0.0 else None,
        exposure=exposure(uses) if uses else None,
        unjudged=unjudged if uses else (),
    )
