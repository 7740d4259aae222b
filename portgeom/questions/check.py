"""Is a job sound, and what was done or assumed in reading it?"""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path as FilePath

import numpy as np

from portgeom.geometry.chart import Resolution
from portgeom.geometry.told_lengths import mm, mm2
from portgeom.job.faults import JobError
from portgeom.job.read import read_job
from portgeom.job.values import Job, Note, Port
from portgeom.model.lofted import LoftedStage, loft_job
from portgeom.questions.cutting.pass_faults import pass_faults
from portgeom.questions.flow.whole import flow_faults
from portgeom.questions.match.of_job import match_of
from portgeom.questions.walls.plan import hazard_faults
from portgeom.questions.whole import wanted_of

PORT_MM = (10.0, 150.0)
"""Sizes of section within which ports lie; what is outside is worth a second look."""

JUMP = 3.0
"""A section so many times the area of its neighbour is worth a second look."""


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


def check(path: FilePath, *, resolution: Resolution = Resolution()) -> Checked:  # noqa: B008
    """Return whether a job is sound, with every fault: of files, planes, targets, hazards, readings and passes."""
    try:
        job = read_job(path)
    except JobError as error:
        return Checked(None, error.faults, ())
    try:
        ports = loft_job(job, resolution=resolution)
    except JobError as error:
        return Checked(job, error.faults, job.notes)
    faults = dict.fromkeys((*hazard_faults(job, ports), *flow_faults(job, ports)))
    for port in ports:
        try:
            wanted = wanted_of(job, ports, port)
            match_of(job, port, port.stages[-1])
        except JobError as error:
            faults.update(dict.fromkeys(error.faults))
        else:
            faults.update(dict.fromkeys(pass_faults(job, port, port.stages[-1], wanted)))
    stages = [(p.port, s) for p in ports for s in p.stages]
    notes = (*job.notes, *(n for port, s in stages for n in (*_undercut(port, s), *_unlikely(port, s))))
    return Checked(job, tuple(faults), notes)


def _unlikely(port: Port, stage: LoftedStage) -> list[Note]:
    """Return a note for every station whose size no port has, or that is wildly unlike the one before it."""
    table = stage.stage.sections
    notes = []
    for k, row in enumerate(table.rows):
        outline = row.outline
        size = max(outline.width_mm, outline.height_mm)
        before = table.rows[max(0, k - 1)].outline.area_mm2
        name = f"station {row.station} of port {port.name}"
        if not PORT_MM[0] <= size <= PORT_MM[1]:
            found = f"{name} is {mm(outline.width_mm)} by {mm(outline.height_mm)}, a size few ports have"
            notes.append(
                Note(table.file, row.row, "width", found, "check the units of the job, and the decimal points")
            )
        elif not 1.0 / JUMP <= outline.area_mm2 / before <= JUMP:
            found = f"{name} has {outline.area_mm2 / before:.1f} times the area of the station before it"
            notes.append(Note(table.file, row.row, "width", found, "check its readings"))
    return notes


def _undercut(port: Port, stage: LoftedStage) -> list[Note]:
    """Return a note for every station that hides some of itself behind its own wall."""
    table = stage.stage.sections
    return [
        Note(
            table.file,
            row.row,
            "outline",
            f"station {row.station} of port {port.name} is undercut: {mm2(hidden, 2)} lie behind its own wall",
            "the first wall met counts between stations; trace it again if that is not right",
        )
        for row, hidden in zip(table.rows, stage.surface.hidden_mm2[stage.slab], strict=True)
        if hidden > 1e-4 * row.outline.area_mm2 and np.isfinite(hidden)
    ]
