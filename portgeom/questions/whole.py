"""What are all the answers for a port, and what is wrong or worth telling about a whole job?"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path as FilePath

import numpy as np

from portgeom.geometry.chart import Resolution
from portgeom.job.faults import JobError
from portgeom.job.read import read_job
from portgeom.job.values import Job, Note, Port
from portgeom.model.lofted import LoftedPort, LoftedStage, loft_job
from portgeom.model.wanted import Pattern, Wanted, wanted_port
from portgeom.questions.profile import Profile, profile
from portgeom.questions.removal import Removal, removal
from portgeom.questions.roof import Roof, roof


@dataclass(frozen=True, slots=True)
class Answers:
    """Everything asked of one stage of one port."""

    port: LoftedPort
    stage: LoftedStage
    wanted: Wanted
    profile: Profile
    roof: Roof
    removal: Removal


@dataclass(frozen=True, slots=True)
class Checked:
    """Whether a job is sound: its faults, and what was done or assumed in reading it."""

    job: Job | None
    faults: tuple[Note, ...]
    notes: tuple[Note, ...]

    @property
    def ok(self) -> bool:
        """Return whether the job can be used."""
        return not self.faults


def wanted_of(job: Job, ports: Sequence[LoftedPort], port: LoftedPort) -> Wanted:
    """Return the port wanted by the job's target for it, or by bridging where it names none.

    Raises
    ------
    JobError
        Where the target cannot be laid on this port's sections.
    """
    target = next((t for t in job.targets if t.name == port.port.target), None)
    pattern = None
    if target is not None and target.copy_of is not None:
        other = next(p for p in ports if p.port.name == target.copy_of.port)
        stage = other.stage(target.copy_of.stage)
        pattern = Pattern(stage.surface, other.port.mirrored != port.port.mirrored)
    return wanted_port(port, target, limits=job.limits, pattern=pattern)


def answers(job: Job, ports: Sequence[LoftedPort], port: LoftedPort, stage: LoftedStage) -> Answers:
    """Return every answer for one stage of one port of a lofted job."""
    wanted = wanted_of(job, ports, port)
    return Answers(
        port=port,
        stage=stage,
        wanted=wanted,
        profile=profile(port, stage, job.limits),
        roof=roof(port, stage, wanted, job.limits),
        removal=removal(port, stage, wanted, density_g_cc=job.density_g_cc),
    )


def check(path: FilePath, *, resolution: Resolution = Resolution()) -> Checked:  # noqa: B008
    """Return whether a job is sound, with every fault: of its files, its sections, its planes, its targets."""
    try:
        job = read_job(path)
    except JobError as error:
        return Checked(None, error.faults, ())
    try:
        ports = loft_job(job, resolution=resolution)
    except JobError as error:
        return Checked(job, error.faults, job.notes)
    faults: list[Note] = []
    for port in ports:
        try:
            wanted_of(job, ports, port)
        except JobError as error:
            faults += [f for f in error.faults if f not in faults]
    notes = (*job.notes, *(n for p in ports for s in p.stages for n in _undercut(p.port, s)))
    return Checked(job, tuple(faults), notes)


def _undercut(port: Port, stage: LoftedStage) -> list[Note]:
    """Return a note for every station that hides some of itself behind its own wall."""
    table = stage.stage.sections
    return [
        Note(
            table.file,
            row.row,
            "outline",
            f"station {row.station} of port {port.name} is undercut: {hidden:.2f} mm2 lie behind its own wall",
            "the first wall met counts between stations; trace it again if that is not right",
        )
        for row, hidden in zip(table.rows, stage.surface.hidden_mm2[stage.slab], strict=True)
        if hidden > 1e-4 * row.outline.area_mm2 and np.isfinite(hidden)
    ]
