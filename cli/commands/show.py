"""``show``: the 3D view."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import TYPE_CHECKING

import click

from ..options import job_argument, open_job, stage_option, tells_faults, units_option

if TYPE_CHECKING:
    from portgeom.job.values import Job, Units
    from portgeom.output.scene.port_scene import PortScene
    from portgeom.output.scene.projection import ViewName
    from portgeom.questions.whole import Answers


@click.command("show")
@job_argument
@click.option("--port", "port_name", metavar="NAME", help="This port; else the first.")
@stage_option
@click.option("--after", metavar="PASS", help="The port after this pass, or at its 'target'.")
@click.option("--walls", "as_walls", is_flag=True, help="Coloured by the metal left to what lies behind the walls.")
@units_option
@click.option("--out", "path", type=click.Path(path_type=Path), help="Write a PNG here and open no window.")
@click.option(
    "--view",
    type=click.Choice(["roof", "left", "entry", "side", "seat"]),
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
    after: str | None,
    as_walls: bool,
    units: Units | None,
    path: Path | None,
    view: ViewName,
    width: int,
    height: int,
    drawn: bool,
    force: bool,
) -> None:
    """The port in three dimensions, as it is or after a pass; in a window, or as a picture.

    Its roof is coloured by height over the line, or with --walls all of it by the metal left behind the wall.
    """
    from portgeom.output.files.whole_file import write_whole
    from portgeom.output.scene.drawn_scene import drawn_picture
    from portgeom.output.scene.opengl import OpenGLMissing
    from portgeom.output.scene.scene import picture, show_window
    from portgeom.questions.whole import answers

    if drawn and path is None:
        raise click.UsageError("--drawn makes a picture; say where with --out view.png")
    opened = open_job(job_path, (port_name,) if port_name else (), stage_name, units)
    port, stage = opened.chosen[0]
    scene = _scene(opened.job, answers(opened.job, opened.ports, port, stage), opened.units, after, as_walls=as_walls)
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
        click.echo(f"{scene.title}: {path}")


def _scene(job: Job, answer: Answers, units: Units, after: str | None, *, as_walls: bool) -> PortScene:
    from portgeom.output.scene.hazard_shapes import hazard_shapes
    from portgeom.output.scene.port_scene import port_scene, wall_scene
    from portgeom.questions.states import UnknownState, state_after
    from portgeom.questions.walls.behind import behind
    from portgeom.questions.walls.walls import wall_map, walls

    hazards = behind(job, answer.port)
    if as_walls and not hazards:
        raise click.UsageError(
            f"the job names nothing behind the walls of port {answer.port.port.name}; add a [[hazard]] for every "
            "hole, pocket and water space near it"
        )
    try:
        state = state_after(job, answer, hazards, after)
    except UnknownState as error:
        raise click.UsageError(str(error)) from None
    if not as_walls:
        return port_scene(answer, units, state)
    found = walls(answer.port, state.surface, state.name, hazards)
    shapes = hazard_shapes(hazards, state.surface, job.folder)
    return wall_scene(answer, units, found, wall_map(state.surface, hazards), shapes)
