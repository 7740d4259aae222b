"""``templates``: outlines at 1:1 to cut out."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from ..options import job_argument, json_option, open_job, port_option, stage_option, tells_faults, units_option
from ..pacing import in_turn
from ..saying import talk

if TYPE_CHECKING:
    from portgeom.job.values import Units
    from portgeom.model.lofted import LoftedPort, LoftedStage
    from portgeom.model.wanted import Wanted
    from portgeom.output.paper.paper import Paper
    from portgeom.output.words.json_doc import Json
    from portgeom.questions.templates.pieces import Piece, PieceKind


@click.command("templates")
@job_argument
@port_option
@stage_option
@units_option
@json_option
@click.option("--at", "at", metavar="DISTANCES", help="Along the path, such as 20,40; else every station.")
@click.option(
    "--piece",
    "kinds",
    multiple=True,
    type=click.Choice(["plug", "cast", "roof", "side"]),
    help="Only these; else plug, cast, roof and side.",
)
@click.option("--allowance", metavar="LENGTH", help="Also a go and a no-go piece, this much inside and outside.")
@click.option(
    "--format",
    "formats",
    multiple=True,
    type=click.Choice(["pdf", "svg", "dxf"]),
    help="Only these kinds of file; else all three.",
)
@click.option("--paper", type=click.Choice(["a4", "letter"]), default="a4", show_default=True, help="Of the PDF.")
@click.option(
    "--out",
    "folder",
    type=click.Path(path_type=Path),
    default=Path("templates"),
    show_default=True,
    help="Folder for the files.",
)
@click.option("--force", is_flag=True, help="Write over files that are there.")
@tells_faults
def command(
    job_path: Path,
    port_names: tuple[str, ...],
    stage_name: str | None,
    units: Units | None,
    as_json: bool,
    at: str | None,
    kinds: tuple[PieceKind, ...],
    allowance: str | None,
    formats: tuple[str, ...],
    paper: Paper,
    folder: Path,
    force: bool,
) -> None:
    """Outlines at 1:1 to cut out and hold in the port: plug gauges, roof gauges, go and no-go pairs, a roof strip.

    As a PDF to print, and as SVG and DXF for a laser or a mill. Each file has a bar to check its size by.
    """
    from portgeom.output.files.mesh_files import file_stems
    from portgeom.output.files.whole_file import refuse_if_there, write_whole
    from portgeom.output.paper.template_drawing import drawn_piece
    from portgeom.output.paper.template_files import template_file
    from portgeom.output.words.json_doc import Numbers, document
    from portgeom.output.words.shown import Shown
    from portgeom.output.words.template_words import pieces_json, pieces_text, template_words
    from portgeom.questions.whole import wanted_of

    opened = open_job(job_path, port_names, stage_name, units)
    shown, chosen = Shown(opened.units), formats or ("pdf", "svg", "dxf")
    distances = None if at is None else [_length(part, "--at", opened.units) for part in at.replace(",", " ").split()]
    by_mm = None if allowance is None else _length(allowance, "--allowance", opened.units)
    made = [
        (p, s, _pieces(p, s, wanted_of(opened.job, opened.ports, p), distances, kinds, by_mm, opened.units))
        for p, s in opened.chosen
    ]
    stems = file_stems([(p.port.name, s.stage.name, "templates") for p, s, _ in made])
    places = [[folder / f"{stem}.{kind}" for kind in chosen] for stem in stems]
    for place in (place for files in places for place in files):
        refuse_if_there(place, force=force)
    entries: list[Json] = []
    lines = []
    turns = list(zip(made, places, strict=True))
    for (port, stage, pieces), files in in_turn(turns, "templates", lambda turn: f"port {turn[0][0].port.name}"):
        drawn = [drawn_piece(piece, template_words(piece, port, stage, shown)) for piece in pieces]
        title = f"Templates: port {port.port.name}, {stage.stage.name}"
        for place in files:
            data = template_file(place.suffix[1:], title, drawn, units=opened.units, paper=paper)
            write_whole(place, data, force=force)
        told = pieces_json(pieces, Numbers(opened.units))
        entries.append({"port": port.port.name, "stage": stage.stage.name, **told, "files": [str(f) for f in files]})
        lines += [pieces_text(port, stage, pieces), *(f"  {place}" for place in files)]
    if as_json:
        click.echo(document("templates", opened.units, entries))
        return
    lines.append("Print at 100 percent and measure the bar before you cut.")
    talk("\n".join(lines))


def _pieces(
    port: LoftedPort,
    stage: LoftedStage,
    wanted: Wanted,
    distances_mm: list[float] | None,
    kinds: tuple[PieceKind, ...],
    allowance_mm: float | None,
    units: Units,
) -> tuple[Piece, ...]:
    from portgeom.job.units import length_to_mm
    from portgeom.output.words.trace_doc import in_their_units
    from portgeom.questions.templates.pieces import NoSuchPiece, section_pieces
    from portgeom.questions.templates.roof_piece import roof_piece
    from portgeom.questions.templates.sections import NotOnThePort, sections_at, stations

    some: set[PieceKind] = set(kinds) or {"plug", "cast", "roof", "side"}
    if allowance_mm is not None:
        some |= {"go", "no-go"}
    try:
        if distances_mm is None:
            sections = stations(port, stage, wanted)
        else:
            sections = sections_at(port, stage, wanted, distances_mm)
        pieces = section_pieces(sections, some, allowance_mm=allowance_mm or 0.0)
    except (NoSuchPiece, NotOnThePort) as error:
        raise click.UsageError(in_their_units(str(error), units)) from None
    if "side" not in some:
        return pieces
    try:
        strip = roof_piece(port, stage, wanted, step_mm=10.0 if units == "mm" else length_to_mm(0.5, "in"))
    except NoSuchPiece as error:
        if "side" in kinds:
            raise click.UsageError(f"port {port.port.name}: {error}") from None
        talk(f"Port {port.port.name}: no roof strip, {error}.", err=True)
        return pieces
    return (strip, *pieces)


def _length(text: str, option: str, units: Units) -> float:
    """Return a length that a person gave in the units they work in, in mm."""
    from portgeom.job.units import length_to_mm

    try:
        value = float(text)
    except ValueError:
        value = float("nan")
    lowest = 0.0 if option == "--at" else 1e-6
    if not lowest <= value <= 1e5:
        word = "inches" if units == "in" else units
        raise click.UsageError(f"{option}: {text!r} is no length; write a number of {word}, such as 20 or 0.3")
    return length_to_mm(value, units)
