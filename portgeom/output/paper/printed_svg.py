"""How is a drawing read back from the SVG it became in a page, so that it can be drawn on paper too?

Only what :mod:`portgeom.output.charts.sheet_svg` writes is read: paths of straight steps, circles, words, images with
their rings.
"""

from __future__ import annotations

import base64
import io
import re
from collections.abc import Mapping

import numpy as np

from portgeom.geometry.arrays import F64
from portgeom.output.charts.sheet import Curve, Mark, Painting, Region, Sheet, Spot, Stroke, Words, place, sheet
from portgeom.output.charts.sheet_svg import BASELINE

STEP = re.compile(r"([MLlVHZ])([^MLlVHZ]*)")
NUMBER = re.compile(r"-?\d*\.?\d+(?:e-?\d+)?")
DATA = "data:image/"

Given = Mapping[str, str]


class SvgDrawing:
    """Gathers the marks of one drawing as its elements are met; other elements are passed over."""

    def __init__(self, given: Given) -> None:
        box = [float(x) for x in NUMBER.findall(given.get("viewbox", ""))]
        self._size = (box[2], box[3]) if len(box) == 4 else (1.0, 1.0)
        self._marks: list[Mark] = []
        self._rings: dict[str, F64] = {}
        self._ring_name = ""
        self._words: Given | None = None
        self._text = ""

    def start(self, tag: str, given: Given) -> None:
        """Take an element's beginning, its attributes' names in small letters."""
        if tag == "clippath":
            self._ring_name = given.get("id", "")
        elif tag == "path" and self._ring_name:
            self._rings[self._ring_name] = _runs(given.get("d", ""))[0]
        elif tag == "path":
            self._path(given)
        elif tag == "circle":
            at = place(_number(given, "cx"), _number(given, "cy"))
            self._marks.append(
                Spot(at, "dot", 2.0 * _number(given, "r"), given.get("fill", "#000000"), given.get("stroke"))
            )
        elif tag == "text":
            self._words, self._text = given, ""
        elif tag == "image" and given.get("href", "").startswith(DATA):
            self._image(given)

    def data(self, text: str) -> None:
        """Take words."""
        if self._words is not None:
            self._text += text

    def end(self, tag: str) -> None:
        """Take an element's end."""
        if tag == "clippath":
            self._ring_name = ""
        elif tag == "text" and self._words is not None:
            self._say(self._words, self._text)
            self._words = None

    def drawn(self) -> Sheet:
        """Return the drawing."""
        return sheet(*self._size, self._marks)

    def _path(self, given: Given) -> None:
        fill, stroke = given.get("fill", "none"), _stroke(given)
        closed = given.get("d", "").endswith("Z")
        for points in _runs(given.get("d", "")):
            if closed:
                opacity = float(given.get("fill-opacity", 1.0))
                self._marks.append(Region(points, None if fill == "none" else fill, stroke, opacity))
            elif stroke is not None and len(points) > 1:
                self._marks.append(Curve(points, stroke))

    def _say(self, given: Given, text: str) -> None:
        size = _number(given, "font-size")
        anchor = given.get("text-anchor", "start")
        self._marks.append(
            Words(
                place(_number(given, "x"), _number(given, "y") - BASELINE * size),
                text,
                size,
                given.get("fill", "#000000"),
                "middle" if anchor == "middle" else "end" if anchor == "end" else "start",
                given.get("font-weight") == "bold",
                "rotate" in given.get("transform", ""),
                given.get("stroke"),
            )
        )

    def _image(self, given: Given) -> None:
        from PIL import Image

        kind, _, data = given["href"].partition(",")
        with Image.open(io.BytesIO(base64.b64decode(data))) as image:
            pixels = np.asarray(image.convert("RGB"))
        low = place(_number(given, "x"), _number(given, "y"))
        high = low + (_number(given, "width"), _number(given, "height"))
        ring = self._rings.get(given.get("clip-path", "").removeprefix("url(#").removesuffix(")"))
        self._marks.append(Painting(low, high, pixels, ring, photo="png" not in kind))


def _number(given: Given, name: str) -> float:
    return float(given.get(name, 0.0))


def _stroke(given: Given) -> Stroke | None:
    colour = given.get("stroke", "none")
    if colour == "none":
        return None
    dashes = tuple(float(x) for x in NUMBER.findall(given.get("stroke-dasharray", "")))
    return Stroke(colour, float(given.get("stroke-width", 1.0)), dashes, float(given.get("stroke-opacity", 1.0)))


def _runs(data: str) -> list[F64]:
    """Return the points (k, 2) of each run of a path's straight steps."""
    runs: list[list[tuple[float, float]]] = []
    x = y = 0.0
    for step, text in STEP.findall(data):
        numbers = [float(n) for n in NUMBER.findall(text)]
        if step == "M":
            runs.append([])
        if step in "ML":
            for x, y in zip(numbers[::2], numbers[1::2], strict=True):
                runs[-1].append((x, y))
        elif step == "l":
            for dx, dy in zip(numbers[::2], numbers[1::2], strict=True):
                x, y = x + dx, y + dy
                runs[-1].append((x, y))
        elif step in "VH":
            x, y = (x, numbers[0]) if step == "V" else (numbers[0], y)
            runs[-1].append((x, y))
    return [np.array(run) for run in runs if run]
