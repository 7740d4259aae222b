"""How is a measured stage written into a job's record, so that nothing is lost whatever happens meanwhile?

Everything is written beside its place and moved there whole. The job file comes last: until then the job is as it
was, and after that it has the stage. Tables of earlier stages are never written to.
"""

from __future__ import annotations

import os
import secrets
from collections.abc import Callable
from dataclasses import dataclass, replace
from pathlib import Path

from portgeom.job.cells import read_sheet
from portgeom.job.faults import Gathered, JobError, Spot, shown
from portgeom.job.files import OUTLINE_BYTES, TABLE_BYTES, decoded, read_bounded, relative, unsafe
from portgeom.job.read import job_file, read_job
from portgeom.job.record_lock import locked, unfinished
from portgeom.job.record_text import NewStage, with_stage
from portgeom.job.tables import COLUMNS, MOST_STATIONS
from portgeom.job.values import Job


@dataclass(frozen=True, slots=True)
class Recorded:
    """A stage that was written down.

    Attributes
    ----------
    job : Job
        Read again from what was written.
    sections : str
        Its table, by its name in the job folder.
    copied : tuple of str
        Files that were copied into the job folder.
    told : tuple of str
        What else happened, for the person.
    """

    job: Job
    sections: str
    copied: tuple[str, ...]
    told: tuple[str, ...]


def _anything(job: Job) -> None:
    pass


def record_stage(
    job_path: Path,
    port: str,
    stage: NewStage,
    table: Path,
    *,
    sound: Callable[[Job], object] = _anything,
    wait_s: float | None = None,
) -> Recorded:
    """Write a stage into a job, its table with it, and return the job as it then is.

    Parameters
    ----------
    stage : NewStage
        Its ``sections`` is filled in here.
    table : Path
        The section table, from where one is or from the job folder. Where it lies outside the job folder it is
        copied in, with the outlines it names.
    sound : callable
        Given the job as it would be; whatever it raises is raised, and nothing was written.
    wait_s : float
        How long to wait for another writer; else 10 seconds.

    Raises
    ------
    JobError
        With every fault; nothing was written then.
    JobLockedError
        If another process is writing to the job.
    """
    file = job_file(job_path).resolve()
    folder = file.parent
    with locked(folder, wait_s=wait_s) as told:
        read_job(file)
        files = _files(folder, table)
        sections = next(iter(files))
        text = file.read_bytes().decode("utf-8")
        made = with_stage(text, file.name, port, replace(stage, sections=sections)).encode("utf-8")
        new = {name: data for name, data in files.items() if data is not None}
        copied = _Copied(folder)
        beside = unfinished(folder, secrets.token_hex(6))
        try:
            for name, data in new.items():
                copied.put(name, data)
            _written(beside, made)
            os.chmod(beside, file.stat().st_mode & 0o777)
            job = _read(beside, file.name)
            sound(job)
            os.replace(beside, file)
        except BaseException:
            beside.unlink(missing_ok=True)
            copied.undo()
            raise
        _settled(folder)
    return Recorded(replace(job, folder=folder), sections, tuple(new), told)


def _read(beside: Path, name: str) -> Job:
    """Return the job as it would be, its faults told of the file it will be."""
    try:
        return read_job(beside)
    except JobError as error:
        raise JobError([replace(f, file=name) if f.file == beside.name else f for f in error.faults]) from error


def _files(folder: Path, table: Path) -> dict[str, bytes | None]:
    """Return the table and what it names, by their names in the job folder; None where they are there already."""
    gathered = Gathered()
    spot = Spot(gathered, table.name, None, "sections")
    try:
        place = table.resolve()
        if not place.is_file():
            place = (folder / table).resolve()
        there, folder_there = place.is_file(), place.is_dir() or table.is_dir()
    except (OSError, RuntimeError, ValueError):
        there, folder_there = False, False
    if not there:
        spot.fault("is a folder" if folder_there else "is not there", "name a section table")
        raise JobError(gathered.faults)
    if place.is_relative_to(folder):
        return {place.relative_to(folder).as_posix(): None}
    found: dict[str, bytes | None] = {}
    data = read_bounded(place, TABLE_BYTES, spot)
    if data is not None:
        found[place.name] = _fresh(folder, place.name, data, spot)
        for name, named_at in _named(data, spot):
            if relative(name) not in found:
                outline = _outline(place.parent, name, named_at)
                if outline is not None:
                    found[relative(name)] = _fresh(folder, relative(name), outline, named_at)
    gathered.refuse()
    return found


def _named(data: bytes, spot: Spot) -> list[tuple[str, Spot]]:
    """Return the outlines a table names; whatever else is wrong with it is told when the job is read."""
    text = decoded(data, spot)
    if text is None:
        return []
    look = Spot(Gathered(), spot.file, None, "stations")
    sheet = read_sheet(text, look, known=COLUMNS, required=(), most_rows=MOST_STATIONS)
    rows = () if sheet is None else sheet.rows
    return [(row.text("outline"), spot.cell(row.row, "outline")) for row in rows if row.text("outline")]


def _outline(folder: Path, name: str, named_at: Spot) -> bytes | None:
    trouble = unsafe(name)
    if trouble is not None:
        named_at.fault(f"{shown(name)} {trouble}", "name a file beside the table, with / between folders")
        return None
    path = folder / name
    if not path.is_file():
        named_at.fault(f"{shown(name)} is not beside the table", "put it there, or mend the name")
        return None
    return read_bounded(path, OUTLINE_BYTES, named_at)


def _fresh(folder: Path, name: str, data: bytes, spot: Spot) -> bytes | None:
    """Return what is to be copied, None where the same is there; another file of that name is a fault."""
    place = folder / name
    if not place.exists():
        return data
    if not place.is_file() or place.read_bytes() != data:
        spot.fault(f"{shown(name)} is in the job folder already and holds something else", "give this one another name")
    return None


class _Copied:
    """Files put into a folder, which can be taken out again."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self.made: list[Path] = []

    def put(self, name: str, data: bytes) -> None:
        """Write a file beside and move it to its place whole; never over one that is there."""
        place = self.folder / name
        for parent in reversed([p for p in place.parents if p.is_relative_to(self.folder)]):
            if not parent.exists():
                parent.mkdir()
                self.made.append(parent)
        beside = unfinished(self.folder, secrets.token_hex(6))
        try:
            _written(beside, data)
            if place.exists():
                raise FileExistsError(f"{place} has come there meanwhile; nothing was written over it")
            os.replace(beside, place)
        except BaseException:
            beside.unlink(missing_ok=True)
            raise
        self.made.append(place)
        _settled(place.parent)

    def undo(self) -> None:
        """Take out what was put in."""
        for path in reversed(self.made):
            if path.is_dir():
                path.rmdir()
            else:
                path.unlink(missing_ok=True)


def _written(path: Path, data: bytes) -> None:
    with path.open("xb") as file:
        file.write(data)
        file.flush()
        os.fsync(file.fileno())


def _settled(folder: Path) -> None:
    """Have the system keep what was moved in a folder; where it cannot open folders it keeps them by itself."""
    try:
        descriptor = os.open(folder, os.O_RDONLY)
    except OSError:
        return
    try:
        os.fsync(descriptor)
    finally:
        os.close(descriptor)
