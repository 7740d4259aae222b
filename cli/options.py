"""What options do all commands share, and how is a job opened for a command?"""

from __future__ import annotations

import functools
import sys
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

if TYPE_CHECKING:
    from portgeom.geometry.chart import Resolution
    from portgeom.job.values import Job, Note, Units
    from portgeom.model.lofted import LoftedPort, LoftedStage

Wrapped = Callable[..., None]

UNITS_KEY = "portgeom.units"
"""Where a command keeps the units it tells things in, for whoever tells its faults."""

job_argument = click.argument("job_path", metavar="JOB", type=click.Path(path_type=Path))
port_option = click.option("--port", "port_names", multiple=True, metavar="NAME", help="Only this port.")
stage_option = click.option("--stage", "stage_name", metavar="NAME", help="This stage; else the latest.")
units_option = click.option("--units", type=click.Choice(["mm", "in"]), help="Show in these units; else the job's own.")
json_option = click.option("--json", "as_json", is_flag=True, help="One JSON document on standard output.")
strict_option = click.option(
    "--strict", is_flag=True, help="Exit with status 1 where something about the metal was found."
)


@dataclass(frozen=True, slots=True)
class Asked:
    """What every question is asked with: of which job, ports and stage, and how to tell the answer."""

    job_path: Path
    port_names: tuple[str, ...]
    stage_name: str | None
    units: Units | None
    as_json: bool
    strict: bool

    def open(self) -> Opened:
        """Return the job read, checked and lofted; raises JobError with every fault."""
        return open_job(self.job_path, self.port_names, self.stage_name, self.units)


def question(command: Wrapped) -> Wrapped:
    """Give a command the argument and options that every question has, as one ``Asked``, and one way to fail.

    The command's own options follow by name.
    """

    @functools.wraps(command)
    def asking(
        job_path: Path,
        port_names: tuple[str, ...],
        stage_name: str | None,
        units: Units | None,
        as_json: bool,
        strict: bool,
        **own: Any,
    ) -> None:
        command(Asked(job_path, port_names, stage_name, units, as_json, strict), **own)

    telling = tells_faults(asking)
    for option in (strict_option, json_option, units_option, stage_option, port_option, job_argument):
        telling = option(telling)
    return telling


@dataclass(frozen=True, slots=True)
class Opened:
    """A job ready for a command: its lofted ports, and the port and stage pairs that were asked for."""

    job: Job
    ports: tuple[LoftedPort, ...]
    chosen: tuple[tuple[LoftedPort, LoftedStage], ...]
    units: Units


def open_job(
    path: Path,
    port_names: tuple[str, ...],
    stage_name: str | None,
    units: Units | None,
    *,
    resolution: Resolution | None = None,
) -> Opened:
    """Return a job read, checked and lofted; raises JobError with every fault."""
    from portgeom.job.read import read_job
    from portgeom.model.lofted import loft_job

    job = read_job(path)
    click.get_current_context().meta[UNITS_KEY] = units or job.units
    ports = loft_job(job) if resolution is None else loft_job(job, resolution=resolution)
    known = [p.port.name for p in ports]
    for name in port_names:
        if name not in known:
            raise click.UsageError(f'there is no port "{name}"; the job has {_listed(known)}')
    chosen = []
    for port in ports:
        if port_names and port.port.name not in port_names:
            continue
        stages = [s.stage.name for s in port.stages]
        if stage_name is not None and stage_name not in stages:
            if port_names or all(stage_name not in [s.stage.name for s in p.stages] for p in ports):
                raise click.UsageError(f'port {port.port.name} has no stage "{stage_name}"; it has {_listed(stages)}')
            continue
        chosen.append((port, port.stage(stage_name)))
    return Opened(job, ports, tuple(chosen), units or job.units)


def tells_faults(command: Wrapped) -> Wrapped:
    """Turn a job's faults into lines on standard error and exit status 2, without a traceback."""

    @functools.wraps(command)
    def wrapped(*args: Any, **kwargs: Any) -> None:
        from portgeom.job.faults import JobError

        try:
            command(*args, **kwargs)
        except JobError as error:
            tell_faults(error.faults, click.get_current_context().meta.get(UNITS_KEY, "mm"))
            sys.exit(2)
        except FileExistsError as error:
            click.echo(str(error), err=True)
            sys.exit(2)
        except OSError as error:
            where = f"{error.filename}: " if error.filename else ""
            click.echo(f"{where}{error.strerror or error}; name a place that can be written to.", err=True)
            sys.exit(2)

    return wrapped


def tell_faults(faults: tuple[Note, ...], units: Units) -> None:
    """Write every fault on its own line to standard error, lengths in the units the person works in."""
    from portgeom.job.faults import line

    for fault in faults:
        click.echo(line(fault, units), err=True)
    count = len(faults)
    click.echo(f"{count} fault{'s' if count != 1 else ''}; nothing was written.", err=True)


def found_something(strict: bool, found: bool) -> None:
    """Exit with status 1 if strict and something about the metal was found."""
    if strict and found:
        sys.exit(1)


def _listed(names: list[str]) -> str:
    return ", ".join(f'"{n}"' for n in names)
