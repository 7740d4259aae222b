"""Which commands are there? Lists them without importing any, so that ``--help`` answers at once."""

from __future__ import annotations

import os
from importlib import import_module

import click

from .saying import hushable, letters_that_are_there

# the matrices here are small: a second thread costs more processor time than it saves, the draws twice as much
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

COMMANDS: dict[str, tuple[str, str]] = {
    "new": ("new", "Start a job, by questions or options, from a filled sheet or from traced slices."),
    "sheet": ("sheet", "A measuring sheet to print, and the table to type it into."),
    "check": ("check", "Is the job sound? Every fault at once, with file, row, field and the mend."),
    "trace": ("trace", "Outlines from scans, photographs or drawings of slices."),
    "slice": ("slice", "Sections from a scan mesh of the port or of a mould, as a job."),
    "stage": ("stage", "The record: stage add writes a new measuring into the job."),
    "profile": ("profile", "Area along the path, and whether it tapers smoothly."),
    "roof": ("roof", "How far the roof stands above the line, and what hangs from it."),
    "removal": ("removal", "Metal between the port as it is and the port wanted."),
    "passes": ("passes", "What each pass takes off, and the depth card for the grooves."),
    "progress": ("progress", "What is off and what is left, what went too far, and whether the plan came true."),
    "walls": ("walls", "Metal left behind every wall: now, after each pass, and as wanted."),
    "propose": ("propose", "The least cut that gives the area asked and leaves the walls standing."),
    "reach": ("reach", "Which cutters get to the metal, from the face and from the seat."),
    "compare": ("compare", "Siblings, stages or heads side by side: what differs, is it real, what would match them."),
    "flow": ("flow", "Bench arithmetic: speeds, valve, readings, demand, where pressure is lost."),
    "match": ("match", "Steps between port, gasket and manifold at the face, and what milling shifts."),
    "quote": ("quote", "Hours and price, from low to high, and what is not included."),
    "handover": ("handover", "Pages to sign: the head as it came in, its valve job, and as it goes out."),
    "uncertainty": ("uncertainty", "How sure every figure is, and what to measure again."),
    "mesh": ("mesh", "The solids as files: the port, the port wanted, the metal between."),
    "templates": ("templates", "Outlines at 1:1 to cut out: plug gauges, roof gauges, go and no-go pairs."),
    "show": ("show", "The 3D view, in a window or as a picture."),
    "report": ("report", "One file with all of it, for the bench and for the customer."),
}
"""Name of each command: its module and its one line of help."""


class Commands(click.Group):
    """A group that imports a command only when it is called."""

    def list_commands(self, ctx: click.Context) -> list[str]:
        """Return the names of all commands, in the order one works."""
        return list(COMMANDS)

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:
        """Return one command, imported now."""
        if cmd_name not in COMMANDS:
            return None
        module = import_module(f".commands.{COMMANDS[cmd_name][0]}", __package__)
        command = module.command
        assert isinstance(command, click.Command)
        return hushable(command)

    def format_commands(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        """Write the list of commands without importing them."""
        with formatter.section("Commands"):
            formatter.write_dl([(name, text) for name, (_, text) in COMMANDS.items()])


@click.group(cls=Commands, context_settings={"help_option_names": ["-h", "--help"]})
@click.version_option(package_name="portgeom", prog_name="portgeom")
def main() -> None:
    """The shape of an engine port from measurements made at the bench.

    JOB is a job.toml or the folder it lies in.
    """
    letters_that_are_there()
