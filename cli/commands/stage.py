"""``stage``: the record of what was measured. ``stage add`` writes a new measuring into the job."""

from __future__ import annotations

import sys
from pathlib import Path

import click

from ..numbers import Finite
from ..options import job_argument, tells_faults
from ..saying import talk


@click.group("stage")
def command() -> None:
    """The record of a port: what was measured, when the work stood where."""


@command.command("add", short_help="Write a new measuring of a port into the job, after the earlier ones.")
@job_argument
@click.option("--port", "port", required=True, metavar="NAME", help="The port that was measured.")
@click.option("--name", required=True, metavar="NAME", help="What to call this measuring, as finished.")
@click.option(
    "--sections",
    "table",
    required=True,
    type=click.Path(path_type=Path),
    help="Its section table; copied into the job folder, with its outlines, where it lies outside.",
)
@click.option("--poured-cc", type=Finite(), metavar="CC", help="Volume by pouring.")
@click.option("--valve-in/--plugged", default=None, help="Poured with the valve closed, or plugged at the throat.")
@click.option("--plate-recess-cc", type=Finite(), metavar="CC", help="What the plate on the face held besides. [0]")
@click.option("--to-seat", type=Finite(), metavar="LENGTH", help="From the last station to the seat, in job units.")
@click.option("--after", metavar="PASS", help="The last pass that was cut before.")
@click.option("--minutes", type=Finite(), help="Minutes of cutting since the measuring before.")
@tells_faults
def add(
    job_path: Path,
    port: str,
    name: str,
    table: Path,
    poured_cc: float | None,
    valve_in: bool | None,
    plate_recess_cc: float | None,
    to_seat: float | None,
    after: str | None,
    minutes: float | None,
) -> None:
    """Write a new measuring of a port into the job file, after the earlier ones, which are kept.

    Nothing else in the file changes, and nothing is written at all unless the job with the new stage is sound.
    """
    from portgeom.job.record import record_stage
    from portgeom.job.record_lock import JobLockedError
    from portgeom.job.record_text import NewStage
    from portgeom.model.lofted import loft_job

    if valve_in is None and (plate_recess_cc is not None or to_seat is not None):
        raise click.UsageError("say --valve-in or --plugged beside --plate-recess-cc and --to-seat")
    stage = NewStage(
        name=name,
        sections="",
        poured_cc=poured_cc,
        valve_in=valve_in,
        plate_recess_cc=0.0 if plate_recess_cc is None else plate_recess_cc,
        to_seat=to_seat,
        after=after,
        minutes=minutes,
    )
    try:
        done = record_stage(job_path, port, stage, table, sound=loft_job)
    except JobLockedError as error:
        click.echo(f"{error.filename}: {error.strerror}; wait until it has ended and try again.", err=True)
        sys.exit(2)
    for words in done.told:
        talk(f"Note: {words}", err=True)
    for file in done.copied:
        talk(f"Copied {file} into the job folder.", err=True)
    stages = next(p.stages for p in done.job.ports if p.name == port)
    talk(f'Port {port} now has {len(stages)} stages, the latest "{name}" from {done.sections}.')
    if poured_cc is not None and valve_in is None:
        talk("Say how it was poured (pour = { valve_in = true, ... }) to have it compared with the model.")
