"""Which passes of a job cannot be cut in a port, and why?"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from portgeom.geometry.told_lengths import mm
from portgeom.job.values import CutPass, Job, Note, Side
from portgeom.model.lofted import LoftedPort, LoftedStage
from portgeom.model.wanted import Wanted
from portgeom.questions.cutting.cuts import trail_mm
from portgeom.questions.cutting.plan import PlannedPass, planned, usual_cutter
from portgeom.questions.cutting.side import turned


def pass_faults(job: Job, port: LoftedPort, stage: LoftedStage, wanted: Wanted) -> tuple[Note, ...]:
    """Return every fault of the job's passes for one port: runs off the path, rows off the side, cutters too wide."""
    if not job.passes:
        return _usual_faults(job, port, stage)
    length = port.chart.path.length_mm
    faults: list[Note] = []
    grooved: set[Side] = set()
    for given in job.passes:
        plan = planned(given, job.cutters, length_mm=length, roof_end_mm=wanted.roof_end.distance_mm)
        faults += _needless(given, plan)
        if plan.kind == "grooves":
            grooved.add(plan.side)
        elif plan.kind == "level" and plan.side not in grooved:
            faults.append(
                _fault(
                    plan,
                    "kind",
                    f"levels the ribs between grooves, and no pass before it cuts grooves on side {plan.side!r}",
                    'put a pass of kind "grooves" on that side before it, or write kind = "blend"',
                )
            )
        off_path = _run_faults(plan, length)
        faults += off_path or _size_faults(plan, port, stage, wanted)
    return tuple(faults)


@dataclass(frozen=True, slots=True)
class Narrowest:
    """Where a port is narrowest, and how far from wall to wall."""

    distance_mm: float
    width_mm: float


def narrowest(stage: LoftedStage, from_mm: float = -np.inf, to_mm: float = np.inf) -> Narrowest:
    """Return the narrowest place of a stage, sideways or upwards, along a run of its path."""
    distance = stage.surface.chart.distance_mm
    here = np.flatnonzero((distance >= from_mm) & (distance <= to_mm))
    narrow = np.ptp(stage.surface.points_mm[here], axis=1).min(axis=1)
    j = int(np.argmin(narrow))
    return Narrowest(float(distance[here[j]]), float(narrow[j]))


def _usual_faults(job: Job, port: LoftedPort, stage: LoftedStage) -> tuple[Note, ...]:
    """Return the fault of a job without passes none of whose cutters goes into the port."""
    place = narrowest(stage)
    cutter = usual_cutter(job, place.width_mm)
    return _too_wide(f"cutter {cutter.name!r}", cutter.diameter_mm, port, place)


def _too_wide(field: str, diameter_mm: float, port: LoftedPort, place: Narrowest) -> tuple[Note, ...]:
    if diameter_mm < place.width_mm:
        return ()
    found = (
        f"is {mm(diameter_mm, None)} wide, and port {port.port.name} is {mm(place.width_mm)} at {mm(place.distance_mm)}"
    )
    return (Note("job.toml", None, field, found, "take a smaller cutter"),)


def _needless(given: CutPass, plan: PlannedPass) -> list[Note]:
    """Return what is given that a pass of this kind does not use."""
    faults = []
    if given.depth_mm is not None and plan.kind != "grooves":
        found = f"only grooves are set to a depth, and this pass is of kind {plan.kind!r}"
        faults.append(_fault(plan, "depth", found, "leave it out; say by leave how far short of the line it stays"))
    if given.overshoot_mm is not None and plan.kind != "level":
        found = f"only levelling goes below groove bottoms, and this pass is of kind {plan.kind!r}"
        faults.append(_fault(plan, "overshoot", found, "leave it out"))
    return faults


def _run_faults(plan: PlannedPass, length_mm: float) -> list[Note]:
    faults = []
    for field, value in (("from", plan.from_mm), ("to", plan.to_mm)):
        if not 0.0 <= value <= length_mm:
            faults.append(
                _fault(plan, field, f"{mm(value, None)} is off the path", f"it runs from 0 to {mm(length_mm, None)}")
            )
    if not faults and plan.from_mm >= plan.to_mm:
        faults.append(
            _fault(
                plan,
                "to",
                f"{mm(plan.to_mm, None)} does not lie beyond from, {mm(plan.from_mm, None)}",
                "give a longer run",
            )
        )
    trail = trail_mm(plan)
    if not faults and plan.kind == "grooves" and trail > plan.to_mm - plan.from_mm:
        faults.append(
            _fault(
                plan,
                "cutter",
                f"is straight over {mm(trail, None)} behind its nose, and the run from {mm(plan.from_mm, None)} to "
                f"{mm(plan.to_mm, None)} is shorter",
                "take a shorter cutter or a longer run",
            )
        )
    return faults


def _size_faults(plan: PlannedPass, port: LoftedPort, stage: LoftedStage, wanted: Wanted) -> list[Note]:
    chart = port.chart
    here = np.flatnonzero((chart.distance_mm >= plan.from_mm) & (chart.distance_mm <= plan.to_mm))
    place = narrowest(stage, plan.from_mm, plan.to_mm)
    faults = list(_too_wide(f"pass {plan.name!r}: cutter", plan.body.diameter_mm, port, place))
    sign = -1.0 if plan.side in ("floor", "right") else 1.0
    if not plan.across_mm:
        return faults
    ends = [turned(wanted.polygons[k], plan.side)[:, 0] for k in here]
    low, high = max(float(e.min()) for e in ends), min(float(e.max()) for e in ends)
    for across in plan.across_mm:
        if not low + plan.body.radius_mm <= sign * across <= high - plan.body.radius_mm:
            room = sorted((sign * (low + plan.body.radius_mm), sign * (high - plan.body.radius_mm)))
            faults.append(
                _fault(
                    plan,
                    "across",
                    f"{mm(across, None)} brings the cutter into {_neighbours(plan.side)} of port {port.port.name}",
                    f"between {mm(room[0])} and {mm(room[1])} the cutter clears both",
                )
            )
    return faults


def _neighbours(side: Side) -> str:
    return "a side wall" if side in ("roof", "floor") else "the roof or the floor"


def _fault(plan: PlannedPass, field: str, found: str, mend: str) -> Note:
    return Note("job.toml", None, f"pass {plan.name!r}: {field}", found, mend)
