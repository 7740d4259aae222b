"""What job folder does a filled measuring sheet make?"""

from __future__ import annotations

import csv
import io
from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from portgeom.capture.new_job import Wish, job_head, later_text, number, port_text, table_names, target_text
from portgeom.capture.sheets.gauged import moved_percent, placed_sections, plane_angles
from portgeom.capture.sheets.gauged_values import (
    POINTER_CLOCK_DEG,
    BowlSection,
    FaceSection,
    Placed,
    SetUp,
    TurnSection,
)
from portgeom.capture.sheets.table import SheetTable
from portgeom.geometry.arrays import F64
from portgeom.geometry.findings import GeometryError
from portgeom.geometry.path import Path
from portgeom.geometry.shapes import CornerRadii
from portgeom.job.faults import JobError
from portgeom.job.units import length_from_mm
from portgeom.job.values import Note, PortKind, Units

COLUMNS = (
    *("station", "distance", "pitch", "yaw", "roll", "x", "y", "z", "shape"),
    *("width_low", "width", "width_high", "height_left", "height", "height_right"),
    *("radius_tl", "radius_tr", "radius_br", "radius_bl", "across", "up", "outline", "place"),
)

SHEET_FILE = "measuring-sheet.csv"
"""The filled table, kept beside the job made of it."""

ASIDE_DEG = 25.0
"""Sections of one bend lie in the mean direction of their normals; this far off it a set-up reading is wrong."""

WIDE_TURN_DEG = 30.0
"""Where neighbouring sections stand further apart than this, one between would be worth its while."""


@dataclass(frozen=True, slots=True)
class SheetJob:
    """A job made of a sheet.

    Attributes
    ----------
    texts : mapping of str to str
        Its files, by name.
    placed : tuple of Placed
        Every section in its plane.
    stations : tuple of str
        Their names.
    moved_percent : mapping of str to float
        By how much of itself the area of a turn section, by name, would change if it had been held 3 degrees wrong.
    notes : tuple of Note
    """

    texts: Mapping[str, str]
    placed: tuple[Placed, ...]
    stations: tuple[str, ...]
    moved_percent: Mapping[str, float]
    notes: tuple[Note, ...]


def job_of_sheet(
    table: SheetTable, *, title: str, material: str, port: str, kind: PortKind, wish: Wish | None = None
) -> SheetJob:
    """Return the job folder that a filled sheet makes.

    Raises
    ------
    JobError
        With the row of every section that makes no outline or is out of order.
    """
    try:
        placed = placed_sections(table.set_up, table.sections)
    except GeometryError as error:
        raise JobError(
            Note(table.file, table.rows[f.station] if table.rows else None, f.field, f.found, f.mend)
            for f in error.findings
        ) from error
    names = _names(placed)
    angles = np.array([plane_angles(p.right, p.normal) for p in placed])
    path = Path.through_places(np.array([p.place_mm for p in placed]), *angles.T)
    file = table_names([port])[0]
    texts = {file: _table(placed, names, angles, path.distance_mm, table.units)}
    for name, p in zip(names, placed, strict=True):
        if isinstance(p.section, BowlSection):
            texts[_outline_file(name)] = _radii(p.section, table.units)
    last = length_from_mm(float(path.distance_mm[-1]), table.units)
    toml = [
        job_head(title, table.units, material),
        port_text(
            port,
            kind,
            file,
            target="wanted" if wish else None,
            alone=True,
            units=table.units,
            guide=_guide(table.set_up, table.units),
        ),
        target_text(wish, (0.0, last), table.units),
        later_text(table.units),
    ]
    moved = {names[i]: percent for i, percent in moved_percent(placed).items()}
    notes = (*table.notes, *_notes(table, placed, angles, names))
    return SheetJob({"job.toml": "\n".join(toml), **texts, SHEET_FILE: table.text}, placed, names, moved, notes)


def _names(placed: tuple[Placed, ...]) -> tuple[str, ...]:
    """Return a name for every station: its kind and its number in it."""
    count = {"face": 0, "turn": 0, "bowl": 0}
    names = []
    for p in placed:
        kind = {FaceSection: "face", TurnSection: "turn", BowlSection: "bowl"}[type(p.section)]
        count[kind] += 1
        names.append(f"{kind} {count[kind]}")
    return tuple(names)


def _table(placed: tuple[Placed, ...], names: tuple[str, ...], angles: F64, distance: F64, units: Units) -> str:
    out = io.StringIO(newline="")
    writer = csv.DictWriter(out, COLUMNS, lineterminator="\n")
    writer.writeheader()
    for i, (p, name) in enumerate(zip(placed, names, strict=True)):
        place = "face" if i == 0 else "throat" if i == len(placed) - 1 else ""
        row = {"station": name, "distance": _length(float(distance[i]), units), "place": place}
        row |= {key: number(float(a)) for key, a in zip(("pitch", "yaw", "roll"), angles[i], strict=True)}
        row |= {key: _length(float(c), units) for key, c in zip("xyz", p.place_mm, strict=True)}
        row |= {key: _length(float(c), units) for key, c in zip(("across", "up"), p.shift_mm, strict=True)}
        writer.writerow(row | _shape(p, name, units))
    return out.getvalue()


