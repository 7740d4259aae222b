"""What is the still picture of a scene: painted pixels of the port, with its words and its colour bar as marks?"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from typing import TypeAlias

import numpy as np

from portgeom.geometry.arrays import F64
from portgeom.output.charts.chart_style import STYLE, Bytes, Style
from portgeom.output.charts.frame import colour_bar
from portgeom.output.charts.sheet import (
    Curve,
    Mark,
    Painting,
    Sheet,
    Spot,
    Stroke,
    Words,
    line,
    name_room,
    place,
    sheet,
    spaced,
    words_width,
)
from portgeom.output.scene.painted import Painted, hidden, painted
from portgeom.output.scene.port_scene import PortScene
from portgeom.output.scene.projection import VIEWS, View, ViewName
from portgeom.output.words.names import short

ToPoints: TypeAlias = Callable[[F64], F64]
"""From places in mm of the picture (..., 2 or more) to points of the drawing (..., 2)."""

WIDE, HEAD, TALL, FOOT = 430.0, 36.0, 225.0, 44.0
"""Points across, kept for the words above, of the picture, and kept for the colour bar below."""

PIXELS_PER_POINT = 2.0
FINER = 2
"""It is painted so many times finer and then made smaller, so that edges are smooth."""

AT_A_TIME = 64
"""Pieces are made lists of so many at a time: thousands of lists alive at once set the collector of garbage going."""

ROOM = 1.14
"""How much more than the port itself the picture shows."""


def still(scene: PortScene, *, view: ViewName = "roof") -> Sheet:
    """Return the still picture of a scene, without needing OpenGL or a library of charts."""
    way = VIEWS[view]
    pieces = painted(scene, way)
    low, high = pieces.quads_mm.min(axis=(0, 1)), pieces.quads_mm.max(axis=(0, 1))
    size = high - low
    scale = min(WIDE / (ROOM * float(size[0])), TALL / (ROOM * float(size[1])))
    middle = 0.5 * (low + high)
    centre = place(0.5 * WIDE, HEAD + 0.5 * TALL)

    def points(places_mm: F64) -> F64:
        return centre + (places_mm[..., :2] - middle) * (scale, -scale)

    marks: list[Mark] = [
        Painting(place(0.0, HEAD), place(WIDE, HEAD + TALL), _pixels(pieces, points), photo=True),
        Words(place(8.0, 11.0), short(scene.title, 26), STYLE.font_size, STYLE.ink, "start", bold=True),
        Words(place(WIDE - 8.0, 11.0), f"a mould of it, {way.words}", STYLE.small_size, STYLE.quiet, "end"),
    ]
    whole = points(way.project(scene.skin_mm.mean(axis=1)))
    stations = _stations(scene, way, points, whole)
    marks += stations
    marks += _shapes(scene, way, points, whole.mean(axis=0), stations)
    marks += _pin(scene, way, points)
    marks += _triad(way)
    left, right, top = 0.36 * WIDE, 0.66 * WIDE, HEAD + TALL + 4.0  # clear of the arrows at the left
    ends = scene.scale.low_words, scene.scale.high_words
    ramp, steps = scene.scale.ramp, scene.scale.marks
    marks += colour_bar(
        left, top, right, ramp, steps, scene.scale_words, ends, replace(STYLE, font_size=STYLE.small_size)
    )
    return sheet(WIDE, HEAD + TALL + FOOT, marks)


def _pixels(pieces: Painted, points: ToPoints) -> Bytes:
    from PIL import Image, ImageDraw

    per = FINER * PIXELS_PER_POINT
    image = Image.new("RGB", (round(WIDE * per), round(TALL * per)), STYLE.paper)
    pens = [ImageDraw.Draw(image, mode) for mode in ("RGB", "RGBA")]  # only what is seen through has to be mixed
    corners = ((points(pieces.quads_mm) - (0.0, HEAD)) * per).reshape(len(pieces.quads_mm), 8)
    # a colour as one number, as the pens take it: red in the lowest byte
    colours = np.round(255.0 * pieces.colours).astype(np.int64) @ np.array([1, 1 << 8, 1 << 16, 1 << 24])
    for first in range(0, len(corners), AT_A_TIME):
        few = slice(first, first + AT_A_TIME)
        listed = zip(corners[few].tolist(), colours[few].tolist(), pieces.glass[few].tolist(), strict=True)
        for corner, colour, glass in listed:
            pens[glass].polygon(corner, fill=colour)
    return np.asarray(image.reduce(FINER))


def _stations(scene: PortScene, way: View, points: ToPoints, whole: F64, style: Style = STYLE) -> list[Words]:
    """Write the stations' names along that side of the port, whose middle line is ``whole``, with more room."""
    sides = [_outermost(scene, way, points, whole, side) for side in (1.0, -1.0)]
    lengths = [float(np.linalg.norm(np.diff(ends, axis=0), axis=1).sum()) for ends in sides]
    places = sides[int(np.argmax(lengths))]
    return [
        Words(places[k], short(scene.rings[k].station), style.small_size, style.ink, ground=style.paper)
        for k in spaced(places, max(13.0, name_room((short(r.station) for r in scene.rings), style.small_size)))
    ]


