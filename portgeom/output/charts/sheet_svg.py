"""How does a drawing become SVG text, for the inside of a page or as a file of its own?

Everything is said in attributes, nothing in style rules, so that a page can forbid every style but its own.
"""

from __future__ import annotations

import base64
import io
from collections.abc import Iterable
from functools import lru_cache
from html import escape

import numpy as np

from portgeom.geometry.arrays import F64
from portgeom.output.charts.chart_style import Bytes as Pixels
from portgeom.output.charts.figures import Picture
from portgeom.output.charts.sheet import Curve, Mark, Painting, Region, Sheet, Spot, Stroke, Words
from portgeom.output.words.names import harmless

FONTS = "DejaVu Sans, Verdana, Geneva, sans-serif"
BASELINE = 0.35
"""How far below its middle a line of text stands, as a share of its size."""

WEBP_QUALITY = 80
"""At this quality no edge of a painted port is seen to blur."""

WEBP_EFFORT = 1
"""Of 0 to 6: more would save a few percent of size and cost twice the time."""

STRAIGHT = 0.05
"""A point that lies within so many points of a straight run is not told: a twentieth of a line's width."""

FEW = 12
"""Paths of fewer points are told as they are."""

FINE = 256
"""An image with more colours than this is written in full colour."""


def svg_of(drawing: Sheet, *, name: str, describe: str, shared: bool = False) -> str:
    """Return a drawing as SVG for the inside of an HTML page.

    Parameters
    ----------
    name : str
        Put before every id; letters, digits and dashes.
    describe : str
        What the drawing shows, for a reader who cannot see it.
    shared : bool
        Whether its marks are one group of that name, so that the page can show them again elsewhere.
    """
    cursor = f' data-cursor="{cursor_text(drawing.cursor)}"' if len(drawing.cursor) else ""
    marks = _marks(drawing, name, shared=shared)
    return (
        f'<svg viewBox="0 0 {_n(drawing.width)} {_n(drawing.height)}" role="img" '
        f'aria-label="{_escaped(describe)}"{cursor} font-family="{FONTS}">{marks}</svg>'
    )


def svg_file_of(drawing: Sheet, *, describe: str) -> bytes:
    """Return a drawing as an SVG file."""
    wide, tall = _n(drawing.width), _n(drawing.height)
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{wide}pt" height="{tall}pt" viewBox="0 0 {wide} {tall}" '
        f'font-family="{FONTS}"><title>{_escaped(describe)}</title>'
        f'<rect width="{wide}" height="{tall}" fill="#ffffff"/>{_marks(drawing, "d")}</svg>\n'
    ).encode()


def cursor_text(rows: F64) -> str:
    """Return cursor rows as text: numbers with commas between, rows with semicolons."""
    return ";".join(",".join(f"{v:.5g}" if k == 0 else _n(float(v)) for k, v in enumerate(row)) for row in rows)


def _marks(drawing: Sheet, name: str, *, shared: bool = False) -> str:
    """Return all marks as one group, which says once what most of them have in common."""
    parts = [_mark(mark, f"{name}-{k}") for k, mark in enumerate(drawing.marks)]
    group = f' id="{name}"' if shared else ""
    return f'<g{group} fill="none" stroke-linejoin="round" stroke-linecap="round">{"".join(parts)}</g>'


def _mark(mark: Mark, name: str) -> str:
    if isinstance(mark, Curve):
        return f'<path d="{_path(mark.points)}"{_stroke(mark.stroke)}/>'
    if isinstance(mark, Region):
        opacity = "" if mark.opacity >= 1.0 else f' fill-opacity="{_n(mark.opacity)}"'
        edge = "" if mark.edge is None else _stroke(mark.edge)
        fill = f' fill="{mark.fill}"' if mark.fill else ""
        return f'<path d="{_path(mark.points)}Z"{fill}{opacity}{edge}/>'
    if isinstance(mark, Spot):
        return _spot(mark)
    if isinstance(mark, Words):
        return _words(mark)
    return _painting(mark, name)


def _spot(spot: Spot) -> str:
    (x, y), r = spot.at, 0.5 * spot.size
    if spot.shape == "dot":
        edge = f' stroke="{spot.edge}" stroke-width="1"' if spot.edge else ""
        return f'<circle cx="{_n(x)}" cy="{_n(y)}" r="{_n(r)}" fill="{spot.colour}"{edge}/>'
    if spot.shape == "diamond":
        corners = f"M{_n(x - r)},{_n(y)}L{_n(x)},{_n(y - r)} {_n(x + r)},{_n(y)} {_n(x)},{_n(y + r)}Z"
        return f'<path d="{corners}" fill="{spot.colour}"/>'
    upright = f"M{_n(x)},{_n(y - r)}V{_n(y + r)}"
    lying = f"M{_n(x - r)},{_n(y)}H{_n(x + r)}" if spot.shape == "plus" else ""
    return f'<path d="{upright}{lying}" stroke="{spot.colour}" stroke-width="1.4" stroke-linecap="butt"/>'


