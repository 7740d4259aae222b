"""``trace``: outlines from scans and photographs of slices, and from drawings."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from ..numbers import Finite
from ..options import tells_faults
from ..saying import talk
from ..tracing import DRAWN_UNITS, FACES, check, naming, numbers, origin_way, refuse_mixed, roof_way, scaling, wish

if TYPE_CHECKING:
    from portgeom.job.values import Units


@click.command("trace")
@click.argument("files", metavar="FILE...", nargs=-1, required=True, type=click.Path(path_type=Path))
@click.option("--out", "folder", required=True, type=click.Path(path_type=Path), help="Folder for the outlines.")
@click.option("--units", type=click.Choice(["mm", "in"]), default="mm", show_default=True, help="Of files and options.")
@click.option("--dpi", type=Finite(), help="Pixels to the inch, in place of what the file says.")
@click.option("--marks", type=numbers(4), metavar="X1,Y1,X2,Y2", help="Two marks in pixels, with --distance.")
@click.option("--card", is_flag=True, help="Find the printed scale card in the picture; corrects perspective.")
@click.option("--distance", type=Finite(), help="Between the two marks; with --card, between A and B as measured.")
@click.option("--above", type=Finite(), help="With --card or --marks: height of the traced face over the scale.")
@click.option("--camera", type=Finite(), help="With --above: height of the lens over the scale.")
@click.option(
    "--layer", default="", help="Of a drawing, only this layer; in an SVG the label or id of a group or shape."
)
@click.option("--drawing-units", type=click.Choice(DRAWN_UNITS), help="Unit of a drawing that does not say its own.")
@click.option("--slices", metavar="N|all", default="1", show_default=True, help="How many slices each file shows.")
@click.option(
    "--number",
    "numbering",
    type=click.Choice(["order", "tally"]),
    default="order",
    show_default=True,
    help="Left to right and top to bottom, or by marks beside each: a dot counts one, a bar five.",
)
@click.option("--first", type=click.IntRange(0, 999), default=1, show_default=True, help="Number of the first slice.")
@click.option("--stem", default="station", show_default=True, help="What the files' names begin with.")
@click.option(
    "--tone", type=click.Choice(["dark", "light"]), help="Slices darker or lighter than the sheet; else seen."
)
@click.option("--edge", type=click.Choice(["outer", "inner"]), help="Which edge of a ring is the passage.")
@click.option(
    "--coding",
    type=click.Choice(["srgb", "linear"]),
    default="srgb",
    show_default=True,
    help="How codes stand for light; scanners write sRGB.",
)
@click.option(
    "--roof",
    type=roof_way,
    default="up",
    show_default=True,
    metavar="up|right|down|left|mark|DEG",
    help="Where the roof is in the picture; mark: on the side of a mark laid beside each slice.",
)
@click.option("--mirror", is_flag=True, help="The picture looks out of the port: swap left and right.")
@click.option(
    "--origin",
    type=origin_way,
    default="centroid",
    show_default=True,
    metavar="centroid|lowest|mark|drawing|X,Y",
    help="Of u and v; mark: a pin hole or dot in each slice; drawing: its own 0,0; X,Y in pixels, or as drawn.",
)
@click.option("--mould", "is_mould", is_flag=True, help="Slices of a mould: asks for the next three if not given.")
@click.option("--scanned", type=click.Choice(FACES), help="Face of each slice on the glass; far swaps left and right.")
@click.option("--shrink", type=Finite(), metavar="PERCENT", help="By how much the mould shrank.")
@click.option("--kerf", type=Finite(), help="Width of the saw's cut.")
@click.option(
    "--check",
    "checks",
    type=check,
    multiple=True,
    metavar="[N:]width=W,height=H",
    help="Calipers across slice N as it lay, to compare.",
)
@click.option(
    "--distances",
    type=numbers(),
    metavar="S1,S2,...",
    help="Marks of the slices along the path; also writes sections.csv.",
)
@click.option("--pitches", type=numbers(), metavar="P1,P2,...", help="Degrees each slice faces down to the deck.")
@click.option("--yaws", type=numbers(), metavar="Y1,Y2,...", help="Degrees each slice faces to the right, looking in.")
@click.option("--json", "as_json", is_flag=True, help="One JSON document on standard output.")
@click.option("--force", is_flag=True, help="Write over files that are there.")
@tells_faults
def command(files: tuple[Path, ...], folder: Path, units: Units, as_json: bool, force: bool, **said: Any) -> None:
    """Outlines from scans, photographs and drawings of slices: a CSV and a note for each, and a picture of it.

    FILE is a PNG, TIFF or JPEG, or a DXF or SVG drawing of closed lines. Without --dpi, --marks or --card a picture's
    scale is the file's own, and so is a drawing's without --drawing-units.
    """
    from portgeom.capture.tracing.batch import trace_all
    from portgeom.output.files.trace_files import write_traces
    from portgeom.output.words.shown import Shown
    from portgeom.output.words.trace_doc import batch_json, batch_text, in_their_units, next_words

    pictures = refuse_mixed(files, said)
    batch = trace_all(files, scaling(said, units, pictures), wish(said, units, pictures=pictures), naming(said, units))
    write_traces(batch, folder, units=units, force=force)
    for one in batch.named:
        for warning in one.warnings:
            talk(f"{one.stem}: {in_their_units(warning, units)}", err=True)
    if as_json:
        click.echo(batch_json(batch, units))
        return
    talk(batch_text(batch, Shown(units)))
    talk(next_words(batch, folder))
