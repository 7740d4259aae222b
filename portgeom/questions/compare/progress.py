"""How far is a port: what is off so far, what is left, what went too far, and did the plan come true?"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from portgeom.geometry.arrays import Int
from portgeom.geometry.surface import Surface
from portgeom.job.values import Job, SectionTable
from portgeom.model.lofted import LoftedPort, LoftedStage
from portgeom.model.wanted import Wanted
from portgeom.questions.compare.between import StageCut, stage_cuts, stage_metal
from portgeom.questions.compare.habit import Levelled, levelled
from portgeom.questions.compare.overcut import Overcut, overcut
from portgeom.questions.cutting.bench import PassResult
from portgeom.questions.cutting.passes import passes
from portgeom.questions.shape.bulges import RoofPlace
from portgeom.questions.shape.profile import AreaAt, smallest_area
from portgeom.questions.shape.removal import Removal, removal
from portgeom.questions.shape.roof import roof
from portgeom.questions.walls.behind import behind
from portgeom.questions.whole import wanted_of


@dataclass(frozen=True, slots=True)
class AreaOff:
    """Where a measured area lies furthest from the one planned, in percent of that."""

    distance_mm: float
    percent: float


@dataclass(frozen=True, slots=True)
class PlanCheck:
    """The plan of passes against what was measured after them.

    The plan is that for the port as cast, as it stood when the work began.

    Attributes
    ----------
    stage : str
    passes : tuple of PassResult
        Those of the plan between this measuring and the one before.
    planned_mm3, measured_mm3 : float
        What they were to take off, and by how much the port has grown.
    planned_smallest, measured_smallest : AreaAt
        Smallest flow area after them.
    planned_peak, measured_peak : RoofPlace
        Where the roof then stands highest over the line.
    area_off : AreaOff
    """

    stage: str
    passes: tuple[PassResult, ...]
    planned_mm3: float
    measured_mm3: float
    planned_smallest: AreaAt
    measured_smallest: AreaAt
    planned_peak: RoofPlace
    measured_peak: RoofPlace
    area_off: AreaOff


@dataclass(frozen=True, slots=True)
class Progress:
    """How far one port is.

    Attributes
    ----------
    off : Removal
        From the port as cast to this stage.
    left : Removal
        From this stage to the port wanted.
    over : Overcut
    cuts : tuple of StageCut
        From stage to stage.
    checks : tuple of PlanCheck
        One for each stage that says after which pass it was measured.
    levellings : tuple of Levelled
        One for each stage measured right after a levelling.
    """

    off: Removal
    left: Removal
    over: Overcut
    cuts: tuple[StageCut, ...]
    checks: tuple[PlanCheck, ...]
    levellings: tuple[Levelled, ...]

    @property
    def share_done(self) -> float:
        """Return how much of what was to come off is off, from 0 to 1; 1 where nothing was to come off."""
        whole = self.off.volume_mm3 + self.left.volume_mm3
        return self.off.volume_mm3 / whole if whole > 0.0 else 1.0


def progress(job: Job, ports: Sequence[LoftedPort], port: LoftedPort, stage: LoftedStage) -> Progress:
    """Return how far a stage of a port is from the casting to what is wanted.

    Raises
    ------
    JobError
        Where a stage says after which pass it was measured and a pass of the plan does not fit the port.
    """
    wanted = wanted_of(job, ports, port)
    cuts = stage_cuts(job, port, stage)
    checks: list[PlanCheck] = []
    levellings: list[Levelled] = []
    if any(cut.passes for cut in cuts):
        plan = passes(job, port, port.cast, wanted, behind(job, port)).results
        for cut in cuts:
            if cut.passes:
                upto = next(k for k, r in enumerate(plan) if r.plan.name == cut.passes[-1].name) + 1
                checks.append(_checked(job, port, wanted, cut, plan[:upto]))
                found = levelled(port.port.name, cut.after, wanted, plan[:upto])
                levellings += [] if found is None else [found]
    return Progress(
        off=stage_metal(port, port.cast, stage, density_g_cc=job.density_g_cc),
        left=removal(port, stage, wanted, density_g_cc=job.density_g_cc),
        over=overcut(port, stage, wanted, limit_mm=job.limits.overcut_mm, accuracy=job.accuracy),
        cuts=cuts,
        checks=tuple(checks),
        levellings=tuple(levellings),
    )


def _checked(job: Job, port: LoftedPort, wanted: Wanted, cut: StageCut, plan: Sequence[PassResult]) -> PlanCheck:
    """Return the passes of one cut against what was measured after the last of them."""
    names = {p.name for p in cut.passes}
    own = tuple(r for r in plan if r.plan.name in names)
    then, now = plan[-1].after, cut.after.surface
    planned, measured = then.flow_area_mm2, now.flow_area_mm2
    percent = 100.0 * (measured / planned - 1.0)
    worst = int(np.argmax(np.abs(percent)))
    return PlanCheck(
        stage=cut.after.stage.name,
        passes=own,
        planned_mm3=sum(r.volume_mm3 for r in own),
        measured_mm3=cut.net_mm3,
        planned_smallest=smallest_area(port, planned),
        measured_smallest=smallest_area(port, measured),
        planned_peak=roof(port, _unmeasured(cut.after, then), wanted, job.limits).peak,
        measured_peak=roof(port, cut.after, wanted, job.limits).peak,
        area_off=AreaOff(float(port.chart.distance_mm[worst]), float(percent[worst])),
    )


def _unmeasured(stage: LoftedStage, surface: Surface) -> LoftedStage:
    """Return a surface that nobody measured as a stage without stations."""
    nobody: Int = np.array([], dtype=np.intp)
    bare = replace(stage.stage, sections=SectionTable(stage.stage.sections.file, ()))
    return replace(stage, stage=bare, slab=nobody, surface=surface)
