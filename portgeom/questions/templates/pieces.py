"""What is cut out of sheet to check a port with: plug gauges, roof gauges, go and no-go pairs?

Every piece lies as the person sees it who uses it: looking in from the manifold face, or, where the flow
has turned away from the face, from the chamber, where left and right swap.
"""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass
from typing import Literal, TypeAlias, get_args

import numpy as np

from portgeom.geometry.arrays import F64, frozen
from portgeom.geometry.moments import polygon_moments
from portgeom.questions.templates.sections import PlacedSection

PieceKind: TypeAlias = Literal["plug", "cast", "roof", "go", "no-go", "side"]
PIECE_KINDS: tuple[PieceKind, ...] = get_args(PieceKind)

APART_MM = 0.4
"""Where another outline runs nearer than this to the edge that is cut, it is not drawn."""

PATH_IN_MIDDLE = 0.2
"""A roof gauge ends at the path where that is at least this share of the height from floor and roof."""

ARC_STEPS = 16
"""Pieces of a quarter circle where an outline is moved outwards: within 0.003 mm for an allowance of 1 mm."""


@dataclass(frozen=True, slots=True)
class Tick:
    """A short mark (2, 2) across the edge of a piece, and what it says."""

    line_mm: F64
    words: str


@dataclass(frozen=True, slots=True)
class Piece:
    """One piece to cut out, at full size; up is towards the roof.

    Attributes
    ----------
    kind : PieceKind
        Plug: the wanted passage; cast: the passage as it is; roof: the upper part of the wanted one; go and
        no-go: the wanted one less and more the allowance; side: the wanted roof along the middle.
    station, distance_mm : str, float
        Where it belongs; "" between stations, the whole roof for a side piece.
    place : str
        The named place there, or "".
    cut_mm : (n, 2) float
        The edge to cut, anticlockwise as drawn, without a repeated end.
    also_mm : tuple of (k, 2) float
        Open lines to see: the other outline, where it leaves the edge.
    path_mm : (2,) float
        Where the path goes through.
    allowance_mm : float
        How far inside (go) or outside (no-go) the wanted outline; 0 for the others.
    from_chamber : bool
        Lies as seen from the chamber: left and right are swapped against looking in.
    ticks : tuple of Tick
        Of a side piece: stations and steps along the roof.
    """

    kind: PieceKind
    station: str
    place: str
    distance_mm: float
    cut_mm: F64
    also_mm: tuple[F64, ...]
    path_mm: F64
    allowance_mm: float = 0.0
    from_chamber: bool = False
    ticks: tuple[Tick, ...] = ()

    @property
    def area_mm2(self) -> float:
        """Return the area that is cut out."""
        return float(polygon_moments(self.cut_mm).area_mm2)


class NoSuchPiece(ValueError):  # noqa: N818  it names the piece
    """An allowance leaves nothing, or not one piece, of a section. The message says where."""


def section_pieces(
    sections: Sequence[PlacedSection], kinds: Collection[PieceKind], *, allowance_mm: float = 0.0
) -> tuple[Piece, ...]:
    """Return the pieces of some kinds for every section, section by section.

    Raises
    ------
    NoSuchPiece
        Where a section is so narrow somewhere that it falls apart when made smaller by the allowance.
    """
    return tuple(
        piece
        for section in sections
        for kind in PIECE_KINDS
        if kind in kinds and kind != "side"
        for piece in [_piece(section, kind, allowance_mm)]
    )


def _piece(section: PlacedSection, kind: PieceKind, allowance: float) -> Piece:
    turn = np.array([-1.0, 1.0]) if section.turned else np.ones(2)
    present, wanted = (_seen(p, section.turned) for p in (section.present_mm, section.wanted_mm))
    edge, other = (present, wanted) if kind == "cast" else (wanted, present)
    path = np.zeros(2)
    if kind == "roof":
        edge = _upper(edge)
    if kind in ("go", "no-go"):
        edge = moved_out(edge, allowance if kind == "no-go" else -allowance)
        if not len(edge):
            where = f"station {section.station}" if section.station else f"{section.distance_mm:g} mm"
            raise NoSuchPiece(
                f"{allowance:g} mm off all round leaves no one piece of the section at {where}; "
                "give a smaller allowance"
            )
    return Piece(
        kind=kind,
        station=section.station,
        place=section.place,
        distance_mm=section.distance_mm,
        cut_mm=frozen(edge),
        also_mm=_also(edge, other) if kind in ("plug", "cast", "roof") else (),
        path_mm=frozen(path * turn),
        allowance_mm=allowance if kind in ("go", "no-go") else 0.0,
        from_chamber=section.turned,
    )


def _seen(points_mm: F64, turned: bool) -> F64:
    return points_mm[::-1] * (-1.0, 1.0) if turned else points_mm


def moved_out(outline_mm: F64, by_mm: float) -> F64:
    """Return an outline (k, 2) moved outwards all round, with round corners, or inwards where negative.

    Empty where nothing, or more than one piece, is left. Outwards the area grows by ``P a + pi a2`` where the
    outline is convex (Steiner's formula).
    """
    import shapely

    moved = shapely.buffer(shapely.Polygon(outline_mm), by_mm, quad_segs=ARC_STEPS, join_style="round")
    if not isinstance(moved, shapely.Polygon) or moved.is_empty or len(moved.interiors):
        return np.empty((0, 2))
    return np.asarray(shapely.geometry.polygon.orient(moved).exterior.coords)[:-1]


def _upper(points_mm: F64) -> F64:
    """Return the part of an outline over the path, or over half its height where the path is not in its middle."""
    import shapely

    (left, low), (right, high) = points_mm.min(axis=0), points_mm.max(axis=0)
    tall = high - low
    level = 0.0 if PATH_IN_MIDDLE * tall <= -low <= (1.0 - PATH_IN_MIDDLE) * tall else 0.5 * (low + high)
    part = shapely.intersection(shapely.Polygon(points_mm), shapely.box(left - 1.0, level, right + 1.0, high + 1.0))
    whole = max(shapely.get_parts(part), key=shapely.area)  # side walls that lean in and out again leave slivers
    return np.asarray(shapely.geometry.polygon.orient(whole).exterior.coords)[:-1]


def _also(edge: F64, other: F64) -> tuple[F64, ...]:
    """Return the other outline inside the piece, where it keeps off the edge."""
    import shapely

    ring = shapely.LinearRing(edge)
    rest = shapely.difference(shapely.LinearRing(other), shapely.buffer(ring, APART_MM))
    rest = shapely.intersection(shapely.line_merge(rest), shapely.Polygon(edge))
    lines = [part for part in shapely.get_parts(rest) if part.geom_type == "LineString" and part.length > APART_MM]
    return tuple(frozen(shapely.get_coordinates(line)) for line in lines)
