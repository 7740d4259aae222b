"""Which targets does a job want, and does each say what it wants in one way only?"""

from __future__ import annotations

from portgeom.geometry.arrays import F64
from portgeom.job.files import Folder
from portgeom.job.keys import Entry
from portgeom.job.tables import read_sections
from portgeom.job.values import Copy, Line, LineKind, SectionTable, Target

ROOF_LINES: tuple[LineKind, ...] = ("roof_line", "roof_from_deck", "roof_raise")
LINE_WAYS = (*ROOF_LINES, "roof_corner_radius", "widen", "floor_line", "throat_diameter")
WAYS = (*LINE_WAYS, "sections", "copy_of")


def read_target(entry: Entry, folder: Folder) -> Target | None:
    """Return a target, or None after taking down what is wrong with it."""
    _refuse_two_ways(entry)
    table = _sections(entry, folder)
    if not entry.complete or ("sections" in entry.given and table is None):
        return None
    roof_kind: LineKind = next((key for key in ROOF_LINES if key in entry.given), "roof_line")
    return Target(
        name=entry.text("name"),
        roof=_line(entry.array(roof_kind)),
        roof_kind=roof_kind,
        roof_straight=entry.flag("roof_straight"),
        corner_radius=_line(entry.array("roof_corner_radius")),
        widen=entry.array("widen"),
        floor_line=_line(entry.array("floor_line")),
        throat_diameter_mm=entry.number("throat_diameter"),
        sections=table,
        copy_of=_copy(entry.table("copy_of")),
    )


def _refuse_two_ways(entry: Entry) -> None:
    roofs = [key for key in ROOF_LINES if key in entry.given]
    for again in roofs[1:]:
        entry.spot(again).fault(f"says the roof a second time, beside {roofs[0]}", "keep one of them")
    lines = [key for key in LINE_WAYS if key in entry.given]
    whole = [key for key in ("sections", "copy_of") if key in entry.given]
    for key in whole[1:] if not lines else whole:
        other = lines[0] if lines else whole[0]
        entry.spot(key).fault(
            f"says the target a second time, beside {other}", "keep the lines, or sections, or copy_of"
        )
    if not lines and not whole:
        entry.spot("name").fault("says nothing of what is wanted", f"give one of {', '.join(WAYS)}")
    if "roof_straight" in entry.given and not roofs:
        entry.spot("roof_straight").fault(
            "is said of no roof line", f"give one of {', '.join(ROOF_LINES)}, or leave it out"
        )


def _sections(entry: Entry, folder: Folder) -> SectionTable | None:
    name = entry.text("sections")
    if not name:
        return None
    spot, units = entry.spot("sections"), entry.source.units
    return read_sections(name, spot, folder=folder, units=units, lays_path=False)


def _line(rows: F64 | None) -> Line | None:
    return None if rows is None else Line(rows)


def _copy(entry: Entry | None) -> Copy | None:
    return None if entry is None else Copy(entry.text("port"), entry.text("stage"))
