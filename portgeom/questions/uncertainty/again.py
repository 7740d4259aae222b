"""What would a job read like, had its ports been measured with the errors of one draw?

The long way round: the readings themselves are changed and the job is lofted again. The draws are held against it.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from portgeom.geometry.arrays import frozen
from portgeom.job.values import Job, Port, SectionTable, Stage, StationRow
from portgeom.model.lofted import LoftedStage, path_readings
from portgeom.questions.uncertainty.draws import Measuring
from portgeom.questions.uncertainty.errors import row_again


def job_again(job: Job, measured: Sequence[Measuring], draw: int) -> Job:
    """Return the job with the readings that its ports have in one draw.

    Raises
    ------
    OutlineError
        Where the draw's readings of a section make no outline.
    """
    again = {m.port.port.name: _port_again(m, draw) for m in measured}
    return replace(job, ports=tuple(again.get(p.name, p) for p in job.ports))


def _port_again(m: Measuring, draw: int) -> Port:
    stages = tuple(_stage_again(m, k, stage, draw) for k, stage in enumerate(m.port.stages))
    return replace(m.port.port, stages=stages)


def _stage_again(m: Measuring, k: int, stage: LoftedStage, draw: int) -> Stage:
    table, errors = stage.stage.sections, m.stages[k]
    station = np.array([t.station for t in errors.sections.terms], dtype=np.intp)
    rows = []
    for i, row in enumerate(table.rows):
        placed = _place_again(m, stage, k, i, row, draw)
        rows.append(
            row_again(
                placed,
                errors.size_mm[draw, station == i],
                gauge_bias_mm=float(m.bias.gauge_mm[draw]),
                trace_bias_mm=float(m.bias.trace_mm[draw]),
            )
        )
    return replace(stage.stage, sections=SectionTable(table.file, tuple(rows)))


def _place_again(m: Measuring, stage: LoftedStage, k: int, i: int, row: StationRow, draw: int) -> StationRow:
    """Return a row with its place along the path read again."""
    cast = m.port.cast
    path = m.port.chart.path
    if stage is not cast:
        drawn_path = path.distance_mm + m.path.distance_mm[draw]
        s = float(np.interp(stage.distance_mm[i], path.distance_mm, drawn_path)) + m.stages[k].distance_mm[draw, i]
        return replace(row, distance_mm=float(s), pitch_deg=None, yaw_deg=None)
    read = path_readings(cast.stage.sections)
    ahead = float(m.path.distance_mm[draw, i])
    return replace(
        row,
        distance_mm=None if row.distance_mm is None else row.distance_mm + ahead,
        pitch_deg=float(read.pitch_deg[i] + m.path.pitch_deg[draw, i]),
        yaw_deg=float(read.yaw_deg[i] + m.path.yaw_deg[draw, i]),
        roll_deg=float(read.roll_deg[i]),
        place_mm=None if row.place_mm is None else frozen(row.place_mm + ahead * path.normal[i]),
    )
