"""What does a job folder hold? Reads and checks all of it, and tells every fault at once."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Iterable
from pathlib import Path
from typing import TypeVar

from portgeom.job.bench import read_accuracy, read_limits, read_valve
from portgeom.job.cutting import read_cutter, read_pass
from portgeom.job.faults import Gathered, JobError, Spot
from portgeom.job.files import JOB_BYTES, Folder, decoded, read_bounded
from portgeom.job.flow_bench import read_air, read_engine, read_flows
from portgeom.job.hazards import read_hazard
from portgeom.job.keys import Entry, Source, read_entry
from portgeom.job.kinds import Casting
from portgeom.job.lines import key_lines, overlong_key
from portgeom.job.match import read_milling
from portgeom.job.names import check_names, check_positions, names_of
from portgeom.job.ports import read_port
from portgeom.job.propose import read_propose
from portgeom.job.receipt import read_opened, read_quote, read_receipt
from portgeom.job.schema import JOB
from portgeom.job.targets import read_target
from portgeom.job.values import Job, Note, Units
from portgeom.job.valve_job import read_chamber

JOB_FILE = "job.toml"
MOST_DOTS = 16

_T = TypeVar("_T")


def read_job(path: Path) -> Job:
    """Return the job at ``path``, a job.toml or its folder, in millimetres and degrees.

    Raises
    ------
    JobError
        With every fault of the job and of the files it names.
    """
    gathered = Gathered()
    file = job_file(path)
    text = _text(file, gathered)
    raw = _parsed(text, Spot(gathered, file.name, None, "text"))
    units = _units(raw)
    source = Source(gathered, file.name, key_lines(text), units)
    entry = read_entry(raw, JOB, source, (), "")
    job = _assembled(entry, Folder(file.parent), units)
    gathered.refuse()
    assert job is not None
    return job


def job_file(path: Path) -> Path:
    """Return the file of a job named by it or by its folder; raises JobError where there is none."""
    try:
        file = path / JOB_FILE if path.is_dir() else path
        found = file.is_file()
        folder = file.is_dir()
    except (OSError, ValueError) as error:
        raise JobError([Note(str(path), None, "job", "cannot be looked up", "check the path")]) from error
    if not found:
        what = "is a folder" if folder else "does not exist" if path == file else "is not in the folder"
        mend = f"name a job folder or its {JOB_FILE}"
        raise JobError([Note(str(path), None, JOB_FILE, what, mend)])
    return file


def _text(file: Path, gathered: Gathered) -> str:
    whole = Spot(gathered, file.name, None, "text")
    data = read_bounded(file, JOB_BYTES, whole)
    text = decoded(data, whole) if data is not None else None
    gathered.refuse()
    assert text is not None
    return text.replace("\r\n", "\n")


def _parsed(text: str, whole: Spot) -> dict[str, object]:
    """Return the TOML tree, or raise JobError with the line that cannot be read."""
    row = overlong_key(text, most_dots=MOST_DOTS)
    if row is not None:
        whole.cell(row, "text").fault(f"has a key of more than {MOST_DOTS} dots", "begin tables with [name]")
        raise JobError(whole.gathered.faults)
    try:
        return tomllib.loads(text)
    except RecursionError:
        whole.fault("nests lists or tables too deep", "write it flatter")
    except ValueError as error:
        said = re.fullmatch(r"(.*?) \(at (?:line (\d+), column (\d+)|end of document)\)", str(error), re.DOTALL)
        row = int(said[2]) if said and said[2] else text.count("\n") + 1 if said else None
        column = f" at column {said[3]}" if said and said[3] else ""
        found = said[1] if said else "a value cannot be read"
        whole.cell(row, "text").fault(f"is not TOML{column}: {found}", "mend this line or the one before")
    raise JobError(whole.gathered.faults)


def _units(raw: dict[str, object]) -> Units:
    """Return the job's units; mm where they are missing or wrong, which is told with all the rest."""
    return "in" if raw.get("units") == "in" else "mm"


def _assembled(entry: Entry, folder: Folder, units: Units) -> Job | None:
    ports = _sound(read_port(e, folder) for e in entry.tables("port"))
    targets = _sound(read_target(e, folder) for e in entry.tables("target"))
    port_names, cutter_names = names_of(entry.tables("port")), names_of(entry.tables("cutter"))
    hazards = _sound(read_hazard(e, folder, port_names) for e in entry.tables("hazard"))
    cutters = _sound(read_cutter(e) for e in entry.tables("cutter"))
    passes = _sound(read_pass(e, cutter_names) for e in entry.tables("pass"))
    valves = _sound(read_valve(e) for e in entry.tables("valve"))
    flow = read_flows(entry.tables("flow"))
    chamber, quote = read_chamber(entry.table("chamber"), folder), read_quote(entry.table("quote"))
    opened = _sound(read_opened(e) for e in entry.tables("opened"))
    check_names(entry)
    placed = (p.name for p in ports if p.stages[0].sections.rows[0].place_mm is not None)
    check_positions(entry, frozenset(placed))
    casting = entry.values.get("material")
    if not isinstance(casting, Casting):
        return None
    return Job(
        folder=folder.root,
        title=entry.text("title"),
        units=units,
        material=casting.name,
        density_g_cc=casting.density_g_cc,
        ports=ports,
        targets=targets,
        hazards=hazards,
        cutters=cutters,
        passes=passes,
        valves=valves,
        flow=flow,
        air=read_air(entry.table("air")),
        engine=read_engine(entry.table("engine")),
        min_wall_mm=entry.number("min_wall"),
        respect_walls=entry.flag("respect_walls"),
        limits=read_limits(entry.table("limits")),
        accuracy=read_accuracy(entry.table("accuracy")),
        receipt=read_receipt(entry.table("receipt")),
        opened=opened,
        milling=read_milling(entry.table("milling")),
        chamber=chamber,
        quote=quote,
        propose=read_propose(entry.table("propose")),
        notes=entry.source.gathered.notes,
    )


def _sound(items: Iterable[_T | None]) -> tuple[_T, ...]:
    return tuple(item for item in items if item is not None)
