"""How does a drawing become lines and letters of a PDF page, as sharp as the paper allows?"""

from __future__ import annotations

import io
from typing import Any

import numpy as np
from reportlab.lib.colors import HexColor
from reportlab.lib.utils import ImageReader
from reportlab.platypus import Flowable

from portgeom.geometry.arrays import F64
from portgeom.output.charts.sheet import Curve, Mark, Painting, Region, Sheet, Spot, Stroke, Words
from portgeom.output.charts.sheet_svg import BASELINE
from portgeom.output.paper.lettering import BOLD, PLAIN, printable, register_fonts, width

GROUND = 1.5
"""How far the ground under words reaches beyond them, in points of the drawing."""

SPOT_LINE = 1.4


class PrintedFigure(Flowable):  # type: ignore[misc]  # the PDF library has no types
    """A drawing in the flow of a page: as wide as asked, and as tall as its form makes it."""

    def __init__(self, drawn: Sheet, *, wide_pt: float, most_tall_pt: float) -> None:
        super().__init__()
        self._drawn, self._room = drawn, wide_pt
        self._scale = min(wide_pt / drawn.width, most_tall_pt / drawn.height)
        self.width, self.height = drawn.width * self._scale, drawn.height * self._scale

    def wrap(self, wide: float, tall: float) -> tuple[float, float]:
        """Return its size in points."""
        return self._room, self.height

    def draw(self) -> None:
        """Draw it on the page, in the middle of its room."""
        register_fonts()
        canvas = self.canv
        canvas.translate(0.5 * (self._room - self.width), self.height)
        canvas.scale(self._scale, -self._scale)  # y runs down in a drawing
        for mark in self._drawn.marks:
            canvas.saveState()
            _draw(canvas, mark)
            canvas.restoreState()


def _draw(canvas: Any, mark: Mark) -> None:
    if isinstance(mark, Curve):
        _stroke(canvas, mark.stroke)
        canvas.drawPath(_path(canvas, mark.points), stroke=1, fill=0)
    elif isinstance(mark, Region):
        if mark.edge is not None:
            _stroke(canvas, mark.edge)
        if mark.fill is not None:
            canvas.setFillColor(HexColor(mark.fill))
            canvas.setFillAlpha(mark.opacity)
        path = _path(canvas, mark.points, closed=True)
        canvas.drawPath(path, stroke=int(mark.edge is not None), fill=int(mark.fill is not None))
    elif isinstance(mark, Spot):
        _spot(canvas, mark)
    elif isinstance(mark, Words):
        _words(canvas, mark)
    else:
        _painting(canvas, mark)


def _stroke(canvas: Any, stroke: Stroke) -> None:
    canvas.setStrokeColor(HexColor(stroke.colour))
    canvas.setStrokeAlpha(stroke.opacity)
    canvas.setLineWidth(stroke.width)
    canvas.setLineJoin(1)
    canvas.setLineCap(0 if stroke.dashes else 1)
    canvas.setDash(list(stroke.dashes))


def _path(canvas: Any, points: F64, *, closed: bool = False) -> Any:
    path = canvas.beginPath()
    for k, (x, y) in enumerate(points.tolist()):
        (path.moveTo if k == 0 else path.lineTo)(x, y)
    if closed:
        path.close()
    return path


def _spot(canvas: Any, spot: Spot) -> None:
    (x, y), r = spot.at.tolist(), 0.5 * spot.size
    colour = HexColor(spot.colour)
    canvas.setFillColor(colour)
    if spot.shape == "dot":
        if spot.edge is not None:
            canvas.setStrokeColor(HexColor(spot.edge))
            canvas.setLineWidth(1.0)
        canvas.circle(x, y, r, stroke=int(spot.edge is not None), fill=1)
    elif spot.shape == "diamond":
        corners = np.array([[x - r, y], [x, y - r], [x + r, y], [x, y + r]])
        canvas.drawPath(_path(canvas, corners, closed=True), stroke=0, fill=1)
    else:
        canvas.setStrokeColor(colour)
        canvas.setLineWidth(SPOT_LINE)
        canvas.line(x, y - r, x, y + r)
        if spot.shape == "plus":
            canvas.line(x - r, y, x + r, y)


def _words(canvas: Any, words: Words) -> None:
    text = printable(words.text)
    if not text:
        return
    canvas.translate(*words.at.tolist())
    canvas.scale(1.0, -1.0)
    if words.turned:
        canvas.rotate(90.0)
    wide = width(text, words.size, bold=words.bold)
    left = {"start": 0.0, "middle": -0.5 * wide, "end": -wide}[words.anchor]
    if words.ground is not None:
        canvas.setFillColor(HexColor(words.ground))
        tall = 0.9 * words.size
        canvas.rect(left - GROUND, -0.5 * tall, wide + 2.0 * GROUND, tall, stroke=0, fill=1)
    canvas.setFillColor(HexColor(words.colour))
    canvas.setFont(BOLD if words.bold else PLAIN, words.size)
    canvas.drawString(left, -BASELINE * words.size, text)


def _painting(canvas: Any, image: Painting) -> None:
    from PIL import Image

    (x0, y0), (x1, y1) = image.low.tolist(), image.high.tolist()
    if image.ring is not None:
        canvas.clipPath(_path(canvas, image.ring, closed=True), stroke=0, fill=0)
    picture = Image.fromarray(image.pixels)
    data: Any = picture
    if image.photo:
        data = io.BytesIO()
        picture.save(data, format="JPEG", quality=92)
        data.seek(0)
    canvas.translate(x0, y1)
    canvas.scale(1.0, -1.0)
    canvas.drawImage(ImageReader(data), 0.0, 0.0, x1 - x0, y1 - y0)


def jpeg(picture: bytes, *, quality: int = 92) -> io.BytesIO:
    """Return an image of any kind as JPEG on white, which a PDF holds as it is."""
    from PIL import Image

    with Image.open(io.BytesIO(picture)) as image:
        flat = Image.new("RGB", image.size, "white")
        shown = image.convert("RGBA")
        flat.paste(shown, mask=shown.getchannel("A"))
    out = io.BytesIO()
    flat.save(out, format="JPEG", quality=quality)
    out.seek(0)
    return out
