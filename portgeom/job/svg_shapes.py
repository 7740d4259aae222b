"""Which curves is one shape of an SVG, in its own user units?"""

from __future__ import annotations

import math
import re
from collections.abc import Iterator, Mapping

import numpy as np

from portgeom.geometry.curves import Curve, bezier, elliptic_arc, straight
from portgeom.job.drawing import MOST_PIECES, DrawingError
from portgeom.job.faults import shown

SHAPES = ("path", "rect", "circle", "ellipse", "polygon", "polyline", "line")

USER_UNITS = {"mm": 96.0 / 25.4, "cm": 960.0 / 25.4, "in": 96.0, "pt": 96.0 / 72.0, "pc": 16.0, "q": 24.0 / 25.4}
"""User units in one of each (CSS Values and Units Level 3, 5.2)."""

NUMBER_CHARACTERS = 60
"""No length is written longer."""

_FLOAT = r"[+-]?(?:[0-9]+\.?[0-9]*|\.[0-9]+)(?:[eE][+-]?[0-9]+)?"
_LENGTH = re.compile(rf"({_FLOAT})([a-zA-Z%]*)")
_PATH = re.compile(rf"{_FLOAT}|[MmZzLlHhVvCcSsQqTtAa]|[\s,]+")
_COMMAND = re.compile(r"[MmZzLlHhVvCcSsQqTtAa]")


class SvgLengths:
    """The lengths of one element, and whether they were given bare or in units of their own.

    Attributes
    ----------
    bare, measured : bool
        Whether any length that was asked for and is not 0 was a bare number, or one with a unit.
    """

    def __init__(self, attributes: Mapping[str, str], name: str) -> None:
        self.attributes, self.name = attributes, name
        self.bare = self.measured = False

    def get(self, key: str) -> float | None:
        """Return a length in user units, None where it is not given or is "auto"."""
        text = self.attributes.get(key, "").strip()
        if text in ("", "auto"):
            return None
        match = _LENGTH.fullmatch(text) if len(text) <= NUMBER_CHARACTERS else None
        unit = match[2].casefold() if match else ""
        if match is None or unit not in ("", "px", *USER_UNITS):
            raise DrawingError(f"{self.name}: {key} {shown(text)} is no length", "give a number, bare or in mm or in")
        number = float(match[1]) * USER_UNITS.get(unit, 1.0)
        if not math.isfinite(number):
            raise DrawingError(f"{self.name}: {key} {shown(text)} is out of range", "mend it")
        if number != 0.0:
            self.measured = self.measured or unit in USER_UNITS
            self.bare = self.bare or unit not in USER_UNITS
        return number

    def sure(self, key: str) -> float:
        """Return a length, 0 where it is not given."""
        return self.get(key) or 0.0

    def text(self, key: str) -> str:
        """Return what is in plain user units throughout, such as a path."""
        self.bare = True
        return self.attributes.get(key, "")


def shape_curves(kind: str, lengths: SvgLengths) -> Iterator[Curve]:
    """Return the curves of a shape, in user units with y down. None where it has no size, as SVG has it."""
    if kind == "path":
        yield from _path(lengths)
    elif kind == "rect":
        yield from _rect(lengths)
    elif kind in ("circle", "ellipse"):
        rx, ry = (lengths.sure("r"),) * 2 if kind == "circle" else (lengths.sure("rx"), lengths.sure("ry"))
        if rx > 0.0 and ry > 0.0:
            centre = (lengths.sure("cx"), lengths.sure("cy"))
            yield elliptic_arc(centre, (rx, 0.0), (0.0, ry), 0.0, 2.0 * math.pi)
    elif kind == "line":
        yield straight([[lengths.sure(x), lengths.sure(y)] for x, y in (("x1", "y1"), ("x2", "y2"))])
    else:
        yield from _corners(lengths, closed=kind == "polygon")


def _rect(lengths: SvgLengths) -> Iterator[Curve]:
    x, y, w, h = (lengths.sure(key) for key in ("x", "y", "width", "height"))
    rx, ry = lengths.get("rx"), lengths.get("ry")
    rx, ry = (ry if rx is None else rx) or 0.0, (rx if ry is None else ry) or 0.0
    rx, ry = min(rx, 0.5 * w), min(ry, 0.5 * h)  # as SVG has it (SVG 2, 10.2)
    if w <= 0.0 or h <= 0.0:
        return
    if rx <= 0.0 or ry <= 0.0:
        yield straight([[x, y], [x + w, y], [x + w, y + h], [x, y + h], [x, y]])
        return
    left, right, top, bottom = x + rx, x + w - rx, y + ry, y + h - ry
    corners = ((right, bottom), (left, bottom), (left, top), (right, top))
    for quarter, centre in enumerate(corners):
        yield elliptic_arc(centre, (rx, 0.0), (0.0, ry), 0.5 * math.pi * quarter, 0.5 * math.pi)
    yield straight([[left, y], [right, y]])
    yield straight([[left, y + h], [right, y + h]])
    yield straight([[x, top], [x, bottom]])
    yield straight([[x + w, top], [x + w, bottom]])


def _corners(lengths: SvgLengths, *, closed: bool) -> Iterator[Curve]:
    text = lengths.text("points")
    numbers = re.findall(_FLOAT, text)
    if re.sub(rf"{_FLOAT}|[\s,]+", "", text) or len(numbers) % 2:
        raise DrawingError(f"{lengths.name}: its points are no pairs of numbers", "draw it again")
    points = np.array([float(n) for n in numbers]).reshape(-1, 2)
    if len(points) > 1:
        yield straight(np.vstack([points, points[:1]]) if closed else points)


def _path(lengths: SvgLengths) -> Iterator[Curve]:
    from svgpathtools import Arc, parse_path

    text = lengths.text("d")
    if _PATH.sub("", text):
        raise DrawingError(f"{lengths.name}: its path holds {shown(_PATH.sub('', text))}", "draw it again")
    numbers = len(re.findall(_FLOAT, text))
    if numbers > 6 * MOST_PIECES:
        raise DrawingError(f"{lengths.name}: its path holds {numbers} numbers", "draw it simpler")
    commands = _COMMAND.findall(text)
    if commands and commands[0] not in "Mm":
        raise DrawingError(f"{lengths.name}: its path does not begin with M", "draw it again")
    try:
        segments = list(parse_path(text))
    except (AssertionError, ArithmeticError, LookupError, TypeError, ValueError) as error:
        # outside data through a library that tells bad data in all of these ways
        raise DrawingError(f"{lengths.name}: its path cannot be followed", "draw it again") from error
    for segment in segments:
        if isinstance(segment, Arc):
            turn = np.exp(1j * segment.phi)
            first, second = segment.radius.real * turn, 1j * segment.radius.imag * turn
            start, sweep = math.radians(segment.theta), math.radians(segment.delta)
            yield elliptic_arc(_pair(segment.center), _pair(first), _pair(second), start, sweep)
        else:
            control = [_pair(z) for z in segment.bpoints()]
            yield bezier(control) if len(control) > 2 else straight(control)


def _pair(z: complex) -> tuple[float, float]:
    return float(z.real), float(z.imag)
