"""How do sliced sections become a job folder that ``check`` finds sound?

Written beside its place, read back and lofted there as any job is, and only then moved to where it belongs.
"""

from __future__ import annotations

import json
import os
import re
import secrets
import shutil
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from portgeom.capture.slicing.scan import Sliced
from portgeom.job.faults import JobError, line, printable
from portgeom.job.read import JOB_FILE, read_job
from portgeom.job.units import length_from_mm
from portgeom.job.values import Note, PortKind, Units
from portgeom.model.lofted import LoftedPort, loft_job


@dataclass(frozen=True, slots=True)
class JobWords:
    """What a job says besides its sections."""

    title: str
    units: Units
    material: str
    port: str
    kind: PortKind
    stage: str


@dataclass(frozen=True, slots=True)
class WrittenJob:
    """A job folder that was written: where, its files, and its port as lofted from them."""

    folder: Path
    files: tuple[str, ...]
    port: LoftedPort


def write_job(
    sliced: Sliced, folder: Path, words: JobWords, *, source: str, notes: Sequence[Note], force: bool = False
) -> WrittenJob:
    """Write a job folder whole or not at all.

    ``source`` is how the scan's file is named in it, and ``notes`` are what was assumed and mended.

    Raises
    ------
    FileExistsError
        If the folder holds something and ``force`` is not given.
    JobError
        If the sections make no port: planes that cross, undercut walls.
    """
    refuse_there(folder, force=force)
    files = job_files(sliced, words, source=source, notes=notes)
    place = folder.resolve()
    beside = place.parent / f".{place.name[:80]}-{secrets.token_hex(6)}"
    try:
        _write(beside, files)
        port = loft_job(read_job(beside))[0]
        _move(beside, place, list(files))
    except OSError as error:
        what = f"cannot be written: {error.strerror or type(error).__name__}"
        raise JobError([Note(printable(str(folder)), None, "folder", what, "name another place")]) from error
    finally:
        shutil.rmtree(beside, ignore_errors=True)
    return WrittenJob(folder, tuple(files), port)


def _write(folder: Path, files: dict[str, str]) -> None:
    for name, text in files.items():
        path = folder / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(text, encoding="utf-8", newline="\n")


def refuse_there(folder: Path, *, force: bool) -> None:
    """Raise FileExistsError if a folder may not be written into."""
    if folder.exists() and (not folder.is_dir() or (any(folder.iterdir()) and not force)):
        raise FileExistsError(f"{folder} is there already; move it away, name another place, or say --force")


def _move(beside: Path, folder: Path, names: list[str]) -> None:
    """Put a folder in its place at once, or, where there is one, its files over those of the same name."""
    if folder.is_dir() and not any(folder.iterdir()):
        folder.rmdir()
    if not folder.exists():
        os.rename(beside, folder)
        return
    for name in sorted(names, key=lambda n: n == JOB_FILE):  # the job last, so that it never names what is not there
        (folder / name).parent.mkdir(parents=True, exist_ok=True)
        os.replace(beside / name, folder / name)


def job_files(sliced: Sliced, words: JobWords, *, source: str, notes: Sequence[Note]) -> dict[str, str]:
    """Return the text of every file of the job by its name, outlines first."""
    stem = "-".join(["port", *re.findall(r"[a-z0-9]+", words.port.casefold())][:8])[:60]
    digits = max(2, len(str(len(sliced.stations))))
    files, rows = {}, []
    s = sliced.angles
    angles = zip(s.pitch_deg, s.yaw_deg, s.roll_deg, strict=True)
    for k, (station, (pitch, yaw, roll)) in enumerate(zip(sliced.stations, angles, strict=True), start=1):
        name = f"{stem}/station-{k:0{digits}d}.csv"
        points = station.traced.outline.points_mm
        files[name] = "u,v\n" + "".join(f"{_length(u, words.units)},{_length(v, words.units)}\n" for u, v in points)
        place = ",".join(_length(x, words.units) for x in station.place_mm)
        turn = ",".join(_plain(angle, 4) for angle in (pitch, yaw, roll))
        rows.append(f"{k},{_length(station.distance_mm, words.units)},{place},{turn},outline,{name}\n")
    files[f"{stem}.csv"] = "station,distance,x,y,z,pitch,yaw,roll,shape,outline\n" + "".join(rows)
    files[JOB_FILE] = _job_text(words, f"{stem}.csv", source, notes)
    return files


def _length(length_mm: float, units: Units) -> str:
    return _plain(length_from_mm(float(length_mm), units), 4 if units == "mm" else 6)


def _plain(number: float, digits: int) -> str:
    """Return a number without an exponent and without minus zero."""
    return f"{np.round(float(number), digits) + 0.0:.{digits}f}"


EXACT_PLANES = (
    "# The planes were laid by the tool, so no distance and no direction was read off. What the scan itself is off by,",
    "# as one standard deviation, goes in trace; till it is said, the usual value for tracing is taken.",
    "[accuracy]",
    "distance = 0.0",
    "pitch    = 0.0",
)


def _job_text(words: JobWords, table: str, source: str, notes: Sequence[Note]) -> str:
    said = [printable(line(note)) for note in notes]
    head = [
        f"# Sections sliced from {printable(source)}. What was assumed and mended:",
        *(f"#   {s}" for s in said),
    ]
    material = words.material if re.fullmatch(r"[0-9.]+", words.material) else _quoted(words.material)
    return "\n".join(
        [
            *head,
            "",
            f"title    = {_quoted(words.title)}",
            f"units    = {_quoted(words.units)}",
            f"material = {material}",
            "",
            *EXACT_PLANES,
            "",
            "[[port]]",
            f"name = {_quoted(words.port)}",
            f"kind = {_quoted(words.kind)}",
            "",
            "  [[port.stage]]",
            f"  name     = {_quoted(words.stage)}",
            f"  sections = {_quoted(table)}",
            "",
        ]
    )


def _quoted(text: str) -> str:
    """Return a TOML string; its escapes are those of JSON."""
    return json.dumps(printable(text), ensure_ascii=False)
