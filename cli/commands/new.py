"""``new``: starts a job folder."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from ..asking import Asking
from ..numbers import Finite
from ..options import tells_faults
from ..saying import talk

if TYPE_CHECKING:
    from portgeom.job.values import PortKind, Units


@click.command("new")
@click.argument("folder", type=click.Path(path_type=Path))
@click.option("--title", help="What the job is called.")
@click.option("--units", type=click.Choice(["mm", "in"]), help="Of every length in the job.")
@click.option("--material", help="'grey iron', 'aluminium', or a density in g/cc.")
@click.option("--port", "ports", multiple=True, metavar="NAME", help="A port's name; once for each port.")
@click.option("--kind", type=click.Choice(["intake", "exhaust"]))
@click.option("--distances", help="Of the stations from the face, such as '0 12 24 36 60 90'.")
@click.option("--stations", type=click.IntRange(2, 200), help="How many, evenly spaced over --length.")
@click.option("--length", type=Finite(min=0.0, min_open=True), help="From face to throat along the port.")
@click.option(
    "--raise-roof", type=Finite(0.0, 1000.0), help="How far the roof is to rise over as cast; 0 for not at all."
)
@click.option("--widen", type=Finite(0.0, 1000.0), help="How far each side wall is to move out; 0 for not at all.")
@click.option("--entry", help="Fill the table with a first guess: width, height and corner radius, '40x48x11'.")
@click.option("--throat", type=Finite(min=0.0, min_open=True), help="Diameter of the throat, for the guess.")
@click.option("--turn", type=Finite(0.0, 120.0), help="Degrees the port turns by, for the guess.")
@click.option("--from-sheet", "sheet", type=click.Path(path_type=Path), help="A filled measuring sheet's table.")
@click.option("--sections", "table", type=click.Path(path_type=Path), help="A section table, such as trace writes.")
@tells_faults
def command(
    folder: Path,
    title: str | None,
    units: Units | None,
    material: str | None,
    ports: tuple[str, ...],
    kind: PortKind | None,
    distances: str | None,
    stations: int | None,
    length: float | None,
    raise_roof: float | None,
    widen: float | None,
    entry: str | None,
    throat: float | None,
    turn: float | None,
    sheet: Path | None,
    table: Path | None,
) -> None:
    """Start a job in FOLDER, by options or by questions, from a filled measuring sheet, or from traced slices.

    What no option says is asked for. Nothing is written over; the folder appears whole or not at all.
    """
    from portgeom.output.files.whole_folder import refuse_there

    refuse_there(folder)
    ask = Asking(title, material, ports, kind, raise_roof, widen)
    others = (distances, stations, length, entry, throat, turn)
    if sheet is not None and table is not None:
        raise click.UsageError("give --sections or --from-sheet")
    if sheet is not None:
        _of_sheet(folder, sheet, ask, units, others=others)
    elif table is not None:
        _of_table(folder, table, ask, units, others=others)
    else:
        _of_answers(folder, ask, units, (distances, stations, length), (entry, throat, turn))


def _of_answers(
    folder: Path,
    ask: Asking,
    units: Units | None,
    where: tuple[str | None, int | None, float | None],
    guess: tuple[str | None, float | None, float | None],
) -> None:
    from portgeom.capture.new_job import FirstJob, Guess, first_job, size_of
    from portgeom.output.files.whole_folder import write_folder

    entry, throat, turn = guess
    if entry is None and (throat is not None or turn is not None):
        raise click.UsageError("--throat and --turn say how the table is to be filled; give --entry too")
    title, unit = ask.title(), ask.units(units)
    material, ports, kind = ask.material(), ask.ports(), ask.kind()
    stations = ask.distances(*where, units=unit)
    filled = None
    if entry is not None:
        try:
            width, height, radius = size_of(entry)
        except ValueError as error:
            raise click.UsageError(f"--entry: {error}") from error
        filled = Guess(width, height, radius, ask.throat(throat, unit), turn or 0.0)
    answers = FirstJob(title, unit, material, ports, kind, stations, ask.wish(unit), filled)
    texts = first_job(answers)
    write_folder(folder, texts, sound=_sound if filled else _reads)
    talk(f"The job lies in {folder}: {', '.join(texts)}")
    if filled:
        talk("Its tables hold a first guess: gauge the port and write your readings over it.")
    else:
        talk(f"Fill in shape and sizes in the table, then: portgeom check {folder}")


def _of_sheet(folder: Path, sheet: Path, ask: Asking, units: Units | None, *, others: tuple[object, ...]) -> None:
    from portgeom.capture.sheets.job import job_of_sheet
    from portgeom.capture.sheets.table import read_sheet_table
    from portgeom.job.faults import line
    from portgeom.output.files.whole_folder import write_folder

    if any(other is not None for other in others):
        raise click.UsageError("a sheet says itself where its sections are; leave the other measures out")
    table = read_sheet_table(sheet)
    if units is not None and units != table.units:
        raise click.UsageError(f"the sheet is in {table.units}; the job made of it is too")
    title, material, kind = ask.title(), ask.material(), ask.kind()
    job = job_of_sheet(
        table, title=title, material=material, port=ask.one_port(), kind=kind, wish=ask.wish(table.units)
    )
    write_folder(folder, job.texts, sound=_sound)
    talk(f"The job lies in {folder}: {len(job.stations)} stations, {', '.join(job.stations)}")
    for name, percent in job.moved_percent.items():
        talk(f"  {name}: held 3 degrees wrong, its area would be {percent:.1f} percent another")
    for note in job.notes:
        talk(line(note), err=True)


def _of_table(folder: Path, table: Path, ask: Asking, units: Units | None, *, others: tuple[object, ...]) -> None:
    from portgeom.capture.sections_job import job_of_sections
    from portgeom.job.faults import line
    from portgeom.output.files.whole_folder import write_folder

    if any(other is not None for other in others):
        raise click.UsageError("a table says itself where its sections are; leave the other measures out")
    title, unit = ask.title(), ask.units(units)
    material, port, kind = ask.material(), ask.one_port(), ask.kind()
    job = job_of_sections(table, title=title, units=unit, material=material, port=port, kind=kind, wish=ask.wish(unit))
    write_folder(folder, job.files, sound=_sound)
    talk(f"The job lies in {folder}: {job.stations} stations. What it says: portgeom report {folder}")
    for note in job.notes:
        talk(line(note), err=True)


def _reads(folder: Path) -> None:
    """Raise JobError unless a job's own file is sound; its tables are still to be filled in."""
    from portgeom.job.faults import JobError
    from portgeom.job.read import JOB_FILE, read_job

    try:
        read_job(folder)
    except JobError as error:
        own = [fault for fault in error.faults if fault.file == JOB_FILE]
        if own:
            raise JobError(own) from error


def _sound(folder: Path) -> None:
    """Raise JobError unless a job reads and lofts."""
    from portgeom.job.read import read_job
    from portgeom.model.lofted import loft_job

    loft_job(read_job(folder))
