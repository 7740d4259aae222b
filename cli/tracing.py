"""What do the options of ``trace`` mean, once read?"""

from __future__ import annotations

import sys
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

if TYPE_CHECKING:
    from portgeom.capture.tracing.batch import Naming, Scaling
    from portgeom.capture.tracing.mould import Mould
    from portgeom.capture.tracing.traced import Wish
    from portgeom.job.values import Units

FACES = ("entry", "far")
ROOF_WAYS = ("up", "right", "down", "left", "mark")
ORIGIN_WAYS = ("centroid", "lowest", "mark", "drawing")
DRAWN_UNITS = ("mm", "cm", "m", "in", "ft")
MOST = 1e6
LENGTHS = ("distance", "above", "camera")
MOULD_QUESTIONS = {
    "scanned": "Which face of each slice was scanned, towards the port's entry or its far one?",
    "shrink": "By how many percent does the mould shrink? Its data sheet says",
    "kerf": "How wide is the saw's cut, in {units}?",
}


def numbers(count: int | None = None) -> Callable[[Any], tuple[float, ...]]:
    """Return what reads numbers between commas: ``count`` of them, or any number."""

    def read(value: Any) -> tuple[float, ...]:
        if isinstance(value, tuple):
            return value
        try:
            found = tuple(float(part) for part in str(value).split(","))
        except ValueError as error:
            raise click.BadParameter(f'"{value}" is not a list of numbers between commas') from error
        if any(not abs(x) < MOST for x in found):
            raise click.BadParameter(f'"{value}" holds a number out of range')
        if count is not None and len(found) != count:
            raise click.BadParameter(f'"{value}" holds {len(found)} numbers, not {count}')
        return found

    return read


def word_or_numbers(words: tuple[str, ...], count: int, what: str) -> Callable[[Any], str | tuple[float, ...]]:
    """Return what reads one of a few words, or numbers between commas in its place."""

    def read(value: Any) -> str | tuple[float, ...]:
        if isinstance(value, tuple) or value in words:
            return value
        if not any(c.isdigit() for c in str(value)):
            raise click.BadParameter(f'"{value}" is not one of {", ".join(words)}, nor {what}')
        return numbers(count)(value)

    return read


roof_way = word_or_numbers(ROOF_WAYS, 1, "degrees from the picture's top, clockwise")
origin_way = word_or_numbers(ORIGIN_WAYS, 2, "a place such as 410,655")


@dataclass(frozen=True, slots=True)
class Check:
    """Caliper readings of one slice, in the units of the command; ``number`` None for the only one."""

    number: int | None
    width: float | None
    height: float | None


def check(value: Any) -> Check:
    """Return caliper readings written ``width=41.2,height=49.9``, with ``3:`` before them for slice 3."""
    if isinstance(value, Check):
        return value
    before, colon, rest = str(value).rpartition(":")
    read: dict[str, float] = {}
    try:
        number = int(before) if colon else None
        for part in rest.split(","):
            name, _, figure = part.partition("=")
            read[name.strip()] = float(figure)
    except ValueError as error:
        raise click.BadParameter(f'"{value}" is not like width=41.2,height=49.9 or 3:width=41.2') from error
    odd = [name for name in read if name not in ("width", "height")]
    if odd or not all(0.0 < x < MOST for x in read.values()):
        raise click.BadParameter(f'"{value}": give width, height or both, each above zero')
    return Check(number, read.get("width"), read.get("height"))


def refuse_mixed(files: tuple[Path, ...], said: dict[str, Any]) -> int:
    """Refuse options that are of pictures where there is none, or of drawings; return how many pictures there are."""
    from portgeom.capture.drawing import is_drawing

    drawings = sum(is_drawing(path) for path in files)
    pictures = len(files) - drawings
    of_pictures = [name for name in ("dpi", "marks", "card", "tone") if said[name]]
    if not pictures and of_pictures:
        raise click.UsageError(f"--{of_pictures[0]} is of pictures; a drawing's scale is its unit (--drawing-units)")
    of_drawings = [name for name in ("layer", "drawing_units") if said[name]]
    if not drawings and of_drawings:
        raise click.UsageError(f"--{of_drawings[0].replace('_', '-')} is of DXF and SVG drawings")
    if drawings and pictures and (isinstance(said["origin"], tuple) or said["origin"] == "drawing"):
        raise click.UsageError("an --origin of pictures is none of drawings; trace them apart, or take another")
    return pictures


