"""Which slice of which picture or drawing becomes which file, and does each agree with what was measured on it?"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from pathlib import Path
from typing import TypeAlias

import numpy as np

from portgeom.capture.drawing import is_drawing, sheet_in
from portgeom.capture.images.file import Picture, read_picture
from portgeom.capture.images.scale import Scale, by_file, by_given_dpi, by_marks, raised
from portgeom.capture.images.scale_card import by_card
from portgeom.capture.images.unsure import Unsure
from portgeom.capture.tracing.drawn import TracedDrawing, trace_drawing
from portgeom.capture.tracing.mould import Calipers, caliper_words
from portgeom.capture.tracing.trace import trace_picture
from portgeom.capture.tracing.traced import Slice, Traced, Wish
from portgeom.job.drawing import DrawingUnits
from portgeom.job.faults import Gathered, JobError, Spot, printable
from portgeom.job.files import unsafe

MOST_SLICES = 500
MOST_DEG = 180.0

TracedSheet: TypeAlias = Traced | TracedDrawing
"""What one file gave: a picture or a drawing with its slices."""


@dataclass(frozen=True, slots=True)
class Scaling:
    """How the scale is known; with nothing given, by the files themselves.

    Attributes
    ----------
    layer, drawing_units : str, DrawingUnits or None
        What of a drawing is read, and its unit where it does not say it.
    marks_px : (x1, y1, x2, y2) or None
        Two marks, ``distance_mm`` apart.
    card : bool
        The printed scale card is in the picture; ``distance_mm`` is then between its A and B as measured.
    above_mm, lens_mm : float or None
        Heights over the scale's plane of the traced face and of the lens.
    """

    dpi: float | None = None
    marks_px: tuple[float, float, float, float] | None = None
    card: bool = False
    distance_mm: float | None = None
    above_mm: float | None = None
    lens_mm: float | None = None
    layer: str = ""
    drawing_units: DrawingUnits | None = None

    def of(self, picture: Picture) -> Scale:
        """Return the scale of one picture, or raise Unsure."""
        if self.card:
            scale = by_card(picture, distance_mm=self.distance_mm)
        elif self.marks_px is not None and self.distance_mm is not None:
            ends = np.array(self.marks_px).reshape(2, 2)
            scale = by_marks(picture, ends[0], ends[1], self.distance_mm)
        elif self.dpi is not None:
            scale = by_given_dpi(picture, self.dpi)
        else:
            scale = by_file(picture)
        if self.above_mm is None or self.lens_mm is None:
            return scale
        return raised(scale, above_mm=self.above_mm, lens_mm=self.lens_mm)


@dataclass(frozen=True, slots=True)
class Naming:
    """What the slices are called.

    ``checks`` are caliper readings by number, None standing for the only slice; ``distances_mm`` are the marks of
    all slices along the path, in order of their numbers, or empty, and so are the angles of their planes.
    """

    stem: str = "station"
    first: int = 1
    checks: tuple[tuple[int | None, Calipers], ...] = ()
    distances_mm: tuple[float, ...] = ()
    pitches_deg: tuple[float, ...] = ()
    yaws_deg: tuple[float, ...] = ()


@dataclass(frozen=True, slots=True)
class Named:
    """One slice under its number: the sheet it is on, its file's stem, what calipers said, where its mark lay."""

    number: int
    stem: str
    sheet: int
    slice: Slice
    calipers: Calipers | None
    warnings: tuple[str, ...]
    distance_mm: float | None
    pitch_deg: float | None
    yaw_deg: float | None


@dataclass(frozen=True, slots=True)
class Batch:
    """All pictures and drawings of one run, with a file stem for the overlay of each, and their slices by number."""

    sheets: tuple[TracedSheet, ...]
    overlays: tuple[str, ...]
    named: tuple[Named, ...]
    wish: Wish


