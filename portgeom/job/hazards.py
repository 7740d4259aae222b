"""What does a job say is behind the walls, and does each hazard have what its shape needs?"""

from __future__ import annotations

from typing import cast

from portgeom.job.cells import read_sheet
from portgeom.job.faults import Spot, shown
from portgeom.job.files import MESH_BYTES, TABLE_BYTES, Folder, relative
from portgeom.job.keys import Entry
from portgeom.job.kinds import Number, distance
from portgeom.job.values import Hazard, HazardShape, Units, WallReading

NEEDS: dict[HazardShape, tuple[str, ...]] = {
    "cylinder": ("start", "end", "diameter"),
    "plane": ("point", "normal"),
    "mesh": ("file",),
    "readings": ("file",),
}
"""The keys that each shape must have."""

MAY: dict[HazardShape, tuple[str, ...]] = {
    "cylinder": ("drill_point", "thread_to"),
    "plane": (),
    "mesh": (),
    "readings": (),
}
"""The keys that it may have, and other shapes may not."""

MESH_FILES = (".stl", ".ply", ".obj", ".off")

READING_COLUMNS = ("distance", "clock", "wall")
MOST_READINGS = 10_000

_CLOCK = Number("degrees", least=0.0, most=360.0)


def read_hazard(entry: Entry, folder: Folder, port_names: tuple[str, ...]) -> Hazard | None:
    """Return a hazard, or None after taking down what is wrong with it."""
    shape = cast("HazardShape", entry.text("shape"))
    if shape not in NEEDS:
        return None
    sound = _has_what_it_needs(entry, shape)
    start, end = entry.array("start"), entry.array("end")
    if shape == "cylinder" and start is not None and end is not None and (start == end).all():
        entry.spot("end").fault("is where it starts: a hole of zero length", "give the other end of its axis")
        sound = False
    readings: tuple[WallReading, ...] | None = ()
    file = entry.text("file")
    if shape == "mesh" and file:
        sound = _mesh_is_there(entry, file, folder) and sound
    if shape == "readings":
        ports = entry.names("ports") or port_names
        if len(ports) != 1 and entry.complete:
            entry.spot("ports").fault("readings are taken in one port", 'name it, as ports = ["1"]')
            sound = False
        readings = _readings(file, entry.spot("file"), folder, entry.source.units) if file else None
    if not (sound and entry.complete) or readings is None:
        return None
    return Hazard(
        name=entry.text("name"),
        shape=shape,
        ports=entry.names("ports"),
        start_mm=start,
        end_mm=end,
        diameter_mm=entry.number("diameter"),
        point_mm=entry.array("point"),
        normal=entry.array("normal"),
        file=file or None,
        readings=readings,
        min_wall_mm=entry.number("min_wall"),
        casting_tolerance_mm=entry.number("casting_tolerance") or 0.0,
        drill_point=entry.flag("drill_point"),
        thread_to_mm=entry.number("thread_to"),
        open_allowed=entry.flag("open_allowed"),
    )


def _has_what_it_needs(entry: Entry, shape: HazardShape) -> bool:
    sound = True
    for key in NEEDS[shape]:
        if key not in entry.given:
            entry.spot(key).fault("is missing", f"a {shape} needs {', '.join(NEEDS[shape])}")
            sound = False
    others = {key for keys in (*NEEDS.values(), *MAY.values()) for key in keys}
    for key in sorted((others & entry.given) - {*NEEDS[shape], *MAY[shape]}):
        entry.spot(key).fault(f"means nothing to the shape {shape}", "leave it out, or mend the shape")
        sound = False
    return sound


def _mesh_is_there(entry: Entry, file: str, folder: Folder) -> bool:
    spot = entry.spot("file")
    if not file.casefold().endswith(MESH_FILES):
        spot.fault(f"{shown(file)} is not a mesh file", f"name a file ending in {', '.join(MESH_FILES)}")
        return False
    return folder.file(file, spot, most_bytes=MESH_BYTES) is not None


def _readings(name: str, named_at: Spot, folder: Folder, units: Units) -> tuple[WallReading, ...] | None:
    """Return the rows of a table of wall readings, or None after taking down its faults."""
    text = folder.text(name, named_at, most_bytes=TABLE_BYTES)
    if text is None:
        return None
    gathered = named_at.gathered
    before = gathered.count
    whole = Spot(gathered, relative(name), None, "readings")
    sheet = read_sheet(text, whole, known=READING_COLUMNS, required=READING_COLUMNS, most_rows=MOST_READINGS)
    if sheet is None:
        return None
    if not sheet.rows:
        whole.fault("holds no readings", "give one row a reading")
    read = []
    for row in sheet.rows:
        for column in READING_COLUMNS:
            if column in sheet.columns and not row.text(column):
                row.at(column).fault("is blank", "give every reading its distance, clock position and wall")
        s = row.number("distance", distance(), units)
        clock, wall = row.number("clock", _CLOCK, units), row.number("wall", distance(), units)
        if s is not None and clock is not None and wall is not None:
            read.append(WallReading(s, clock, wall))
    return tuple(read) if gathered.count == before else None
