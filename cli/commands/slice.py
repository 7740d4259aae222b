"""``slice``: sections from a scan mesh of a port or of a mould, as a job."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from ..options import tells_faults

if TYPE_CHECKING:
    from portgeom.job.values import PortKind, Units


class Triple(click.ParamType):
    """Three numbers with commas between."""

    name = "X,Y,Z"

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> tuple[float, ...]:
        """Return the three numbers."""
        if isinstance(value, tuple):
            return value
        try:
            numbers = tuple(float(part) for part in str(value).split(","))
        except ValueError:
            numbers = ()
        if len(numbers) != 3 or not all(abs(n) < 1e9 for n in numbers):
            self.fail(f'"{value}" is not three numbers with commas between, as 94,0,60', param, ctx)
        return numbers


class Distances(click.ParamType):
    """Rising distances with commas between."""

    name = "S,S,..."

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> tuple[float, ...]:
        """Return the distances."""
        if isinstance(value, tuple):
            return value
        try:
            numbers = tuple(float(part) for part in str(value).split(","))
        except ValueError:
            numbers = ()
        rising = all(a < b for a, b in zip(numbers[:-1], numbers[1:], strict=True))
        if not 2 <= len(numbers) <= 500 or not rising or numbers[0] != 0.0 or not numbers[-1] < 1e6:
            self.fail(f'"{value}" is not a list of rising distances from 0, as 0,12,24', param, ctx)
        return numbers


@click.command("slice")
@click.argument("mesh_path", metavar="MESH", type=click.Path(path_type=Path))
@click.option(
    "--mesh-units",
    type=click.Choice(["mm", "cm", "m", "in"]),
    required=True,
    help="The mesh's unit. Never guessed: STL, PLY and OBJ do not say.",
)
@click.option("--out", "folder", type=click.Path(path_type=Path), required=True, help="Folder for the job.")
@click.option("--units", type=click.Choice(["mm", "in"]), default="mm", show_default=True, help="Units of the job.")
@click.option(
    "--entry-points",
    type=Triple(),
    nargs=3,
    help="Three points of the manifold face, wide apart. Points are in the mesh's own axes and unit.",
)
@click.option("--entry-fit", type=Triple(), help="A point on the flat flange, or in the flat open mouth, to be fitted.")
@click.option("--entry", type=Triple(), help="A point of the face inside the port's mouth; --into says the way in.")
@click.option("--into", type=Triple(), help="The way into the port at the face.")
@click.option("--up", type=Triple(), help="The way from deck to roof, square to the deck.")
@click.option("--up-point", type=Triple(), help="A point on the roof's side, where the deck's direction is not known.")
@click.option(
    "--transform",
    type=click.Path(path_type=Path),
    help="File of a 4 x 4 matrix that takes the mesh to the head frame (x right, y in, z up), in the mesh's unit.",
)
@click.option("--head-frame", is_flag=True, help="The mesh already lies in the head frame.")
@click.option("--at", type=Triple(), help="Where the path starts in the head, in the job's units.  [default: 0,0,0]")
@click.option("--path", "path_file", type=click.Path(path_type=Path), help="CSV of the line: x, y, z, and pitch, yaw.")
@click.option("--like", type=click.Path(path_type=Path), metavar="JOB", help="Take path and stations of this job.")
@click.option("--port", default="1", show_default=True, help="Name of the port; with --like, whose path is taken.")
@click.option("--spacing", type=click.FloatRange(min=0.0, min_open=True), help="Even steps, in the job's units.")
@click.option("--stations", type=Distances(), help="Distances of the sections, in the job's units.")
@click.option("--even", is_flag=True, help="No further stations where the section changes.")
@click.option(
    "--gap",
    type=click.FloatRange(0.0, 50.0),
    default=15.0,
    show_default=True,
    help="Widest gap in a section that is closed, percent of its length.",
)
@click.option(
    "--error",
    "within",
    type=click.FloatRange(min=0.0, max=10.0),
    help="How far thinning may move an outline, in the job's units.  [default: 0.005 mm]",
)
@click.option("--shrink", type=click.FloatRange(0.0, 20.0), default=0.0, help="Percent that a mould has shrunk.")
@click.option("--kind", type=click.Choice(["intake", "exhaust"]), default="intake", show_default=True)
@click.option("--material", default="grey iron", show_default=True, help="As in a job: a name, or g/cc.")
@click.option("--title", help="Title of the job; else the mesh's name.")
@click.option("--stage", default="as cast", show_default=True, help="Name of the stage.")
@click.option("--force", is_flag=True, help="Write over files that are there.")
@click.option("--json", "as_json", is_flag=True, help="One JSON document on standard output.")
@tells_faults
def command(
    mesh_path: Path,
    mesh_units: str,
    folder: Path,
    units: Units,
    entry_points: tuple[tuple[float, ...], ...] | None,
    entry_fit: tuple[float, ...] | None,
    entry: tuple[float, ...] | None,
    into: tuple[float, ...] | None,
    up: tuple[float, ...] | None,
    up_point: tuple[float, ...] | None,
    transform: Path | None,
    head_frame: bool,
    at: tuple[float, ...] | None,
    path_file: Path | None,
    like: Path | None,
    port: str,
    spacing: float | None,
    stations: tuple[float, ...] | None,
    even: bool,
    gap: float,
    within: float | None,
    shrink: float,
    kind: PortKind,
    material: str,
    title: str | None,
    stage: str,
    force: bool,
    as_json: bool,
) -> None:
    """Sections of a port from a scan of it or of a mould, written as a job that `check` reads.

    MESH is STL, PLY, OBJ, 3MF or GLB, open or closed. Say where the face is (one of --entry-points, --entry-fit,
    --entry with --into), and which way is up (one of --up, --up-point, --transform, --head-frame). The path is found
    from the mouth to the end of the mesh, unless --path or --like gives it.
    """
    from portgeom.capture.slice_mesh import Asked, slice_mesh
    from portgeom.output.slice_doc import sliced_doc, sliced_text

    ways = [entry_points is not None, entry_fit is not None, entry is not None, path_file is not None, like is not None]
    if sum(ways) > 1:
        raise click.UsageError("give one of --entry-points, --entry-fit, --entry, --path and --like")
    if (entry is None) != (into is None):
        raise click.UsageError("--entry and --into go together")
    frames = [up is not None, up_point is not None, transform is not None, head_frame]
    if sum(frames) != 1:
        raise click.UsageError("give one of --up, --up-point, --transform and --head-frame")
    if at is not None and (head_frame or transform is not None):
        raise click.UsageError("--at goes with --up or --up-point; otherwise the mesh says where the port is")
    if stations is not None and spacing is not None:
        raise click.UsageError("give --stations or --spacing")
    if like is not None and not (head_frame or transform is not None):
        raise click.UsageError("--like wants the mesh in the head frame: --head-frame or --transform")
    asked = Asked(
        mesh=mesh_path,
        mesh_units=mesh_units,
        folder=folder,
        units=units,
        entry_points=entry_points,
        entry_fit=entry_fit,
        entry=entry,
        into=into,
        up=up,
        up_point=up_point,
        transform=transform,
        head_frame=head_frame,
        at=at,
        path_file=path_file,
        like=like,
        port=port,
        spacing=spacing,
        stations=stations,
        even=even,
        gap_percent=gap,
        within=within,
        shrink_percent=shrink,
        kind=kind,
        material=material,
        title=title,
        stage=stage,
        force=force,
    )
    done = slice_mesh(asked)
    click.echo(sliced_doc(done) if as_json else sliced_text(done))
