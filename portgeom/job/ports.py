"""Which ports does a job measure, and do their own keys agree with their tables?"""

from __future__ import annotations

from portgeom.job.faults import shown
from portgeom.job.files import Folder
from portgeom.job.keys import Entry
from portgeom.job.match import read_match
from portgeom.job.stage_values import Pour
from portgeom.job.tables import read_sections
from portgeom.job.values import Guide, Port, PortKind, Schedule, SectionTable, Stage


def read_port(entry: Entry, folder: Folder) -> Port | None:
    """Return a port with its stages, or None after taking down what is wrong with it."""
    stages = [_stage(stage, folder, lays_path=i == 0) for i, stage in enumerate(entry.tables("stage"))]
    first = stages[0].sections if stages and stages[0] is not None else None
    if first is not None:
        _check_within(entry, first)
        _check_schedule(entry, first)
        _check_start(entry, first)
    match = read_match(entry.table("match"), folder)
    whole = tuple(stage for stage in stages if stage is not None)
    if not entry.complete or len(whole) < len(stages):
        return None
    walls, schedule = entry.table("walls"), entry.values.get("schedule")
    assert schedule is None or isinstance(schedule, Schedule)
    return Port(
        name=entry.text("name"),
        kind=port_kind(entry),
        stages=whole,
        target=entry.text("target") or None,
        position_mm=entry.array("position"),
        mirrored=entry.flag("mirrored"),
        left_wall=(walls.text("left") if walls else "") or "left wall",
        right_wall=(walls.text("right") if walls else "") or "right wall",
        throat_mm=entry.number("throat"),
        roof_end_mm=entry.number("roof_end"),
        schedule=schedule,
        guide=_guide(entry.table("guide")),
        match=match,
    )


def port_kind(entry: Entry) -> PortKind:
    """Return the kind of a port or a valve."""
    return "intake" if entry.text("kind") == "intake" else "exhaust"


def _stage(entry: Entry, folder: Folder, *, lays_path: bool) -> Stage | None:
    name = entry.text("sections")
    table = None
    if name:
        spot, units = entry.spot("sections"), entry.source.units
        table = read_sections(name, spot, folder=folder, units=units, lays_path=lays_path)
    if table is None or not entry.complete:
        return None
    return Stage(
        name=entry.text("name"),
        sections=table,
        poured_cc=entry.number("poured_cc"),
        pour=_pour(entry.table("pour")),
        after=entry.text("after"),
        minutes=entry.number("minutes"),
    )


def _pour(entry: Entry | None) -> Pour | None:
    if entry is None or not entry.complete:
        return None
    return Pour(
        valve_in=entry.flag("valve_in"),
        plate_recess_cc=entry.sure("plate_recess_cc"),
        to_seat_mm=entry.number("to_seat"),
        boss_in_sections=entry.flag("boss_in_sections"),
    )


def _guide(entry: Entry | None) -> Guide | None:
    axis = entry.array("axis") if entry is not None else None
    if entry is None or axis is None:
        return None
    return Guide(axis, entry.sure("boss_diameter"), entry.sure("length"))


def _check_within(entry: Entry, table: SectionTable) -> None:
    """Take down places along the path that no station reaches."""
    last = table.rows[-1].distance_mm
    for key in ("throat", "roof_end"):
        at = entry.number(key)
        if at is not None and last is not None and at > last:
            entry.spot(key).fault(
                "is beyond the last station", f"give a distance within {table.file}, or measure further in"
            )
        elif at == 0.0:
            entry.spot(key).fault("is on the manifold face", "give its distance along the path")


def _check_schedule(entry: Entry, table: SectionTable) -> None:
    schedule = entry.values.get("schedule")
    if not isinstance(schedule, Schedule):
        return
    named = {row.place for row in table.rows}
    for place, _ in schedule.by_place:
        if place not in named:
            entry.spot("schedule").fault(
                f"wants an area at {shown(place)}, a place that no station has",
                f"write {place} in the column place of {table.file}",
            )
    last = table.rows[-1].distance_mm
    if schedule.by_distance and last is not None and schedule.by_distance[-1][0] > last:
        entry.spot("schedule").fault("runs beyond the last station", f"end it within {table.file}")


def _check_start(entry: Entry, table: SectionTable) -> None:
    """Take down a position that is not where the table's own places start."""
    position, place = entry.array("position"), table.rows[0].place_mm
    if position is not None and place is not None and not (position == place).all():
        entry.spot("position").fault(
            f"is not where the first station of {table.file} is",
            "leave it out where the table gives x, y and z, or make them agree",
        )
