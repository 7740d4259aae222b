"""How does a chart become lines and letters of a PDF page, as sharp as the paper allows?

The charting library draws into whatever takes its paths, texts and images; here that is the page itself, so the letters
are those of the rest of the page.
"""

from __future__ import annotations

import io
from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING, Any, cast

import numpy as np
from matplotlib.backend_bases import GraphicsContextBase, RendererBase
from matplotlib.path import Path
from reportlab.lib.utils import ImageReader
from reportlab.platypus import Flowable

from portgeom.output.charts.figures import look
from portgeom.output.paper.lettering import BOLD, PLAIN, printable, register_fonts

if TYPE_CHECKING:
    from matplotlib.figure import Figure
    from matplotlib.text import Text
    from matplotlib.transforms import Transform
    from reportlab.pdfgen.canvas import Canvas

IMAGE_FINENESS = 3.0
"""Pixels of images in a chart to a point of the page."""

CAPS = {"butt": 0, "round": 1, "projecting": 2}
JOINS = {"miter": 0, "round": 1, "bevel": 2}


class PrintedFigure(Flowable):  # type: ignore[misc]  # the PDF library has no types
    """A chart in the flow of a page: as wide as asked, and as tall as its form makes it."""

    def __init__(self, draw: Callable[[], Figure], *, wide_pt: float, most_tall_pt: float) -> None:
        super().__init__()
        with look():
            self._figure = draw()
        across, up = self._figure.get_size_inches()
        self._scale = min(wide_pt / (72.0 * across), most_tall_pt / (72.0 * up))
        self.width, self.height = 72.0 * across * self._scale, 72.0 * up * self._scale
        self._room = wide_pt

    def wrap(self, wide: float, tall: float) -> tuple[float, float]:
        """Return its size in points."""
        return self._room, self.height

    def draw(self) -> None:
        """Draw it on the page, in the middle of its room."""
        register_fonts()
        self.canv.translate(0.5 * (self._room - self.width), 0.0)
        self.canv.scale(self._scale, self._scale)
        self._figure.set_dpi(72.0)
        with look():
            self._figure.draw(PageRenderer(self.canv, self._figure))


class PageRenderer(RendererBase):
    """Takes what the charting library draws, in points, to a PDF canvas."""

    def __init__(self, canvas: Canvas, figure: Figure) -> None:
        super().__init__()
        self._canvas = canvas
        across, up = figure.get_size_inches()
        self._size = 72.0 * across, 72.0 * up

    def get_canvas_width_height(self) -> tuple[float, float]:
        """Return the size of the drawing."""
        return self._size

    def flipy(self) -> bool:
        """Return that y runs up, as it does on the page."""
        return False

    def get_image_magnification(self) -> float:
        """Return how many pixels an image has to a point."""
        return IMAGE_FINENESS

    def draw_path(
        self, gc: GraphicsContextBase, path: Path, transform: Transform, rgbFace: Any = None  # noqa: N803
    ) -> None:  # fmt: skip
        """Draw a path: filled, stroked or both."""
        canvas = self._canvas
        canvas.saveState()
        self._clip(gc)
        line = self._stroke(gc)
        fill = rgbFace is not None
        if fill:
            red, green, blue = rgbFace[:3]
            canvas.setFillColorRGB(red, green, blue)
            canvas.setFillAlpha(gc.get_alpha() if len(rgbFace) == 3 or gc.get_forced_alpha() else rgbFace[3])
        if line or fill:
            canvas.drawPath(self._traced(path, transform), stroke=int(line), fill=int(fill))
        canvas.restoreState()

    def draw_image(self, gc: GraphicsContextBase, x: float, y: float, im: Any, transform: Any = None) -> None:
        """Draw an image, rows from the bottom up."""
        from PIL import Image

        tall, wide = im.shape[:2]
        self._canvas.saveState()
        self._clip(gc)
        picture = ImageReader(Image.fromarray(np.asarray(im)[::-1]))
        size = wide / IMAGE_FINENESS, tall / IMAGE_FINENESS
        self._canvas.drawImage(picture, x, y, *size, mask="auto")
        self._canvas.restoreState()

    def draw_text(
        self, gc: GraphicsContextBase, x: float, y: float, s: str, prop: Any, angle: float,
        ismath: Any = False, mtext: Text | None = None,
    ) -> None:  # fmt: skip
        """Write words with their left end of the base line at a place."""
        canvas = self._canvas
        canvas.saveState()
        canvas.translate(x, y)
        canvas.rotate(angle)
        red, green, blue = gc.get_rgb()[:3]
        canvas.setFillColorRGB(red, green, blue)
        canvas.setFillAlpha(gc.get_alpha())
        bold = prop.get_weight() in ("bold", "heavy", "semibold") or (
            isinstance(prop.get_weight(), int) and prop.get_weight() >= 600
        )
        canvas.setFont(BOLD if bold else PLAIN, prop.get_size_in_points())
        canvas.drawString(0.0, 0.0, printable(s))
        canvas.restoreState()

    def _stroke(self, gc: GraphicsContextBase) -> bool:
        """Set how lines are drawn; return whether there are any."""
        wide = gc.get_linewidth()
        red, green, blue, *alpha = gc.get_rgb()
        strength = alpha[0] if alpha else 1.0
        if wide <= 0.0 or strength <= 0.0:
            return False
        canvas = self._canvas
        canvas.setStrokeColorRGB(red, green, blue)
        canvas.setStrokeAlpha(strength)
        canvas.setLineWidth(wide)
        canvas.setLineCap(CAPS[str(gc.get_capstyle())])
        canvas.setLineJoin(JOINS[str(gc.get_joinstyle())])
        offset, dashes = cast("tuple[float | None, Sequence[float] | None]", gc.get_dashes())
        canvas.setDash([] if dashes is None else [float(d) for d in dashes], float(offset or 0.0))
        return True

    def _clip(self, gc: GraphicsContextBase) -> None:
        box = gc.get_clip_rectangle()
        if box is not None:
            path = self._canvas.beginPath()
            path.rect(*box.bounds)
            self._canvas.clipPath(path, stroke=0, fill=0)
        shape, transform = gc.get_clip_path()
        if shape is not None and transform is not None:
            self._canvas.clipPath(self._traced(cast("Path", shape), transform), stroke=0, fill=0)

    def _traced(self, path: Path, transform: Transform) -> Any:
        """Return a path of the page."""
        page = self._canvas.beginPath()
        here = np.zeros(2)
        for points, code in path.iter_segments(transform, simplify=False):
            at = np.asarray(points, dtype=float)
            if code == Path.MOVETO:
                page.moveTo(*at)
            elif code == Path.LINETO:
                page.lineTo(*at)
            elif code == Path.CURVE3:
                handle, end = at[:2], at[2:]
                first, second = here + 2.0 / 3.0 * (handle - here), end + 2.0 / 3.0 * (handle - end)
                page.curveTo(*first, *second, *end)
            elif code == Path.CURVE4:
                page.curveTo(*at)
            elif code == Path.CLOSEPOLY:
                page.close()
                continue
            here = at[-2:]
        return page


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
