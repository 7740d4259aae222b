"""``show``: the 3D view."""

from __future__ import annotations

import sys
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

import click

from ..options import job_argument, open_job, stage_option, tells_faults, units_option
from ..pacing import in_turn
from ..saying import talk

if TYPE_CHECKING:
    from portgeom.job.values import Job, Units
    from portgeom.output.scene.port_scene import PortScene
    from portgeom.output.scene.projection import ViewName
    from portgeom.questions.states import State
    from portgeom.questions.walls.behind import Behind
    from portgeom.questions.whole import Answers

LARGEST_PX = 8000


def _size(_: click.Context, __: click.Parameter, text: str) -> tuple[int, int]:
    parts = text.replace("x", ",").split(",")
    if len(parts) != 2 or not all(p.strip().isdecimal() for p in parts):
        raise click.BadParameter("write width and height in pixels, such as 1200,800")
    wide, tall = (int(p) for p in parts)
    if not (200 <= wide <= LARGEST_PX and 150 <= tall <= LARGEST_PX):
        raise click.BadParameter(f"at least 200,150 and at most {LARGEST_PX},{LARGEST_PX}")
    return wide, tall


@click.command("show")
@job_argument
@click.option("--port", "port_name", metavar="NAME", help="This port; else the first.")
@stage_option
@click.option("--after", metavar="PASS", help="The port after this pass, or at its 'target'.")
@click.option("--walls", "as_walls", is_flag=True, help="Coloured by the metal left to what lies behind the walls.")
@units_option
@click.option(
    "--out",
    "path",
    type=click.Path(path_type=Path),
    help="Write a PNG here and open no window; with --turntable a GIF, or a folder of frames.",
)
@click.option(
    "--view",
    type=click.Choice(["roof", "left", "entry", "side", "seat"]),
    default="roof",
    show_default=True,
    help="From where.",
)
@click.option(
    "--size", metavar="W,H", default="1200,800", show_default=True, callback=_size, help="Pixels of a picture."
)
@click.option(
    "--turntable", type=click.IntRange(2, 720), metavar="FRAMES", help="As many pictures once round the port."
)
@click.option("--drawn", is_flag=True, help="Draw the picture without OpenGL, as the report does.")
@click.option(
    "--vtk",
    "vtk_path",
    type=click.Path(path_type=Path),
    help="Write a file for general 3D viewers: .vtp one surface, .vtm all of them.",
)
@click.option("--force", is_flag=True, help="Write over files that are there.")
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
    size: tuple[int, int],
    turntable: int | None,
    drawn: bool,
    vtk_path: Path | None,
    force: bool,
) -> None:
    """The port in three dimensions, as it is or after a pass; in a window, as a picture, or as a file.

    Its roof is coloured by height over the line, or with --walls all of it by the metal left behind the wall. The
    window has sliders for the pass and for a plane that cuts the port open; its keys are listed in it.
    """
    from portgeom.output.scene.opengl import OpenGLMissing
    from portgeom.questions.walls.behind import behind
    from portgeom.questions.whole import answers

    if path is None and (drawn or turntable):
        made = "--drawn makes a picture" if drawn else "--turntable makes pictures"
        raise click.UsageError(f"{made}; say where with --out {'view.png' if drawn else 'turn.gif'}")
    if vtk_path is not None and vtk_path.suffix.lower() not in (".vtp", ".vtm"):
        raise click.UsageError(f"--vtk {vtk_path}: the name ends in .vtp for one surface, or in .vtm for all")
    if path is not None and not turntable and path.suffix.lower() != ".png":
        raise click.UsageError("--out: name a file that ends in .png")
    opened = open_job(job_path, (port_name,) if port_name else (), stage_name, units)
    port, stage = opened.chosen[0]
    asked = _Asked(opened.job, answers(opened.job, opened.ports, port, stage), behind(opened.job, port), opened.units)
    if as_walls and not asked.hazards:
        raise click.UsageError(
            f"the job names nothing behind the walls of port {port.port.name}; add a [[hazard]] for every "
            "hole, pocket and water space near it"
        )
    if vtk_path is not None:
        _write_vtk(asked, after, vtk_path, force=force)
        talk(f"Port {port.port.name}, {stage.stage.name}: {vtk_path}")
        if path is None:
            return
    try:
        if path is None:
            _show(asked, after, view, as_walls=as_walls)
            return
        scene = asked.scene(asked.state(after), as_walls=as_walls)
        _write_pictures(scene, path, view, size, turntable, drawn=drawn, force=force)
    except OpenGLMissing as error:
        click.echo(f"{error} Or say --out view.png --drawn for a drawing that needs no OpenGL.", err=True)
        sys.exit(2)
    talk(f"{scene.title}: {path}")


