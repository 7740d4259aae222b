"""How much metal is behind a port's walls now, after each pass of the job, and once it is as wanted?"""

from __future__ import annotations

from collections.abc import Sequence

from portgeom.job.faults import JobError
from portgeom.job.values import Job, Note
from portgeom.model.lofted import LoftedPort, LoftedStage
from portgeom.questions.cutting.passes import passes
from portgeom.questions.shape.removal import removal
from portgeom.questions.walls.behind import behind
from portgeom.questions.walls.walls import Walls, walls
from portgeom.questions.whole import wanted_of

TARGET = "target"
"""What the finished port is called where surfaces are listed."""


def walls_throughout(job: Job, ports: Sequence[LoftedPort], port: LoftedPort, stage: LoftedStage) -> tuple[Walls, ...]:
    """Return the walls behind a stage, then after every pass that the job gives, then behind what is wanted.

    Raises
    ------
    JobError
        Where a hazard's mesh cannot be read, a reading lies outside the port, or the target or a pass does
        not fit.
    """
    hazards = behind(job, port)
    wanted = wanted_of(job, ports, port)
    now = walls(port, stage.surface, stage.stage.name, hazards)
    after = removal(port, stage, wanted, density_g_cc=job.density_g_cc).after
    between = passes(job, port, stage, wanted, hazards).results if job.passes and hazards else ()
    return now, *(r.walls for r in between), walls(port, after, TARGET, hazards, earlier=now)


def hazard_faults(job: Job, ports: Sequence[LoftedPort]) -> tuple[Note, ...]:
    """Return what is wrong with the hazards of a job that only shows once its ports are lofted."""
    faults: dict[Note, None] = {}
    for port in ports:
        try:
            behind(job, port)
        except JobError as error:
            faults.update(dict.fromkeys(error.faults))
    return tuple(faults)
