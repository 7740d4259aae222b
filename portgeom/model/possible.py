"""Can a target be made from these sections? Names every place where it cannot."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from portgeom.geometry.arrays import F64
from portgeom.geometry.chart import Chart
from portgeom.geometry.told_lengths import mm
from portgeom.job.faults import JobError
from portgeom.job.values import Note, Target
from portgeom.model.line import along


def refuse_impossible(plan: Target, chart: Chart, height: F64, sections_mm: Sequence[F64]) -> None:
    """Raise JobError with every reason why a target cannot be laid on the port's sections."""
    faults = []
    s, level = chart.distance_mm, chart.centre_mm[:, 1]
    low = np.flatnonzero(height <= level)
    if len(low):
        j = int(low[0])
        faults.append(
            target_fault(
                f"target {plan.name!r}: {plan.roof_kind}",
                f"runs {mm(height[j])} above the path at {mm(s[j])}, below the middle of the section",
                f"give the wanted height of the roof, above {mm(level[j])} there",
            )
        )
    if plan.roof is not None:
        inside = (s >= plan.roof.rows[0, 0]) & (s <= plan.roof.rows[-1, 0])
        flat = np.flatnonzero(inside & np.isnan(height))
        if len(flat):
            faults.append(
                target_fault(
                    f"target {plan.name!r}: {plan.roof_kind}",
                    f"means nothing at {mm(s[int(flat[0])])}, where the section plane lies too flat",
                    "end it before, or give roof_line, the height above the path",
                )
            )
    if plan.corner_radius is not None:
        faults += _wide_radii(plan, chart, height, sections_mm)
    if plan.floor_line is not None:
        high = np.flatnonzero(along(plan.floor_line, s) >= level)
        if len(high):
            j = int(high[0])
            faults.append(
                target_fault(
                    f"target {plan.name!r}: floor_line",
                    f"runs above the middle of the section at {mm(s[j])}",
                    f"give the wanted floor's height above the path, below {mm(level[j])} there",
                )
            )
    if faults:
        raise JobError(tuple(faults))


def _wide_radii(plan: Target, chart: Chart, height: F64, sections_mm: Sequence[F64]) -> list[Note]:
    assert plan.corner_radius is not None
    radius = along(plan.corner_radius, chart.distance_mm)
    room = np.array([0.5 * np.ptp(p[:, 0]) for p in sections_mm])
    crown = np.array([p[:, 1].max() for p in sections_mm])
    room = np.minimum(room, crown - chart.centre_mm[:, 1])
    wide = np.flatnonzero(radius > room)
    if not len(wide):
        return []
    j = int(wide[0])
    return [
        target_fault(
            f"target {plan.name!r}: roof_corner_radius",
            f"{mm(radius[j])} does not fit the section at {mm(chart.distance_mm[j])}",
            f"at most {mm(np.floor(10.0 * room[j]) / 10.0)} there",
        )
    ]


def target_fault(field: str, found: str, mend: str) -> Note:
    """Return a fault of the job file's target."""
    return Note("job.toml", None, field, found, mend)
