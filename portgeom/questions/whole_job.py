"""What are all the answers on a job: for each stage asked about, and for all of them together?

One value carries everything that is written on a page. What takes computing is computed here, once, by the modules
of the questions; what only says or draws it takes this value.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from portgeom.job.values import Job, Units
from portgeom.model.lofted import LoftedPort, LoftedStage
from portgeom.questions.whole import Answers, answers
from portgeom.questions.whole_cutting import Cutting, cutting


@dataclass(frozen=True, slots=True)
class WholeStage:
    """All about one stage of one port.

    What a new question answers of one stage is a field of its own here, and a line in :func:`whole_job`.
    """

    answers: Answers
    cutting: Cutting


@dataclass(frozen=True, slots=True)
class WholeJob:
    """All about a job.

    What a new question answers of several ports or stages together is a field of its own here, and a line in
    :func:`whole_job`.

    Attributes
    ----------
    ports : tuple of LoftedPort
        Every port of the job with every stage, also those not asked about.
    stages : tuple of WholeStage
        One for every stage asked about, in the order to show them.
    """

    job: Job
    units: Units
    ports: tuple[LoftedPort, ...]
    stages: tuple[WholeStage, ...]


def whole_job(
    job: Job, ports: Sequence[LoftedPort], chosen: Sequence[tuple[LoftedPort, LoftedStage]], *, units: Units
) -> WholeJob:
    """Return all about some stages of a lofted job.

    Parameters
    ----------
    ports : sequence of LoftedPort
        All of the job's.
    chosen : sequence of (port, stage)
        Those asked about.
    units : "mm" or "in"
        In which marks and sizes are given.

    Raises
    ------
    JobError
        Where a target or a pass does not fit its port, or what lies behind a wall cannot be read.
    """
    found = [answers(job, ports, port, stage) for port, stage in chosen]
    return WholeJob(
        job=job,
        units=units,
        ports=tuple(ports),
        stages=tuple(WholeStage(answers=a, cutting=cutting(job, a, units=units)) for a in found),
    )
