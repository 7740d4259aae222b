"""What was cut between two stages of a port, and how fast?"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

from portgeom.job.values import CutPass, Job
from portgeom.model.lofted import LoftedPort, LoftedStage
from portgeom.questions.shape.removal import Removal, metal_between


@dataclass(frozen=True, slots=True)
class StageCut:
    """The cutting between one stage of a port and a later one.

    Attributes
    ----------
    before, after : LoftedStage
    metal : Removal
        What came off; its ``missing_mm3`` is where the later stage reads smaller than the earlier one. No metal
        grows, so that is the error of the readings.
    passes : tuple of CutPass
        Of the job's plan, those cut between the two; none where the later stage does not say.
    minutes : float or None
        As the later stage states.
    """

    before: LoftedStage
    after: LoftedStage
    metal: Removal
    passes: tuple[CutPass, ...]
    minutes: float | None

    @property
    def net_mm3(self) -> float:
        """Return by how much the port's volume has grown, in which errors of single readings even out."""
        return float((self.after.surface.volume_mm3 - self.before.surface.volume_mm3).sum())

    @property
    def cutters(self) -> tuple[str, ...]:
        """Return the cutters of its passes, each once."""
        return tuple(dict.fromkeys(p.cutter for p in self.passes))

    @property
    def rate_cc_per_min(self) -> float | None:
        """Return the rate, None where no time was stated or nothing came off."""
        if self.minutes is None or self.net_mm3 <= 0.0:
            return None
        return self.net_mm3 / 1000.0 / self.minutes


def stage_metal(port: LoftedPort, before: LoftedStage, after: LoftedStage, *, density_g_cc: float) -> Removal:
    """Return the metal between two measured stages of a port."""
    other = after.surface
    return metal_between(port, before, other.rho_mm, list(other.points_mm), density_g_cc=density_g_cc)


def stage_cuts(job: Job, port: LoftedPort, upto: LoftedStage) -> tuple[StageCut, ...]:
    """Return what was cut from stage to stage of a port, in the order measured, as far as one of them."""
    stages = port.stages[: port.stages.index(upto) + 1]
    cuts: list[StageCut] = []
    names = [p.name for p in job.passes]
    done = 0
    for before, after in pairwise(stages):
        last = names.index(after.stage.after) + 1 if after.stage.after else done
        metal = stage_metal(port, before, after, density_g_cc=job.density_g_cc)
        cuts.append(StageCut(before, after, metal, job.passes[done:last], after.stage.minutes))
        done = max(done, last)
    return tuple(cuts)
