"""What sections does a section table hold, and is it a sound table?"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise
from typing import cast

from portgeom.geometry.arrays import F64, frozen
from portgeom.job.cells import Row, Sheet, read_sheet
from portgeom.job.faults import Spot, nearest, shown
from portgeom.job.files import TABLE_BYTES, Folder, relative
from portgeom.job.kinds import Number, Text, distance, length
from portgeom.job.lists import PLACES
from portgeom.job.shape_cells import RADII, SHAPE_COLUMNS, read_shape, shape_readings
from portgeom.job.values import PlaceName, SectionTable, StationRow, Units

MOST_STATIONS = 500

ANGLES = ("pitch", "yaw", "roll")
XYZ = ("x", "y", "z")
COLUMNS = ("station", "distance", *ANGLES, *XYZ, *SHAPE_COLUMNS, "sd", "place")

ONE_SEAT = "name each place once; where a port divides to two seats, give each branch as a port of its own"

_TURN = Number("degrees", least=-360.0, most=360.0)


def read_sections(name: str, named_at: Spot, *, folder: Folder, units: Units, lays_path: bool) -> SectionTable | None:
    """Return the sections of a table in the job folder, or None after taking down its faults.

    Parameters
    ----------
    named_at : Spot
        The key that names the table; a table that cannot be read is told there.
    lays_path : bool
        Whether this is the table that a port's path is laid by: its first stage. It starts on the
        manifold face, and an angle given at one of its stations is given at all of them. Other tables
        may leave angles out.
    """
    text = folder.text(name, named_at, most_bytes=TABLE_BYTES)
    if text is None:
        return None
    gathered = named_at.gathered
    before = gathered.count
    whole = Spot(gathered, relative(name), None, "stations")
    sheet = read_sheet(text, whole, known=COLUMNS, required=("shape",), most_rows=MOST_STATIONS)
    if sheet is None:
        return None
    stations = [_station(row, i, sheet, folder, units) for i, row in enumerate(sheet.rows, start=1)]
    if len(sheet.rows) < 2:
        count = "no station" if not sheet.rows else "one station"
        whole.fault(f"holds {count}", "give two stations or more, a row for each")
    _refuse_doubles(sheet.rows)
    _check_places(sheet)
    _check_distances(sheet, units, lays_path=lays_path)
    if lays_path:
        _check_angles(sheet)
    _tell_sharp_corners(sheet)
    rows = tuple(s for s in stations if s is not None)
    return SectionTable(whole.file, rows) if gathered.count == before else None


def _station(row: Row, i: int, sheet: Sheet, folder: Folder, units: Units) -> StationRow | None:
    outline = read_shape(row, folder=folder, units=units) if "shape" in sheet.columns else None
    pitch, yaw, roll = (row.number(column, _TURN, units) for column in ANGLES)
    xyz = [row.number(column, length(), units) for column in XYZ]
    name = Text().read(row.text("station"), row.at("station"), units) if row.text("station") else None
    place = row.text("place").casefold()
    if place and place not in PLACES:
        row.at("place").fault(f"{shown(row.text('place'))} is not known", nearest(place, PLACES, what="place"))
    sd = row.number("sd", distance(), units)
    if outline is None:
        return None
    return StationRow(
        station=name or str(i),
        row=row.row,
        distance_mm=row.number("distance", distance(), units),
        pitch_deg=pitch,
        yaw_deg=yaw,
        roll_deg=roll,
        place_mm=_place_mm(xyz),
        place=cast("PlaceName", place),
        outline=outline,
        readings=shape_readings(row, units),
        sd_mm=sd,
    )


def _place_mm(xyz: Sequence[float | None]) -> F64 | None:
    return None if None in xyz else frozen([c for c in xyz if c is not None])


def _refuse_doubles(rows: Sequence[Row]) -> None:
    """Take down stations of one name and places named twice."""
    for column, mend in (("station", "give every station its own name"), ("place", ONE_SEAT)):
        first: dict[str, Row] = {}
        for row in rows:
            name = row.text(column).casefold()
            earlier = first.setdefault(name, row)
            if name and earlier is not row:
                row.at(column).fault(f"{shown(row.text(column))} is also in row {earlier.row}", mend)


def _check_places(sheet: Sheet) -> None:
    """Take down rows that give some of x, y, z, or none where others do."""
    anywhere = any(row.text(column) for row in sheet.rows for column in XYZ)
    if not anywhere:
        return
    for row in sheet.rows:
        blank = [column for column in XYZ if not row.text(column)]
        for column in blank:
            found = "is blank where other stations have it" if len(blank) == 3 else "is blank beside the others"
            row.at(column).fault(found, "give x, y and z in every row, or in none")


def _check_distances(sheet: Sheet, units: Units, *, lays_path: bool) -> None:
    placed = any(row.text(column) for row in sheet.rows for column in XYZ)
    given = [row for row in sheet.rows if row.text("distance")]
    if not given and sheet.rows:
        if not placed:
            sheet.header.cell(sheet.header.row, "distance").fault(
                "no station has a distance", "give distance, or x, y and z, for every station"
            )
        return
    for row in sheet.rows:
        if not row.text("distance"):
            row.at("distance").fault("is blank", "give every station its distance along the path")
    read = [(row, _plain_distance(row, units)) for row in given]
    known = [(row, s) for row, s in read if s is not None]
    for (earlier, before), (row, s) in pairwise(known):
        if s <= before:
            found = f"{row.text('distance')} does not rise above {earlier.text('distance')} in row {earlier.row}"
            row.at("distance").fault(found, "list the stations from the face inwards, each distance once")
    if lays_path and known and sheet.rows and known[0][0] is sheet.rows[0] and known[0][1] != 0.0:
        known[0][0].at("distance").fault(
            f"the first station is at {known[0][0].text('distance')}, not on the manifold face",
            "begin with a station at distance 0",
        )


def _plain_distance(row: Row, units: Units) -> float | None:
    """Return the distance of a row; asking again tells its faults again, which are kept once."""
    return row.number("distance", distance(), units)


def _check_angles(sheet: Sheet) -> None:
    for column in ANGLES:
        blank = [row for row in sheet.rows if not row.text(column)]
        if len(blank) == len(sheet.rows):
            continue
        for row in blank:
            row.at(column).fault("is blank where other stations have it", "write 0 if it is straight there")


def _tell_sharp_corners(sheet: Sheet) -> None:
    sharp = [
        row
        for row in sheet.rows
        if row.text("shape").casefold() in ("rectangle", "gauged") and not any(row.text(column) for column in RADII)
    ]
    if sharp:
        count = "one section" if len(sharp) == 1 else f"{len(sharp)} sections, the first here"
        sharp[0].at("radius").note(f"no corner radius for {count}: taken as sharp corners", "give radius")
