"""Which lines does an SVG drawing hold, in what group, and how large is its unit?"""

from __future__ import annotations

import re
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from portgeom.geometry.arrays import F64
from portgeom.geometry.curves import Curve
from portgeom.job.drawing import MM_PER, MOST_PIECES, TELL_UNITS, Drawing, DrawingError, DrawingUnits, Piece, tally
from portgeom.job.faults import nearest, shown
from portgeom.job.svg_shapes import SHAPES, SvgLengths, shape_curves
from portgeom.job.svg_tree import local_name, svg_tree

if TYPE_CHECKING:
    from xml.etree.ElementTree import Element

PX_MM = 25.4 / 96.0
"""A user unit where nothing scales it: the CSS pixel (CSS Values and Units Level 3, 5.2)."""

ALIKE = 1e-3
"""How far the scales across and up may differ before a drawing counts as stretched: more than rounding."""

GIVE_UNITS = f"give it width and height in mm or in and a viewBox, or {TELL_UNITS}"

GROUPS = ("svg", "g", "a", "switch")
NOT_DRAWN = (
    *("defs", "symbol", "clipPath", "mask", "marker", "pattern", "linearGradient", "radialGradient", "filter"),
    *("metadata", "title", "desc", "style", "script", "namedview", "view", ""),
)

_NUMBERS = re.compile(r"[+-]?[0-9.]+(?:[eE][+-]?[0-9]+)?")


def svg_drawing(data: bytes, *, layer: str, units: DrawingUnits | None) -> Drawing:
    """Return the lines of an SVG in mm about the drawing's own origin, v upwards.

    ``layer`` names a group, or one shape, by its id or its label. What is hidden is left out; what is no
    line (text, pictures) is left out and told.

    Raises
    ------
    DrawingError
        Where the file is unsafe or not whole, the size of its unit is not known, a shape or a transform
        cannot be read, or copies (``use``) stand in the way.
    """
    root = svg_tree(data)
    walk = _Walk(layer.casefold())
    walk.into(root, _At(np.identity(3), "", inside=not layer))
    if layer and not walk.met:
        raise DrawingError(f"has no group or shape named {shown(layer)}", nearest(layer, walk.names, what="name"))
    mm, told = _scale(root, units, walk)
    flip = np.diag([mm, -mm, 1.0])
    pieces = tuple(replace(piece, curve=_moved(piece.curve, flip)) for piece in walk.pieces)
    if walk.left_out:
        told = (*told, f"left out what is no line: {tally(walk.left_out)}")
    words = f"a unit of the drawing is {mm:.6g} mm, {'by the file' if units is None else 'as told'}"
    return Drawing(pieces, words, told)


@dataclass(frozen=True, slots=True)
class _At:
    """Where a walk is: what carries numbers to the root's user units (3, 3), the group, and if it is wanted."""

    matrix: F64
    group: str
    inside: bool
    level: int = 0


class _Walk:
    """Gathers the lines of a tree.

    ``met`` tells whether the layer asked for was met; ``bare`` and ``measured`` whether lengths were given
    in user units or in units of their own.
    """

    def __init__(self, layer: str) -> None:
        self.layer = layer
        self.met = not layer
        self.bare = self.measured = False
        self.names: list[str] = []
        self.pieces: list[Piece] = []
        self.left_out: list[str] = []

    def into(self, element: Element, at: _At) -> None:
        """Take in an element and what is inside it; how deep that goes was bounded with the tree."""
        kind = local_name(element.tag)
        if kind in NOT_DRAWN or _hidden(element):
            return
        names = _names(element)
        self.names += names
        named = self.layer in (n.casefold() for n in names)
        self.met = self.met or named
        here = _At(at.matrix @ _transform(element), (names or [at.group])[0], at.inside or named)
        if kind == "svg" and at.level:
            raise DrawingError("holds a drawing inside the drawing (svg in svg)", "ungroup it")
        if kind in GROUPS:
            for child in element:
                self.into(child, replace(here, level=at.level + 1))
        elif here.inside:
            self._take(element, kind, here)

    def _take(self, element: Element, kind: str, at: _At) -> None:
        if kind == "use":
            raise DrawingError("shows a copy of a shape (use)", "turn copies into shapes of their own")
        if kind not in SHAPES:
            self.left_out.append(kind)
            return
        name = shown(_names(element)[0]) if _names(element) else f"a {kind}"
        lengths = SvgLengths(element.attrib, name)
        self.pieces += [Piece(_moved(c, at.matrix), at.group) for c in shape_curves(kind, lengths)]
        self.bare, self.measured = self.bare or lengths.bare, self.measured or lengths.measured
        if len(self.pieces) > MOST_PIECES:
            raise DrawingError(f"holds more than {MOST_PIECES} lines", "save the outline alone")


def _scale(root: Element, units: DrawingUnits | None, walk: _Walk) -> tuple[float, tuple[str, ...]]:
    """Return how many mm a user unit of the root is, and what is to be told about it."""
    said = _said_mm(root, walk)
    if units is None:
        if said is None:
            raise DrawingError("does not say how large its unit is", GIVE_UNITS)
        return said, ()
    mm = MM_PER[units]
    if said is None and walk.measured:
        raise DrawingError("has lengths with units of their own beside bare ones", "give all of them alike")
    if said is not None and abs(said - mm) > ALIKE * mm:
        return mm, (f"says that its unit is {said:.4g} mm; taken as {units}, as told",)
    return mm, ()


def _said_mm(root: Element, walk: _Walk) -> float | None:
    """Return how many mm a user unit is by the drawing itself, or None where it leaves that open."""
    box = _NUMBERS.findall(root.get("viewBox", ""))
    if not box:
        return PX_MM if walk.measured and not walk.bare else None
    size = SvgLengths(root.attrib, "the drawing")
    width, height = (None if "%" in root.get(key, "") else size.get(key) for key in ("width", "height"))
    if len(box) != 4 or min(float(box[2]), float(box[3])) <= 0.0:
        raise DrawingError(f"its viewBox {shown(root.get('viewBox', ''))} is no box", "save it again")
    if size.bare or not size.measured:
        return None
    pairs = ((width, float(box[2])), (height, float(box[3])))
    scales = [PX_MM * length / units for length, units in pairs if length is not None]
    if max(scales) > min(scales) * (1.0 + ALIKE):
        raise DrawingError("is stretched: its width and height do not suit its viewBox", "save it unstretched")
    return scales[0]


def _names(element: Element) -> list[str]:
    """Return an element's label, if it has one, and its id."""
    found = {local_name(name): value for name, value in element.attrib.items()}
    return [found[key] for key in ("label", "id") if found.get(key)]


def _hidden(element: Element) -> bool:
    style = element.get("style", "").replace(" ", "")
    return (
        element.get("display") == "none"
        or element.get("visibility") in ("hidden", "collapse")
        or "display:none" in style
        or "visibility:hidden" in style
    )


def _transform(element: Element) -> F64:
    from svgpathtools.parser import parse_transform

    if "transform" in element.get("style", ""):
        raise DrawingError("has a transform in a style", "save it again as plain SVG")
    text = element.get("transform", "")
    try:
        matrix: F64 = parse_transform(text, strict=True)
    except ValueError as error:
        raise DrawingError(f"its transform {shown(text)} cannot be read", "draw it again") from error
    return matrix


def _moved(curve: Curve, matrix: F64) -> Curve:
    turn, shift = matrix[:2, :2].T, matrix[:2, 2]
    return replace(curve, at=lambda t: curve.at(t) @ turn + shift)