def _words(words: Words) -> str:
    if not words.text:
        return ""
    x, y = float(words.at[0]), float(words.at[1])
    turned = f' transform="rotate(-90 {_n(x)} {_n(y)})"' if words.turned else ""
    anchor = "" if words.anchor == "start" else f' text-anchor="{words.anchor}"'
    bold = ' font-weight="bold"' if words.bold else ""
    ground = ""
    if words.ground is not None:
        ground = f' stroke="{words.ground}" stroke-width="3" paint-order="stroke"'
    return (
        f'<text x="{_n(x)}" y="{_n(y + BASELINE * words.size)}" font-size="{_n(words.size)}" fill="{words.colour}"'
        f"{anchor}{bold}{ground}{turned}>{_escaped(words.text)}</text>"
    )


def _painting(image: Painting, name: str) -> str:
    (x0, y0), (x1, y1) = image.low, image.high
    made = photo_of(image.pixels) if image.photo else Picture("image/png", image_bytes(image.pixels))
    data = base64.b64encode(made.data).decode("ascii")
    clip = frame = ""
    if image.ring is not None:
        frame = f'<clipPath id="{name}"><path d="{_path(image.ring)}Z"/></clipPath>'
        clip = f' clip-path="url(#{name})"'
    return (
        f'{frame}<image x="{_n(x0)}" y="{_n(y0)}" width="{_n(x1 - x0)}" height="{_n(y1 - y0)}" '
        f'preserveAspectRatio="none"{clip} href="data:{made.media_type};base64,{data}"/>'
    )


def image_bytes(pixels: Pixels) -> bytes:
    """Return an image as a PNG, a byte a point where it has few enough colours."""
    from PIL import Image

    code = (pixels.astype(np.uint32) * np.array([65536, 256, 1], dtype=np.uint32)).sum(axis=2)
    colours, index = np.unique(code, return_inverse=True)
    if len(colours) > FINE:
        image = Image.fromarray(pixels)
    else:
        image = Image.fromarray(index.reshape(code.shape).astype(np.uint8))
        parts = np.column_stack([colours >> 16, (colours >> 8) & 255, colours & 255])
        image.putpalette(parts.astype(np.uint8).tobytes())
    out = io.BytesIO()
    image.save(out, format="PNG", compress_level=4)
    return out.getvalue()


def photo_of(pixels: Pixels) -> Picture:
    """Return an image as WebP, a fifth of the PNG's size, or as PNG where Pillow cannot write WebP."""
    from PIL import Image, features

    if not features.check("webp"):
        return Picture("image/png", image_bytes(pixels))
    # named here, it is found without every other format being read in first
    from PIL import WebPImagePlugin  # noqa: F401

    out = io.BytesIO()
    Image.fromarray(pixels).save(out, format="WEBP", quality=WEBP_QUALITY, method=WEBP_EFFORT)
    return Picture("image/webp", out.getvalue())


def _stroke(stroke: Stroke) -> str:
    dashes = ""
    if stroke.dashes:
        dashes = f' stroke-dasharray="{" ".join(_n(d) for d in stroke.dashes)}" stroke-linecap="butt"'
    opacity = "" if stroke.opacity >= 1.0 else f' stroke-opacity="{_n(stroke.opacity)}"'
    return f' stroke="{stroke.colour}" stroke-width="{_n(stroke.width)}"{dashes}{opacity}'


def _path(points: F64) -> str:
    """Return a path in tenths of a point after the first, said as steps: a third shorter than places.

    Points that lie almost on a straight run are left out.
    """
    tenths = np.round(10.0 * _fewer(points)).astype(np.int64)
    steps = np.diff(tenths, axis=0)
    steps = steps[steps.any(axis=1)]
    first = f"M{_n(0.1 * float(tenths[0, 0]))},{_n(0.1 * float(tenths[0, 1]))}"
    return first + (f"l{' '.join(_steps(steps))}" if len(steps) else "")


def _fewer(points: F64) -> F64:
    if len(points) < FEW:
        return points
    import shapely

    return shapely.get_coordinates(shapely.simplify(shapely.LineString(points), STRAIGHT, preserve_topology=False))


def _steps(steps: np.ndarray[tuple[int, int], np.dtype[np.int64]]) -> Iterable[str]:
    for x, y in steps.tolist():
        yield f"{_tenths(x)},{_tenths(y)}"


@lru_cache(maxsize=8192)
def _tenths(value: int) -> str:
    whole, rest = divmod(abs(value), 10)
    sign = "-" if value < 0 else ""
    return f"{sign}{whole}.{rest}" if rest else f"{sign}{whole}"


def _n(value: float) -> str:
    """Return a number to a hundredth of a point: thinner than any line that is drawn."""
    text = f"{float(value):.2f}".rstrip("0").rstrip(".")
    return "0" if text == "-0" else text


def _escaped(words: str) -> str:
    return escape(harmless(words), quote=True)