@dataclass(frozen=True, slots=True)
class _Asked:
    """What is shown: one stage of a port, and what lies behind its walls."""

    job: Job
    answer: Answers
    hazards: tuple[Behind, ...]
    units: Units

    def state(self, after: str | None) -> State:
        """Return the port as measured, or after a pass."""
        from portgeom.questions.states import UnknownState, state_after

        try:
            return state_after(self.job, self.answer, self.hazards, after)
        except UnknownState as error:
            raise click.UsageError(str(error)) from None

    def scene(self, state: State, *, as_walls: bool) -> PortScene:
        """Return what there is to see of a state."""
        from portgeom.output.scene.hazard_shapes import hazard_shapes
        from portgeom.output.scene.port_scene import port_scene, wall_scene
        from portgeom.questions.walls.walls import wall_map, walls

        if not as_walls:
            return port_scene(self.answer, self.units, state)
        found = walls(self.answer.port, state.surface, state.name, self.hazards)
        shapes = hazard_shapes(self.hazards, state.surface, self.job.folder)
        return wall_scene(self.answer, self.units, found, wall_map(state.surface, self.hazards), shapes)


def _show(asked: _Asked, after: str | None, view: ViewName, *, as_walls: bool) -> None:
    from portgeom.output.scene.window import Shows, named, show_window
    from portgeom.output.words.shown import Shown
    from portgeom.questions.shape.places import bench_scale
    from portgeom.questions.states import states

    asked.state(after)  # refused here where there is no such pass
    every = states(asked.job, asked.answer, asked.hazards)
    scale, shown = bench_scale(asked.answer.stage.surface), Shown(asked.units)
    names = tuple(s.name for s in every)
    shows = Shows(
        names=names,
        scene=lambda k: asked.scene(every[k], as_walls=as_walls),
        distance_mm=asked.answer.port.chart.distance_mm,
        place=lambda s: shown.place(s, scale),
    )
    show_window(shows, start=named(names, after), view=view)


def _write_pictures(
    scene: PortScene,
    path: Path,
    view: ViewName,
    size: tuple[int, int],
    turntable: int | None,
    *,
    drawn: bool,
    force: bool,
) -> None:
    from portgeom.output.files.whole_file import refuse_if_there, write_whole
    from portgeom.output.files.whole_folder import refuse_there, write_folder
    from portgeom.output.scene.turntable import gif_of

    if turntable is None:
        refuse_if_there(path, force=force)
        write_whole(path, next(_pictures(scene, view, size, 1, drawn=drawn)), force=force)
    elif path.suffix.lower() == ".gif":
        refuse_if_there(path, force=force)
        write_whole(path, gif_of(list(_pictures(scene, view, size, turntable, drawn=drawn))), force=force)
    else:
        refuse_there(path)
        frames = _pictures(scene, view, size, turntable, drawn=drawn)
        write_folder(path, {f"frame-{k:03d}.png": frame for k, frame in enumerate(frames, 1)})


def _pictures(
    scene: PortScene, view: ViewName, size: tuple[int, int], count: int, *, drawn: bool
) -> Iterator[bytes]:  # fmt: skip
    """Return the picture from one side, or as many as asked for from all sides round."""
    from portgeom.output.scene.drawn_scene import drawn_picture
    from portgeom.output.scene.projection import VIEWS, turned
    from portgeom.output.scene.scene import rendered_views

    round_about = count > 1
    views = [turned(VIEWS[view], 360.0 * k / count) for k in range(count)] if round_about else [VIEWS[view]]
    if drawn:
        return (drawn_picture(scene, view=v, size=size, round_about=round_about) for v in in_turn(views, "pictures"))
    return rendered_views(scene, views, size=size, round_about=round_about, in_turn=lambda v: in_turn(v, "pictures"))


def _write_vtk(asked: _Asked, after: str | None, path: Path, *, force: bool) -> None:
    from portgeom.output.scene.hazard_shapes import hazard_shapes
    from portgeom.output.scene.vtk_files import fielded, write_vtm, write_vtp
    from portgeom.questions.states import states

    present = asked.answer.stage.surface
    if path.suffix.lower() == ".vtp":
        write_vtp(fielded(asked.state(after), present, asked.hazards), path, force=force)
        return
    every = states(asked.job, asked.answer, asked.hazards)
    parts = [fielded(s, present, asked.hazards) for s in in_turn(every, "surfaces", lambda s: s.name)]
    write_vtm(parts, hazard_shapes(asked.hazards, present, asked.job.folder), path, force=force)
