"""``slice``: sections from a scan mesh of a port or of a mould, as a job."""

from __future__ import annotations

from itertools import pairwise
from pathlib import Path
from typing import Any

import click

from ..numbers import Finite
from ..options import tells_faults
from ..saying import talk


class Triple(click.ParamType):  # type: ignore[type-arg]
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


class Distances(click.ParamType):  # type: ignore[type-arg]
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
        rising = all(a < b for a, b in pairwise(numbers))
        if not 2 <= len(numbers) <= 500 or not rising or numbers[0] < 0.0 or not numbers[-1] < 1e6:
            self.fail(f'"{value}" is not a list of rising distances, as 0,12,24', param, ctx)
        return numbers


@click.command("slice")
@click.argument("mesh", metavar="MESH", type=click.Path(path_type=Path))
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
@click.option("--towards", type=Triple(), help="Where the passage divides: a point in the branch to follow.")
@click.option("--path", "path_file", type=click.Path(path_type=Path), help="CSV of the line: x, y, z, and pitch, yaw.")
@click.option("--like", type=click.Path(path_type=Path), metavar="JOB", help="Take path and stations of this job.")
@click.option("--port", default="1", show_default=True, help="Name of the port; with --like, whose path is taken.")
@click.option("--spacing", type=Finite(min=0.0, min_open=True), help="Even steps, in the job's units.")
@click.option("--stations", type=Distances(), help="Distances of the sections, in the job's units.")
@click.option("--even", is_flag=True, help="No further stations where the section changes.")
@click.option(
    "--gap",
    "gap_percent",
    type=Finite(0.0, 50.0),
    default=15.0,
    show_default=True,
    help="Widest gap in a section that is closed, percent of its length.",
)
@click.option(
    "--error",
    "within",
    type=Finite(min=0.0, max=10.0),
    help="How far thinning may move an outline, in the job's units.  [default: 0.005 mm]",
)
@click.option(
    "--shrink",
    "shrink_percent",
    type=Finite(0.0, 20.0),
    default=0.0,
    help="Percent that a mould has shrunk.",
)
@click.option("--kind", type=click.Choice(["intake", "exhaust"]), default="intake", show_default=True)
@click.option("--material", default="grey iron", show_default=True, help="As in a job: a name, or g/cc.")
@click.option("--title", help="Title of the job; else the mesh's name.")
@click.option("--stage", default="as cast", show_default=True, help="Name of the stage.")
@click.option("--force", is_flag=True, help="Write over files that are there.")
@click.option("--json", "as_json", is_flag=True, help="One JSON document on standard output.")
@tells_faults
def command(as_json: bool, **given: Any) -> None:
    """Sections of a port from a scan of it or of a mould, written as a job that `check` reads.

    MESH is STL, PLY, OBJ, 3MF or GLB, open or closed. Say where the face is (one of --entry-points, --entry-fit,
    --entry with --into), and which way is up (one of --up, --up-point, --transform, --head-frame). The path is found
    from the mouth to the end of the mesh, or to where the passage divides, unless --path or --like gives it.
    """
    from portgeom.capture.slicing.asked import Asked
    from portgeom.capture.slicing.mesh import slice_mesh
    from portgeom.output.words.slice_doc import sliced_doc, sliced_text

    _refuse_mixed(given)
    done = slice_mesh(Asked(**given))
    if as_json:
        click.echo(sliced_doc(done))
    else:
        talk(sliced_text(done))


def _refuse_mixed(given: dict[str, Any]) -> None:
    """Refuse options that say one thing twice, or leave half of it unsaid."""

    def said(*names: str) -> list[str]:
        return [name for name in names if given[name] is not None and given[name] is not False]

    if len(said("entry_points", "entry_fit", "entry", "path_file", "like")) > 1:
        raise click.UsageError("give one of --entry-points, --entry-fit, --entry, --path and --like")
    if len(said("entry", "into")) == 1:
        raise click.UsageError("--entry and --into go together")
    if len(said("up", "up_point", "transform", "head_frame")) != 1:
        raise click.UsageError("give one of --up, --up-point, --transform and --head-frame")
    if said("at") and said("head_frame", "transform"):
        raise click.UsageError("--at goes with --up or --up-point; otherwise the mesh says where the port is")
    if len(said("stations", "spacing")) > 1:
        raise click.UsageError("give --stations or --spacing")
    if said("towards") and said("path_file", "like"):
        raise click.UsageError("--towards goes with a path that is found, not with --path or --like")
    if said("like") and not said("head_frame", "transform"):
        raise click.UsageError("--like wants the mesh in the head frame: --head-frame or --transform")
