"""What are all the answers for one stage of a port?"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from portgeom.job.values import Job
from portgeom.model.lofted import LoftedPort, LoftedStage
from portgeom.model.wanted import Pattern, Wanted, wanted_port
from portgeom.questions.shape.profile import Profile, profile
from portgeom.questions.shape.removal import Removal, removal
from portgeom.questions.shape.roof import Roof, roof


@dataclass(frozen=True, slots=True)
class Answers:
    """Everything asked of one stage of one port."""

    port: LoftedPort
    stage: LoftedStage
    wanted: Wanted
    profile: Profile
    roof: Roof
    removal: Removal


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
        profile=profile(port, stage, job.limits, valves=job.valves),
        roof=roof(port, stage, wanted, job.limits),
        removal=removal(port, stage, wanted, density_g_cc=job.density_g_cc),
    )