def trace_all(paths: Sequence[Path], scaling: Scaling, wish: Wish, naming: Naming) -> Batch:
    """Return the slices of all pictures and drawings.

    Raises
    ------
    JobError
        With a reason for every file that cannot be traced, and for every option that fits no slice.
    """
    gathered = Gathered()
    if unsafe(naming.stem) or "/" in naming.stem:
        Spot(gathered, "trace", None, "--stem").fault(f"{naming.stem!r} is no plain name", "give letters and digits")
    sheets: list[TracedSheet] = []
    for path in paths:
        try:
            sheets.append(_traced(path, scaling, wish))
        except Unsure as unsure:
            Spot(gathered, printable(path.name or str(path)), None, unsure.about).fault(unsure.found, unsure.mend)
        except JobError as error:
            for f in error.faults:
                gathered.fault(f.file, f.row, f.field, f.found, f.mend)
    gathered.refuse()
    numbered = _numbered(sheets, wish, naming.first)
    where = Spot(gathered, "trace", None, "--number")
    _check_numbers(numbered, where)
    calipers = _calipers(naming, [number for number, _, _ in numbered], where.cell(None, "--check"))
    distances = _distances(naming.distances_mm, len(numbered), where.cell(None, "--distances"))
    pitches = _angles(naming.pitches_deg, len(numbered), where.cell(None, "--pitches"))
    yaws = _angles(naming.yaws_deg, len(numbered), where.cell(None, "--yaws"))
    gathered.refuse()
    named = []
    for (number, sheet, one), distance, pitch, yaw in zip(numbered, distances, pitches, yaws, strict=True):
        read = calipers.get(number)
        calipered = () if read is None else caliper_words(read, one.width_mm, one.height_mm)
        warnings = (*one.warnings, *calipered)
        stem = f"{naming.stem}-{number:02d}"
        named.append(Named(number, stem, sheet, one, read, warnings, distance, pitch, yaw))
    return Batch(tuple(sheets), _overlay_stems([t.name for t in sheets]), tuple(named), wish)


def _traced(path: Path, scaling: Scaling, wish: Wish) -> TracedSheet:
    if is_drawing(path):
        return trace_drawing(sheet_in(path, layer=scaling.layer, units=scaling.drawing_units), wish)
    picture = read_picture(path)
    return trace_picture(picture, scaling.of(picture), wish)


def _numbered(sheets: list[TracedSheet], wish: Wish, first: int) -> list[tuple[int, int, Slice]]:
    slices = [(k, one) for k, traced in enumerate(sheets) for one in traced.slices]
    if wish.numbering == "tally":
        return sorted(((one.number, k, one) for k, one in slices), key=lambda entry: entry[0])
    return [(first + i, k, one) for i, (k, one) in enumerate(slices)]


def _check_numbers(numbered: list[tuple[int, int, Slice]], spot: Spot) -> None:
    numbers = [number for number, _, _ in numbered]
    again = sorted({n for n in numbers if numbers.count(n) > 1})
    if again:
        spot.fault(f"two slices on different sheets have the tally {again[0]}", "give each slice its own number")
    if len(numbers) > MOST_SLICES:
        spot.fault(f"{len(numbers)} slices", f"trace at most {MOST_SLICES} at once")


def _calipers(naming: Naming, numbers: list[int], spot: Spot) -> dict[int, Calipers]:
    found: dict[int, Calipers] = {}
    for number, read in naming.checks:
        if number is None and len(numbers) > 1:
            spot.fault(f"there are {len(numbers)} slices", f"say which one, such as {numbers[0]}:width=41.2")
            continue
        own = numbers[0] if number is None else number
        if own not in numbers:
            spot.fault(f"there is no slice {own}", f"the slices are {numbers[0]} to {numbers[-1]}")
        elif own in found:
            spot.fault(f"slice {own} is given twice", "give width and height together")
        else:
            found[own] = read
    return found


def _distances(distances_mm: tuple[float, ...], count: int, spot: Spot) -> list[float | None]:
    if not distances_mm:
        return [None] * count
    if len(distances_mm) != count:
        spot.fault(f"{len(distances_mm)} distances for {count} slices", "give one for each slice, in their order")
        return [None] * count
    if any(b <= a for a, b in pairwise(distances_mm)) or distances_mm[0] < 0.0:
        spot.fault("they do not rise from the face inwards", "number the slices from the face inwards")
    return list(distances_mm)


def _angles(angles_deg: tuple[float, ...], count: int, spot: Spot) -> list[float | None]:
    if not angles_deg:
        return [None] * count
    if len(angles_deg) != count:
        spot.fault(f"{len(angles_deg)} angles for {count} slices", "give one for each slice, in their order")
    if any(abs(angle) > MOST_DEG for angle in angles_deg):
        spot.fault(f"an angle is over {MOST_DEG:g} degrees", "give degrees, down and to the right positive")
    return list(angles_deg) if len(angles_deg) == count else [None] * count


def _overlay_stems(names: list[str]) -> tuple[str, ...]:
    stems: list[str] = []
    for name in names:
        words = re.findall(r"[A-Za-z0-9_]+", name.rpartition(".")[0] or name)
        stem = "-".join(words)[:80] or "picture"
        again = sum(s == stem or re.fullmatch(re.escape(stem) + r"-\d+", s) is not None for s in stems)
        stems.append(stem if not again else f"{stem}-{again + 1}")
    return tuple(f"{stem}-traced" for stem in stems)