def scaling(said: dict[str, Any], units: Units, pictures: int) -> Scaling:
    """Return how the scale is known, from the options."""
    from portgeom.capture.tracing.batch import Scaling
    from portgeom.job.units import length_to_mm

    ways = [name for name in ("dpi", "marks", "card") if said[name]]
    if len(ways) > 1:
        raise click.UsageError(f"--{ways[0]} and --{ways[1]} both give the scale; say one")
    if said["marks"] and said["distance"] is None:
        raise click.UsageError("--marks needs --distance, how far apart they are")
    if said["distance"] is not None and not (said["marks"] or said["card"]):
        raise click.UsageError("--distance goes with --marks or --card")
    if said["marks"] and pictures > 1:
        raise click.UsageError("--marks are of one picture; trace the others apart")
    if (said["above"] is None) != (said["camera"] is None):
        raise click.UsageError("--above and --camera go together")
    if said["above"] is not None and not (said["marks"] or said["card"]):
        raise click.UsageError("--above goes with --marks or --card")
    mm = {name: None if said[name] is None else length_to_mm(said[name], units) for name in LENGTHS}
    if mm["distance"] is not None and not 1.0 <= mm["distance"] <= 10_000.0:
        raise click.UsageError("--distance is out of range")
    return Scaling(
        dpi=said["dpi"],
        marks_px=said["marks"],
        card=said["card"],
        distance_mm=mm["distance"],
        above_mm=mm["above"],
        lens_mm=mm["camera"],
        layer=said["layer"],
        drawing_units=said["drawing_units"],
    )


def wish(said: dict[str, Any], units: Units, *, pictures: int = 1) -> Wish:
    """Return what is to be traced, from the options; asks for what is missing of a mould."""
    import numpy as np

    from portgeom.capture.tracing.traced import Wish
    from portgeom.job.units import length_to_mm

    count = said["slices"]
    if count != "all" and not (count.isdigit() and 1 <= int(count) <= 500):
        raise click.UsageError(f'--slices "{count}": give how many each file shows, or all')
    mould = _mould(said, units)
    if mould is not None and said["mirror"]:
        raise click.UsageError("--scanned says already whether left and right are swapped; leave --mirror out")
    roof, origin = said["roof"], said["origin"]
    if isinstance(origin, tuple) and not pictures:
        origin = tuple(length_to_mm(x, units) for x in origin)
    if isinstance(origin, tuple) and count != "1":
        raise click.UsageError("--origin X,Y is of one slice; use centroid, lowest or mark for several")
    return Wish(
        slices=0 if count == "all" else int(count),
        tone=said["tone"],
        coding=said["coding"],
        edge=said["edge"],
        roof=roof[0] if isinstance(roof, tuple) else roof,
        origin=np.array(origin) if isinstance(origin, tuple) else origin,
        mirrored=said["mirror"] if mould is None else mould.mirrored,
        numbering=said["numbering"],
        mould=mould,
    )


def naming(said: dict[str, Any], units: Units) -> Naming:
    """Return what the slices are called and held against, from the options."""
    from portgeom.capture.tracing.batch import Naming
    from portgeom.capture.tracing.mould import Calipers
    from portgeom.job.units import length_to_mm

    def mm(length: float | None) -> float | None:
        return None if length is None else length_to_mm(length, units)

    checks = tuple((c.number, Calipers(mm(c.width), mm(c.height))) for c in said["checks"])
    distances = tuple(length_to_mm(s, units) for s in said["distances"] or ())
    if not distances and (said["pitches"] or said["yaws"]):
        raise click.UsageError("--pitches and --yaws go with --distances, into the section table")
    return Naming(said["stem"], said["first"], checks, distances, said["pitches"] or (), said["yaws"] or ())


def somebody_there() -> bool:
    """Return whether a question at the terminal would be seen."""
    return sys.stdin.isatty()


def _mould(said: dict[str, Any], units: Units) -> Mould | None:
    """Return how the mould was cut, None if the slices are of none."""
    from portgeom.capture.images.unsure import Unsure
    from portgeom.capture.tracing.mould import mould
    from portgeom.job.units import length_to_mm

    given = {name: said[name] for name in MOULD_QUESTIONS}
    missing = [name for name, value in given.items() if value is None]
    if not said["is_mould"] and len(missing) == len(given):
        return None
    if missing and not somebody_there():
        raise click.UsageError(f"slices of a mould also need {', '.join(f'--{name}' for name in missing)}")
    for name in missing:
        kind = click.Choice(FACES) if name == "scanned" else click.FLOAT
        given[name] = click.prompt(MOULD_QUESTIONS[name].format(units=units), type=kind, err=True)
    try:
        return mould(given["scanned"], given["shrink"], length_to_mm(given["kerf"], units))
    except Unsure as unsure:
        raise click.UsageError(f"--{unsure.about}: {unsure}") from unsure