def _outermost(scene: PortScene, way: View, points: ToPoints, whole: F64, side: float) -> F64:
    """Return a place beside the outermost point of every section on one side of the way the port runs."""
    ends = []
    for ring in scene.rings:
        at = points(way.project(ring.points_mm))
        nearest = int(np.argmin(np.linalg.norm(whole - at.mean(axis=0), axis=1)))
        span = whole[max(0, nearest - 2) : nearest + 3]
        along = span[-1] - span[0]
        length = float(np.linalg.norm(along))
        aside = side * along[::-1] * (-1.0, 1.0) / length if length > 0.0 else np.array([side, 0.0])
        ends.append(at[int(np.argmax(at @ aside))] + 9.0 * aside)
    return np.array(ends)


def _shapes(
    scene: PortScene, way: View, points: ToPoints, middle: F64, written: Sequence[Words], style: Style = STYLE
) -> list[Words]:
    """Write what lies behind the walls, each at an end of it that faces away from ``middle``.

    They keep clear of each other, and of what is ``written`` where they can.
    """
    marks: list[Words] = []
    for shape in scene.shapes:
        at = points(way.project(shape.vertices_mm))
        away = at.mean(axis=0) - middle
        start = float(np.arctan2(away[1], away[0]))
        ways = [start + np.radians(t) for t in (0.0, 40.0, -40.0, 80.0, -80.0, 130.0, -130.0, 180.0)]
        units = [np.array([np.cos(a), np.sin(a)]) for a in ways]
        ends = [at[int(np.argmax(at @ u))] + 12.0 * u for u in units]
        told = short(shape.name, 24)
        half = np.array([0.5 * words_width(told, style.small_size) + 3.0, 7.0])
        inside = [np.clip(e, half + (0.0, HEAD), (WIDE, HEAD + TALL) - half) for e in ends]
        tries = [Words(e, told, style.small_size, style.hidden, bold=True, ground=style.paper) for e in inside]
        apart = [t for t in tries if not any(t.meets(m) for m in marks)]
        free = [t for t in apart if not any(t.meets(w) for w in written)]
        marks.append((free or apart or tries)[0])
    return marks


def _pin(scene: PortScene, way: View, points: ToPoints, style: Style = STYLE) -> list[Mark]:
    if scene.pin is None:
        return []
    words = short(scene.pin.words, 60)
    if hidden(scene, way, scene.pin.place_mm):
        told = f"{words} (out of sight from here)"
        return [Words(place(0.5 * WIDE, HEAD - 8.0), told, style.font_size, style.ink)]
    at = points(way.project(scene.pin.place_mm))
    x = float(np.clip(at[0], 0.3 * WIDE, 0.7 * WIDE))
    return [
        line(x, HEAD - 2.0, float(at[0]), float(at[1]), Stroke(style.ink, 0.8)),
        Spot(at, "dot", 5.0, style.paper, style.ink),
        Words(place(x, HEAD - 8.0), words, style.font_size, style.ink, ground=style.paper),
    ]


def _triad(way: View, style: Style = STYLE) -> list[Mark]:
    """Draw which way is right, in and up."""
    corner = place(44.0, HEAD + TALL - 6.0)
    tips = way.project(np.eye(3))[:, :2] * (1.0, -1.0)
    drawn: list[Mark] = []
    for tip, word in zip(tips, ("right", "in", "up"), strict=True):
        if np.linalg.norm(tip) < 0.3:
            continue
        end = corner + 22.0 * tip
        drawn.append(Curve(np.stack([corner, end]), Stroke(style.ink, 1.0)))
        drawn.append(Words(corner + 31.0 * tip, word, style.small_size, style.ink))
    return drawn
