"""What outlines does a drawing hold? Closed loops, out of whatever lines the drawing has."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal, TypeAlias

import numpy as np

from portgeom.geometry.arrays import F64
from portgeom.geometry.chain import Chained, chain
from portgeom.geometry.curves import Curve, CurveError
from portgeom.geometry.moments import polygon_moments
from portgeom.geometry.outline import Outline, OutlineError
from portgeom.job.faults import printable, shown
from portgeom.job.kinds import LONGEST_MM, SMALLEST_MM

DrawingUnits: TypeAlias = Literal["mm", "cm", "m", "in", "ft"]

MM_PER: dict[DrawingUnits, float] = {"mm": 1.0, "cm": 10.0, "m": 1000.0, "in": 25.4, "ft": 304.8}
"""Units a drawing may be told to be in."""

TELL_UNITS = f"tell it (drawing_units in a table, --drawing-units of trace): {', '.join(MM_PER)}"

DRAWINGS = (".dxf", ".svg")
DRAWING_BYTES = {".dxf": 5_000_000, ".svg": 2_000_000}

MOST_PIECES = 20_000
MOST_POINTS = 20_000
MOST_LOOPS = 2_000

WITHIN = 1e-5
"""How close the points keep to a drawn curve, as a part of the drawing's size.

On a circle the area is then short by under 3e-5 of itself."""

WITHIN_MM = 0.005
"""And never further from it than this. Ends no further apart count as one place."""

MOST_LISTED = 4


class DrawingError(ValueError):
    """A drawing that holds no outline. ``found`` says what it holds, ``mend`` what to do."""

    def __init__(self, found: str, mend: str) -> None:
        self.found, self.mend = found, mend
        super().__init__(f"{found}; {mend}")


@dataclass(frozen=True, slots=True)
class Piece:
    """One line of a drawing: its curve in mm, u to the right and v up, and the layer it lies on."""

    curve: Curve
    layer: str


@dataclass(frozen=True, slots=True)
class Drawing:
    """The lines of a drawing, its unit in words, and what was left out or taken for granted (``told``)."""

    pieces: tuple[Piece, ...]
    unit_words: str
    told: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class DrawnLoops:
    """Every closed line of a drawing, in the drawing's own place; none crosses itself or another.

    ``within_mm`` is how far their points' chords may lie from the drawn curves.
    """

    outlines: tuple[Outline, ...]
    within_mm: float
    unit_words: str
    told: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Drawn:
    """An outline out of a drawing, in the drawing's own place, and what is to be told of it.

    ``within_mm`` is how far its points' chords may lie from the drawn curve.
    """

    outline: Outline
    within_mm: float
    told: tuple[str, ...]


def read_drawing(data: bytes, suffix: str, *, layer: str = "", units: DrawingUnits | None = None) -> Drawn:
    """Return the one outline of a drawing's bytes.

    Parameters
    ----------
    suffix : str
        ".dxf" or ".svg", in small letters.
    layer : str
        Only what lies on this layer; in an SVG the id or the label of a group or of one shape. Everything
        where it is empty.
    units : DrawingUnits or None
        What a unit of the drawing is, where the drawing does not say it or says it wrongly.

    Returns
    -------
    Drawn
        The outline about the drawing's own origin, anticlockwise whichever way it was drawn.

    Raises
    ------
    DrawingError
        Where there is no outline, an open or crossing one with the place, or more than one.
    """
    drawing = _drawing(data, suffix, layer, units)
    within_mm, chained = _chained(drawing, layer)
    outline = _outline(_one_loop(chained, {p.layer for p in drawing.pieces}))
    told = list(drawing.told)
    if not holds_origin(outline):
        told.append("its origin lies outside the outline, so the path does too; move it, or give across and up")
    return Drawn(outline, within_mm, tuple(told))


def read_loops(data: bytes, suffix: str, *, layer: str = "", units: DrawingUnits | None = None) -> DrawnLoops:
    """Return every closed line of a drawing's bytes; the parameters are those of ``read_drawing``.

    Raises
    ------
    DrawingError
        Where there is none, or any line is open, or crosses itself or another, with the place.
    """
    drawing = _drawing(data, suffix, layer, units)
    within_mm, chained = _chained(drawing, layer)
    _refuse_open(chained, {p.layer for p in drawing.pieces})
    if len(chained.loops) > MOST_LOOPS:
        raise DrawingError(f"holds {len(chained.loops)} closed lines", f"at most {MOST_LOOPS} are read; name a layer")
    outlines = tuple(_outline(loop) for loop in chained.loops)
    _refuse_crossing(outlines)
    return DrawnLoops(outlines, within_mm, drawing.unit_words, drawing.told)


def all_lines(data: bytes, suffix: str, *, units: DrawingUnits | None = None) -> tuple[F64, ...]:
    """Return every line (n, 2) of a drawing in mm, on whatever layer, to be looked at; none where it cannot be read."""
    try:
        pieces = _drawing(data, suffix, "", units).pieces
        return tuple(_followed(pieces, 10.0 * _within_mm(pieces))) if pieces else ()
    except DrawingError:
        return ()


def _drawing(data: bytes, suffix: str, layer: str, units: DrawingUnits | None) -> Drawing:
    if len(data) > DRAWING_BYTES[suffix]:
        raise DrawingError(
            f"has {len(data)} bytes", f"at most {DRAWING_BYTES[suffix]} are read; save the outline alone"
        )
    if suffix == ".dxf":
        from portgeom.job.drawing_dxf import dxf_drawing

        return dxf_drawing(data, layer=layer, units=units)
    from portgeom.job.drawing_svg import svg_drawing

    return svg_drawing(data, layer=layer, units=units)


def _chained(drawing: Drawing, layer: str) -> tuple[float, Chained]:
    """Return how close points keep to the curves, and the loops and strands that the lines make."""
    if not drawing.pieces:
        where = f"on layer {shown(layer)}" if layer else "in it"
        raise DrawingError(f"no line is drawn {where}", "draw the outline as lines, arcs, curves or a closed shape")
    within_mm = _within_mm(drawing.pieces)
    return within_mm, chain(_followed(drawing.pieces, within_mm), gap_mm=WITHIN_MM)


def _within_mm(pieces: Sequence[Piece]) -> float:
    """Return how close to keep to the curves, after refusing what is no size for a port."""
    with np.errstate(all="ignore"):  # what overflows is not finite, and told
        corners = np.concatenate([piece.curve.coarse() for piece in pieces])
    if not np.isfinite(corners).all() or float(np.abs(corners).max()) > LONGEST_MM * 100.0:
        raise DrawingError("holds places that are no place in a workshop", "draw the outline near the origin")
    size = float(np.ptp(corners, axis=0).max())
    if size > LONGEST_MM or size < SMALLEST_MM:
        raise DrawingError(f"is {size:g} mm across", "mend the drawing's units, or tell them")
    return min(WITHIN * size, WITHIN_MM)


def _followed(pieces: Sequence[Piece], within_mm: float) -> list[F64]:
    """Return every piece as points; gives up as soon as there are more than any outline needs."""
    lines: list[F64] = []
    count = 0
    for piece in pieces:
        try:
            lines.append(piece.curve.points(within_mm))
        except CurveError as error:
            raise DrawingError(f"a line {error}", "draw it again") from error
        count += len(lines[-1])
        if count > 10 * MOST_POINTS:
            raise DrawingError(f"needs more than {10 * MOST_POINTS} points to be followed", "save the outline alone")
    return lines


def _one_loop(chained: Chained, layers: set[str]) -> F64:
    _refuse_open(chained, layers)
    if len(chained.loops) > 1:
        areas = [f"{abs(float(polygon_moments(loop).area_mm2)):.1f}" for loop in chained.loops[:MOST_LISTED]]
        more = "" if len(chained.loops) <= MOST_LISTED else " and more"
        raise DrawingError(
            f"holds {len(chained.loops)} closed lines, of {', '.join(areas)} mm2{more}",
            f"leave one{_others(layers)}",
        )
    return chained.loops[0]


def _refuse_open(chained: Chained, layers: set[str]) -> None:
    if len(chained.forks):
        raise DrawingError(
            f"more than two ends meet at {_place(chained.forks[0])}",
            "leave one outline: delete doubled lines and lines that branch off",
        )
    if chained.strands:
        strand = max(chained.strands, key=lambda s: float(np.ptp(s, axis=0).max()))
        gap = float(np.linalg.norm(strand[0] - strand[-1]))
        what = "is open" if not chained.loops else "has an open line beside the closed one"
        raise DrawingError(
            f"{what}: from {_place(strand[0])} to {_place(strand[-1])}, {gap:.3f} mm apart",
            f"close it so that its ends meet within {WITHIN_MM} mm{_others(layers)}"
            if not chained.loops
            else f"delete it{_others(layers)}",
        )
    if not chained.loops:
        raise DrawingError("holds no closed line", "draw the outline once round")


def _others(layers: set[str]) -> str:
    return "" if len(layers) < 2 else f", or name one of the layers {_listed(layers)}"


def _refuse_crossing(outlines: Sequence[Outline]) -> None:
    """Refuse closed lines of which one runs over another."""
    import shapely

    rings = [shapely.LinearRing(o.points_mm) for o in outlines]
    one, other = shapely.STRtree(rings).query(rings, predicate="intersects")
    for a, b in zip(one.tolist(), other.tolist(), strict=True):
        if a < b:
            meets = shapely.intersection(rings[a], rings[b])
            u, v = np.atleast_2d(shapely.get_coordinates(meets))[0]
            raise DrawingError(
                f"two closed lines, of {outlines[a].area_mm2:.1f} and {outlines[b].area_mm2:.1f} mm2, cross or touch "
                f"at {_place(np.array([u, v]))}",
                "draw slices apart, and delete doubled lines",
            )


def _outline(points: F64) -> Outline:
    step = np.linalg.norm(points - np.roll(points, 1, axis=0), axis=1)
    points = points[step > 1e-9 * float(np.ptp(points))]  # a corner belongs to both pieces that meet there
    if len(points) > MOST_POINTS:
        raise DrawingError(f"needs {len(points)} points to be followed", f"draw it simpler; at most {MOST_POINTS}")
    if len(points) >= 3 and float(polygon_moments(points).area_mm2) < 0.0:
        points = points[::-1]  # the way a line was drawn means nothing in a drawing
    try:
        return Outline.polygon(points)
    except OutlineError as error:
        found, _, mend = str(error).partition("; ")
        raise DrawingError(found, mend or "draw the outline again") from error


def holds_origin(outline: Outline) -> bool:
    """Return whether (0, 0) is inside: how often the outline crosses the ray to the right."""
    start = outline.points_mm
    end = np.roll(start, -1, axis=0)
    crosses = (start[:, 1] > 0.0) != (end[:, 1] > 0.0)
    a, b = start[crosses], end[crosses]
    at = a[:, 0] - a[:, 1] * (b[:, 0] - a[:, 0]) / (b[:, 1] - a[:, 1])
    return int((at > 0.0).sum()) % 2 == 1


def tally(kinds: Sequence[str]) -> str:
    """Return how many of each kind, as "2 text, 1 point".

    Examples
    --------
    >>> tally(["text", "point", "text"])
    '2 text, 1 point'
    """
    counted = Counter(kinds).most_common()
    listed = ", ".join(f"{n} {printable(kind[:20])}" for kind, n in counted[:MOST_LISTED])
    return listed + (" and more" if len(counted) > MOST_LISTED else "")


def _listed(layers: set[str]) -> str:
    names = sorted(layers)
    return ", ".join(shown(n) for n in names[:MOST_LISTED]) + (" and more" if len(names) > MOST_LISTED else "")


def _place(point: F64) -> str:
    return f"u {point[0]:.3f}, v {point[1]:.3f} mm"
