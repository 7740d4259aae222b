"""How does a scan mesh become a job: read, placed, followed, cut and written?"""

from __future__ import annotations

from dataclasses import dataclass
from typing import cast

from portgeom.capture.meshes.file import MeshUnits, read_scan
from portgeom.capture.meshes.values import ScanMesh
from portgeom.capture.slicing.asked import Asked
from portgeom.capture.slicing.index import indexed
from portgeom.capture.slicing.job import JobWords, WrittenJob, refuse_there, write_job
from portgeom.capture.slicing.laid_line import Laid, laid_line
from portgeom.capture.slicing.scan import Sliced, Wish, sliced
from portgeom.capture.slicing.words import in_units
from portgeom.job.faults import Gathered, JobError, printable
from portgeom.job.units import length_to_mm
from portgeom.job.values import Note

MOST_TRIMMED = 3
"""How many sections may be left out where the march ended with no mouth to end at."""


@dataclass(frozen=True, slots=True)
class SlicedMesh:
    """What came of it.

    Attributes
    ----------
    asked : Asked
    mesh : ScanMesh
    sections : Sliced
    written : WrittenJob
    notes : tuple of Note
        What was assumed, found odd and mended.
    """

    asked: Asked
    mesh: ScanMesh
    sections: Sliced
    written: WrittenJob
    notes: tuple[Note, ...]


def slice_mesh(asked: Asked) -> SlicedMesh:
    """Return the sections of a scan, written as a job folder.

    Raises
    ------
    JobError
        With what is wrong with the mesh, its placing, or single planes; nothing is then written.
    FileExistsError
        If the folder holds something and ``force`` was not asked for.
    """
    refuse_there(asked.folder, force=asked.force)
    gathered = Gathered()
    file = printable(asked.mesh.name)
    try:
        units = cast("MeshUnits", asked.mesh_units)
        mesh = read_scan(asked.mesh, units, gathered, shrink_percent=asked.shrink_percent)
        index = indexed(mesh.vertices_mm, mesh.faces)
        laid = laid_line(asked, mesh, index, gathered)
        sections = sliced(index, laid.line, laid.frame, wish_of(asked, laid), gathered, file)
        return _written(asked, mesh, sections, gathered, trim=laid.trim)
    except JobError as error:
        raise JobError(in_units(error.faults, asked.units)) from error


def _written(asked: Asked, mesh: ScanMesh, sections: Sliced, gathered: Gathered, *, trim: bool) -> SlicedMesh:
    """Write the job; where the line just ended somewhere, leave out a last section that makes no port."""
    file = printable(asked.mesh.name)
    words = JobWords(
        title=asked.title or f"Sliced from {file}"[:200],
        units=asked.units,
        material=asked.material,
        port=asked.port,
        kind=asked.kind,
        stage=asked.stage,
    )
    for left in range(MOST_TRIMMED, -1, -1):
        notes = in_units(gathered.notes, asked.units)
        try:
            written = write_job(sections, asked.folder, words, source=asked.mesh.name, notes=notes, force=asked.force)
            return SlicedMesh(asked, mesh, sections, written, notes)
        except JobError as error:
            last = len(sections.stations) + 1  # rows are counted from the header
            faults = [_at_its_plane(n, sections, file) for n in error.faults]
            if not trim or not left or last < 4 or any(n.row != last for n in error.faults):
                raise JobError(faults) from error
            for fault in faults:
                gathered.note(fault.file, None, fault.field, fault.found, "left out, being the last")
            sections = sections.without_last()
    raise AssertionError("the last round returns or raises")


def _at_its_plane(note: Note, sections: Sliced, file: str) -> Note:
    """Return a fault of the table as one of the plane it came from: the table was not written."""
    if note.row is None or not 2 <= note.row <= len(sections.stations) + 1:
        return note
    at = sections.stations[note.row - 2].distance_mm
    return Note(file, None, f"section at {at:.2f} mm", note.found, note.mend)


def wish_of(asked: Asked, laid: Laid) -> Wish:
    """Return which stations were asked for, in mm."""
    listed = tuple(length_to_mm(s, asked.units) for s in asked.stations) if asked.stations else laid.at_mm
    if asked.spacing is not None:
        listed = ()
    return Wish(
        at_mm=listed,
        spacing_mm=None if asked.spacing is None else length_to_mm(asked.spacing, asked.units),
        denser=not asked.even,
        within_mm=Wish().within_mm if asked.within is None else length_to_mm(asked.within, asked.units),
        limits=asked.limits,
    )
