"""``show``: the 3D view."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import TYPE_CHECKING

import click

from ..options import job_argument, open_job, stage_option, tells_faults, units_option

if TYPE_CHECKING:
    from portgeom.job.values import Units
    from portgeom.output.projection import ViewName


@click.command("show")
@job_argument
@click.option("--port", "port_name", metavar="NAME", help="This port; else the first.")
@stage_option
@units_option
@click.option("--out", "path", type=click.Path(path_type=Path), help="Write a PNG here and open no window.")
@click.option(
    "--view",
    type=click.Choice(["roof", "entry", "side", "seat"]),
    default="roof",
    show_default=True,
    help="From where.",
)
@click.option("--width", type=click.IntRange(200, 8000), default=1200, show_default=True, help="Pixels.")
@click.option("--height", type=click.IntRange(150, 8000), default=800, show_default=True, help="Pixels.")
@click.option("--drawn", is_flag=True, help="Draw the picture without OpenGL, as the report does.")
@click.option("--force", is_flag=True, help="Write over a picture that is there.")
@tells_faults
def command(
    job_path: Path,
    port_name: str | None,
    stage_name: str | None,
    units: Units | None,
    path: Path | None,
    view: ViewName,
    width: int,
    height: int,
    drawn: bool,
    force: bool,
) -> None:
    """The port in three dimensions, its roof coloured by height over the line; in a window, or as a picture."""
    from portgeom.output.drawn_scene import drawn_picture
    from portgeom.output.opengl import OpenGLMissing
    from portgeom.output.port_scene import port_scene
    from portgeom.output.scene import picture, show_window
    from portgeom.output.whole_file import write_whole
    from portgeom.questions.whole import answers

    if drawn and path is None:
        raise click.UsageError("--drawn makes a picture; say where with --out view.png")
    opened = open_job(job_path, (port_name,) if port_name else (), stage_name, units)
    port, stage = opened.chosen[0]
    scene = port_scene(answers(opened.job, opened.ports, port, stage), opened.units)
    try:
        if path is None:
            show_window(scene, view=view)
        elif drawn:
            write_whole(path, drawn_picture(scene, view=view, size=(width, height)), force=force)
        else:
            picture(scene, path, view=view, size=(width, height), force=force)
    except OpenGLMissing as error:
        click.echo(f"{error} Or say --out view.png --drawn for a drawing that needs no OpenGL.", err=True)
        sys.exit(2)
    if path is not None:
        click.echo(f"Port {port.port.name}, {stage.stage.name}: {path}")