def _shape(p: Placed, name: str, units: Units) -> dict[str, str]:
    section = p.section
    if isinstance(section, BowlSection):
        return {"shape": "outline", "outline": _outline_file(name)}
    if isinstance(section, TurnSection):
        assert section.radii_mm is not None
        sizes = {"width": section.width_mm, "height": section.height_mm} | _corner_cells(section.radii_mm)
        return {"shape": "rectangle"} | {key: _length(value, units) for key, value in sizes.items()}
    gauged = section.gauged
    keys = ("width_low", "width", "width_high", "height_left", "height", "height_right")
    values = [*gauged.widths_mm.tolist(), *gauged.heights_mm.tolist()]
    sizes = dict(zip(keys, values, strict=True)) | _corner_cells(gauged.radii_mm)
    return {"shape": "gauged"} | {key: _length(value, units) for key, value in sizes.items()}


def _corner_cells(radii: CornerRadii) -> dict[str, float]:
    return {
        "radius_tl": radii.top_left,
        "radius_tr": radii.top_right,
        "radius_br": radii.bottom_right,
        "radius_bl": radii.bottom_left,
    }


def _outline_file(name: str) -> str:
    return f"{name.replace(' ', '-')}.csv"


def _radii(section: BowlSection, units: Units) -> str:
    rows = zip(POINTER_CLOCK_DEG, section.radii_mm, strict=True)
    return "clock,radius\n" + "".join(f"{number(c)},{_length(float(r), units)}\n" for c, r in rows)


def _guide(set_up: SetUp, units: Units) -> str:
    """Return where the guide's axis runs, as a comment: what the sheet knows of it, and what it does not."""
    away, right = np.radians([set_up.arbor_away_deg, set_up.arbor_right_deg])
    rise = np.array([-1.0 / np.tan(right), -1.0 / np.tan(away), 1.0])
    foot = np.array([set_up.along_head_mm, set_up.face_to_arbor_mm, 0.0])
    points = [foot + z * rise for z in (set_up.roof_above_deck_mm, set_up.seat_below_deck_mm)]
    axis = ", ".join(f"[{', '.join(number(length_from_mm(float(c), units)) for c in p.round(2))}]" for p in points)
    boss, reach = (number(round(length_from_mm(mm, units), 3)) for mm in (15.0, 6.0))
    return f"""
  # Where the guide's boss stands in the port; begin the axis where the boss leaves the roof.
  # [port.guide]
  # axis = [{axis}]
  # boss_diameter = {boss}
  # length = {reach}"""


def _notes(table: SheetTable, placed: tuple[Placed, ...], angles: F64, names: tuple[str, ...]) -> list[Note]:
    notes = [
        Note(
            table.file,
            table.rows[i],
            "section",
            f"{names[i]}: {' and '.join(p.carried)} not gauged; carried over from face and bowl",
            "gauge them if they can be reached",
        )
        for i, p in enumerate(placed)
        if p.carried
    ]
    for i in range(1, len(placed)):
        lean = float(np.degrees(np.arccos(np.clip(placed[i].normal @ placed[i - 1].normal, -1.0, 1.0))))
        if lean > WIDE_TURN_DEG:
            found = f"{names[i]} stands {lean:.0f} degrees on from {names[i - 1]}, with nothing gauged between"
            notes.append(Note(table.file, table.rows[i], "at", found, "gauge a turn section between"))
        aside = _aside_deg(placed[i - 1], placed[i])
        if aside > ASIDE_DEG:
            found = (
                f"{names[i]} lies {aside:.0f} degrees off the way that {names[i - 1]} and it point, so they do not "
                "belong to one port"
            )
            mend = "read the set-up again: face to arbor, crest depth and height, short radius, angles of the arbor"
            notes.append(Note(table.file, table.rows[i], "at", found, mend))
    return notes


def _aside_deg(one: Placed, other: Placed) -> float:
    """Return the angle between the line that joins two sections' middles and the mean of their normals."""
    chord, way = other.centroid_mm() - one.centroid_mm(), one.normal + other.normal
    along = float(chord @ way) / float(np.linalg.norm(chord) * np.linalg.norm(way))
    return float(np.degrees(np.arccos(np.clip(along, -1.0, 1.0))))


def _length(mm: float, units: Units) -> str:
    """Return a length in the sheet's units to a thousandth of a mm or less."""
    return number(round(length_from_mm(mm, units), 4 if units == "mm" else 6))
