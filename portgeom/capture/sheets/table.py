"""What readings does the filled table of a measuring sheet hold?"""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

import numpy as np

from portgeom.capture.sheets.gauged_values import BowlSection, FaceSection, Section, SetUp, TurnSection
from portgeom.capture.sheets.readings import COLUMNS, CORNERS, OF_KIND, SET_UP, SHORT_SIDE, Measure, Reading
from portgeom.geometry.arrays import frozen
from portgeom.geometry.gauged_shape import Gauged
from portgeom.geometry.shapes import CornerRadii
from portgeom.job.cells import Row, read_sheet
from portgeom.job.faults import Gathered, Spot, nearest, printable, shown
from portgeom.job.files import TABLE_BYTES, decoded, read_bounded
from portgeom.job.kinds import Number, distance, length, size
from portgeom.job.units import length_from_mm
from portgeom.job.values import Note, Units

MOST_SECTIONS = 200

KINDS: dict[Measure, Number] = {
    "length": size(),
    "signed": length(),
    "degrees": Number("degrees", least=20.0, most=160.0),
}
CORNER = distance()
"""A corner radius may be 0."""

HEIGHTS_AGREE_MM = 0.5
"""How far floor and roof over the deck may differ from the height gauged at the face without being told."""


@dataclass(frozen=True, slots=True)
class SheetTable:
    """A filled sheet.

    Attributes
    ----------
    file : str
    text : str
        As it was saved, to be kept beside the job.
    units : Units
        It was filled in, and the job is to be in; the values here are in mm.
    rows : tuple of int
        Row of each section in the file.
    """

    file: str
    text: str
    units: Units
    set_up: SetUp
    sections: tuple[Section, ...]
    rows: tuple[int, ...]
    notes: tuple[Note, ...]


def read_sheet_table(path: Path) -> SheetTable:
    """Return the readings in a filled table, saved as CSV by any spreadsheet.

    Raises
    ------
    JobError
        With every fault: what is blank that is needed, what is no number, what is in the wrong row.
    """
    gathered = Gathered()
    whole = Spot(gathered, printable(path.name), None, "table")
    data = read_bounded(path, TABLE_BYTES, whole)
    text = None if data is None else decoded(data, whole)
    most = MOST_SECTIONS + len(SET_UP) + len(SHORT_SIDE) + 1
    sheet = (
        None if text is None else read_sheet(text, whole, known=COLUMNS, required=("section", "value"), most_rows=most)
    )
    gathered.refuse()
    assert sheet is not None
    assert text is not None
    names: dict[str, Row] = {}
    sections: list[Row] = []
    for row in sheet.rows:
        _sort(row, names, sections)
    units = _units(names.get("units"), whole)
    turns = any(_kind(row) == "turn" for row in sections)
    set_up = _set_up(names, whole, units, turns=turns)
    read = [_section(row, units) for row in sections]
    gathered.refuse()
    assert set_up is not None
    _compare_heights(set_up, read[0] if read else None, whole, units)
    rows = tuple(row.row for row in sections)
    return SheetTable(whole.file, text, units, set_up, tuple(s for s in read if s is not None), rows, gathered.notes)


def _kind(row: Row) -> str:
    return row.text("section").casefold().replace(" ", "_").replace("-", "_")


def _sort(row: Row, names: dict[str, Row], sections: list[Row]) -> None:
    """Put a row with the sections or with the set-up readings, after looking for cells that are not its own."""
    kind = _kind(row)
    known = ["units", *(r.key for r in (*SET_UP, *SHORT_SIDE)), *OF_KIND]
    if not kind:
        row.at("section").fault("is blank", "name the reading, or the kind of section: face, turn or bowl")
    elif kind not in known:
        row.at("section").fault(f"{shown(row.text('section'))} is not known", nearest(kind, known, what="row"))
    elif kind in OF_KIND:
        own = {"section", "at", *(r.key for r in OF_KIND[kind])}
        _refuse_others(row, own, f"a {kind} section")
        sections.append(row)
    elif kind in names:
        row.at("section").fault(f"{shown(kind)} is also in row {names[kind].row}", "give it once")
    else:
        _refuse_others(row, {"section", "value"}, kind)
        names[kind] = row


def _refuse_others(row: Row, own: set[str], what: str) -> None:
    for column in row.cells:
        if column not in own:
            row.at(column).fault(f"{shown(row.text(column))} means nothing to {what}", "leave the cell blank")


