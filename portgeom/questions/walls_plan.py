"""How much metal is behind a port's walls now, and how much once the port is as wanted?"""

from __future__ import annotations

from collections.abc import Sequence

from portgeom.job.faults import JobError
from portgeom.job.values import Job, Note
from portgeom.model.lofted import LoftedPort, LoftedStage
from portgeom.questions.removal import removal
from portgeom.questions.walls import Walls, walls
from portgeom.questions.walls_behind import behind
from portgeom.questions.whole import wanted_of

TARGET = "target"
"""What the finished port is called where surfaces are listed."""


def now_and_wanted(
    job: Job, ports: Sequence[LoftedPort], port: LoftedPort, stage: LoftedStage
) -> tuple[Walls, Walls]:
    """Return the walls behind a stage, and behind the port once that stage is cut to what is wanted.

    Raises
    ------
    JobError
        Where a hazard's mesh cannot be read, a reading lies outside the port, or the target does not fit.
    """
    hazards = behind(job, port)
    after = removal(port, stage, wanted_of(job, ports, port), density_g_cc=job.density_g_cc).after
    now = walls(port, stage.surface, stage.stage.name, hazards)
    return now, walls(port, after, TARGET, hazards, earlier=now)


def hazard_faults(job: Job, ports: Sequence[LoftedPort]) -> tuple[Note, ...]:
    """Return what is wrong with the hazards of a job that only shows once its ports are lofted."""
    faults: dict[Note, None] = {}
    for port in ports:
        try:
            behind(job, port)
        except JobError as error:
            faults.update(dict.fromkeys(error.faults))
    return tuple(faults)
