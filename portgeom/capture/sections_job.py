"""What job folder does a section table make, with the outlines it names?

What tracing leaves, or a table written by hand: the table and its outlines are taken as they are.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

from portgeom.capture.new_job import Wish, job_head, later_text, port_text, table_names, target_text
from portgeom.job.cells import Sheet, read_sheet
from portgeom.job.faults import Gathered, Spot, printable
from portgeom.job.files import OUTLINE_BYTES, TABLE_BYTES, Folder, decoded
from portgeom.job.kinds import distance
from portgeom.job.read import JOB_FILE
from portgeom.job.tables import COLUMNS, MOST_STATIONS
from portgeom.job.units import length_from_mm
from portgeom.job.values import Note, PortKind, Units


@dataclass(frozen=True, slots=True)
class TableJob:
    """A job made of a section table: its files by name, how many stations it has, and what was taken for granted."""

    files: Mapping[str, str | bytes]
    stations: int
    notes: tuple[Note, ...]


def job_of_sections(
    path: Path, *, title: str, units: Units, material: str, port: str, kind: PortKind, wish: Wish | None = None
) -> TableJob:
    """Return the job folder that a section table and the outlines beside it make.

    ``units`` are those of every length in them; neither says it itself.

    Raises
    ------
    JobError
        With what cannot be read of the table, and every outline that is not there.
    """
    gathered = Gathered()
    whole = Spot(gathered, printable(path.name), None, "table")
    folder = Folder(path.parent)
    data = folder.data(path.name, whole, most_bytes=TABLE_BYTES)
    gathered.refuse()
    assert data is not None
    text = decoded(data, whole)
    gathered.refuse()
    assert text is not None
    sheet = read_sheet(text, whole, known=COLUMNS, required=("shape",), most_rows=MOST_STATIONS)
    gathered.refuse()
    assert sheet is not None
    own = table_names([port])[0]
    files: dict[str, str | bytes] = {own: data}
    for row in sheet.rows:
        name = row.text("outline")
        if name in (own, JOB_FILE):
            row.at("outline").fault("is the name of a file that the job makes itself", "give the outline another name")
        elif name and name not in files:
            files[name] = folder.data(name, row.at("outline"), most_bytes=OUTLINE_BYTES) or b""
    ends = _ends(sheet, units)
    if ends is None and wish is not None:
        whole.fault("gives no distances for the roof's rise and the walls", "add distances, or wish for nothing yet")
    gathered.refuse()
    if not {"pitch", "yaw", "x"} & sheet.columns:
        whole.note(
            "says nothing of where the port points, so it is taken as straight",
            "add the columns pitch and yaw, as trace --pitches and --yaws write them",
        )
    toml = [
        job_head(title, units, material),
        port_text(port, kind, own, target="wanted" if wish else None, alone=True, units=units),
        target_text(wish, ends or (0.0, 1.0), units),
        later_text(units),
    ]
    return TableJob({**files, JOB_FILE: "\n".join(toml)}, len(sheet.rows), gathered.notes)


def _ends(sheet: Sheet, units: Units) -> tuple[float, float] | None:
    """Return the first and the last distance in the table's own units, None where it gives none."""
    found = [row.number("distance", distance(), units) for row in sheet.rows]
    given = [length_from_mm(s, units) for s in found if s is not None]
    return (given[0], given[-1]) if len(given) > 1 else None