def _units(row: Row | None, whole: Spot) -> Units:
    said = row.text("value").casefold() if row is not None else ""
    if said not in ("mm", "in"):
        spot = whole.cell(None, "units") if row is None else row.at("value")
        found = "is missing" if row is None else f"{shown(said)} is no unit of a sheet" if said else "is blank"
        spot.fault(found, "begin with a row units, its value mm or in")
    return "in" if said == "in" else "mm"


def _set_up(names: dict[str, Row], whole: Spot, units: Units, *, turns: bool) -> SetUp | None:
    values: dict[str, float] = {}
    for reading in (*SET_UP, *(SHORT_SIDE if turns else ())):
        row = names.get(reading.key)
        if row is None or not row.text("value"):
            spot = whole.cell(None, reading.key) if row is None else row.at("value")
            if reading.needed:
                spot.fault("is missing" if row is None else "is blank", f"give {reading.words}")
            continue
        value = row.number("value", KINDS[reading.measure], units)
        if value is not None:
            values[reading.key] = value
    if whole.gathered.count:
        return None
    return SetUp(
        face_to_deck_deg=values["face_to_deck"],
        arbor_away_deg=values["arbor_away"],
        arbor_right_deg=values["arbor_right"],
        face_to_arbor_mm=values["face_to_arbor"],
        seat_below_deck_mm=values["seat_below_deck"],
        floor_above_deck_mm=values["floor_above_deck"],
        roof_above_deck_mm=values["roof_above_deck"],
        crest_depth_mm=values.get("crest_depth", np.nan),
        crest_height_mm=values.get("crest_height", np.nan),
        short_radius_mm=values.get("short_radius", np.nan),
        along_head_mm=values.get("arbor_along_head", 0.0),
    )


def _section(row: Row, units: Units) -> Section | None:
    kind = _kind(row)
    before = row.whole.gathered.count
    mark = row.number("at", Number("degrees") if kind == "turn" else length(), units)
    if not row.text("at"):
        row.at("at").fault("is blank", "give the mark the section was gauged at")
    values = {reading.key: _reading(row, reading, mark, units) for reading in OF_KIND[kind]}
    corners = None if kind == "bowl" else _corners(row, values)
    if row.whole.gathered.count > before or mark is None:
        return None
    sure = {key: value for key, value in values.items() if value is not None}
    if kind == "bowl":
        return BowlSection(mark, frozen([sure[r.key] for r in OF_KIND["bowl"]]))
    if kind == "turn":
        return TurnSection(mark, sure["width"], sure["height"], corners, sure.get("floor", 0.0), values["side"])
    assert corners is not None
    gauged = Gauged(
        frozen([sure[key] for key in ("width_low", "width", "width_high")]),
        frozen([sure[key] for key in ("height_left", "height", "height_right")]),
        corners,
    )
    return FaceSection(mark, gauged, sure["floor"], sure["side"])


def _reading(row: Row, reading: Reading, mark: float | None, units: Units) -> float | None:
    if not row.text(reading.key):
        if reading.key == "floor" and mark == 0.0:
            return 0.0  # the floor at the face, over itself
        if reading.needed:
            row.at(reading.key).fault("is blank", f"give the {reading.words}")
        return None
    corner = reading.key in {c.key for c in CORNERS}
    return row.number(reading.key, CORNER if corner else KINDS[reading.measure], units)


def _corners(row: Row, values: dict[str, float | None]) -> CornerRadii | None:
    """Return the corner radii; None where none was gauged. Some and not others is a fault."""
    radii = [values[c.key] for c in CORNERS]
    known = [r for r in radii if r is not None]
    if 0 < len(known) < len(radii):
        for c in CORNERS:
            if not row.text(c.key):
                row.at(c.key).fault("is blank where other corners have a radius", "give all four, or none")
    return CornerRadii(*known) if len(known) == len(radii) else None


def _compare_heights(set_up: SetUp, first: Section | None, whole: Spot, units: Units) -> None:
    """Tell where floor and roof over the deck do not agree with the height gauged at the face."""
    if not isinstance(first, FaceSection):
        return
    by_deck = (set_up.roof_above_deck_mm - set_up.floor_above_deck_mm) / np.sin(np.radians(set_up.face_to_deck_deg))
    gauged = float(first.gauged.heights_mm[1])
    if abs(by_deck - gauged) > HEIGHTS_AGREE_MM:
        heights = [f"{length_from_mm(float(h), units):.4g}" for h in (by_deck, gauged)]
        whole.cell(None, "roof_above_deck").note(
            f"makes the port {heights[0]} high at the face, where it was gauged as {heights[1]}",
            "read floor and roof over the deck, and the height at the face, again",
        )
