"""How does a drawing become SVG text or a PNG that is the same each time and can share a page?

No pyplot, no global settings, no dates, no fonts fetched: text stays text in whatever of the named fonts
the reader has, and every id carries a prefix so that many drawings fit in one page.
"""

from __future__ import annotations

import io
import re
import warnings
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from html import escape
from typing import TYPE_CHECKING, Any, Literal

import numpy as np

from portgeom.geometry.arrays import F64
from portgeom.output.charts.chart_style import STYLE, Style
from portgeom.output.words.names import harmless

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

FONTS = ["DejaVu Sans", "Verdana", "Geneva", "sans-serif"]
"""The first comes with matplotlib and measures the text; the others are as wide, on Windows and macOS."""


NUMBER = re.compile(r"-?\d+\.\d{3,}(?![\w.])")
"""A number with more decimals than a drawing needs."""

WEBP_QUALITY = 90
"""At this quality no edge of a drawn letter or line is seen to blur."""

WEBP_EFFORT = 2
"""Of 0 to 6: more would save a few percent of size and cost twice the time."""


@dataclass(frozen=True, slots=True)
class Picture:
    """An image file's content and its media type."""

    media_type: str
    data: bytes


@contextmanager
def look(style: Style = STYLE) -> Iterator[None]:
    """Draw within this: the settings that hold while a figure is made and written."""
    import matplotlib

    settings: dict[Any, Any] = {
        "font.family": ["sans-serif"],
        "font.sans-serif": FONTS,
        "font.size": style.font_size,
        "text.color": style.ink,
        "text.parse_math": False,
        "axes.edgecolor": style.quiet,
        "axes.labelcolor": style.ink,
        "axes.titlesize": style.font_size,
        "axes.linewidth": style.thin_width,
        "axes.spines.top": False,
        "axes.spines.right": False,
        "axes.unicode_minus": True,
        "xtick.color": style.quiet,
        "ytick.color": style.quiet,
        "xtick.labelcolor": style.ink,
        "ytick.labelcolor": style.ink,
        "grid.color": style.faint,
        "grid.linewidth": style.thin_width,
        "lines.linewidth": style.line_width,
        "lines.solid_capstyle": "round",
        "legend.frameon": False,
        "legend.fontsize": style.small_size,
        "figure.facecolor": style.paper,
        "savefig.facecolor": style.paper,
        "svg.fonttype": "none",
        "svg.hashsalt": "portgeom",
        "path.simplify": True,
    }
    with matplotlib.rc_context(settings), warnings.catch_warnings():
        # a name may hold a character that the measuring font has not; the reader's fonts may well
        warnings.filterwarnings("ignore", message="Glyph .* missing from font", category=UserWarning)
        yield


def new_figure(width_in: float, height_in: float) -> Figure:
    """Return an empty figure that no window system knows of."""
    from matplotlib.backends.backend_agg import FigureCanvasAgg
    from matplotlib.figure import Figure

    figure = Figure(figsize=(width_in, height_in))
    FigureCanvasAgg(figure)
    return figure


def quiet_grid(axes: Axes, *, axis: Literal["both", "x", "y"] = "both") -> None:
    """Lay a faint grid behind what is drawn."""
    axes.grid(True, axis=axis)
    axes.set_axisbelow(True)


def spaced(places: F64, gap: float) -> list[int]:
    """Return which of some places (n,) or (n, 2) to name so that no two names stand closer than ``gap``.

    Examples
    --------
    >>> spaced(np.array([0.0, 1.0, 4.0, 4.5]), 2.0)
    [0, 2]
    """
    points = places.reshape(len(places), -1)
    kept: list[int] = []
    for k, point in enumerate(points):
        if all(np.linalg.norm(point - points[j]) >= gap for j in kept):
            kept.append(k)
    return kept


def equal_axes(figure: Figure, low: F64, high: F64, *, across_in: float, tallest_in: float) -> Axes:
    """Return axes from ``low`` to ``high`` (2,) at one scale both ways, and set the figure's height to suit.

    ``across_in`` is the figure's width; the axes leave room for a legend above and one row of labels below.
    """
    left, right, foot, head = 0.78, 0.14, 0.52, 0.44
    size = high - low
    scale = min((across_in - left - right) / size[0], tallest_in / size[1])
    wide, tall = float(size[0] * scale), float(size[1] * scale)
    height = tall + foot + head
    figure.set_size_inches(across_in, height)
    start = left + 0.5 * (across_in - left - right - wide)
    axes = figure.add_axes((start / across_in, foot / height, wide / across_in, tall / height))
    axes.set_xlim(float(low[0]), float(high[0]))
    axes.set_ylim(float(low[1]), float(high[1]))
    return axes


def svg_text(figure: Figure, *, name: str, describe: str) -> str:
    """Return a figure as SVG for the inside of an HTML page.

    Parameters
    ----------
    name : str
        Put before every id; letters, digits and dashes.
    describe : str
        What the drawing shows, for a reader who cannot see it.
    """
    text = _written(figure)
    text = re.sub(r'\bid="', f'id="{name}-', text)
    text = re.sub(r'xlink:href="#', f'href="#{name}-', text)
    text = re.sub(r"url\(#", f"url(#{name}-", text)
    _, attributes, rest = _parted(text)
    size = re.search(r'viewBox="[^"]*"', attributes)
    head = f'<svg {size.group(0) if size else ""} role="img" aria-label="{escape(harmless(describe))}">'
    return head + rest.replace(' xlink:href="data:', ' href="data:')


def svg_file(figure: Figure, *, describe: str) -> bytes:
    """Return a figure as an SVG file of its own."""
    text = _written(figure)
    _, attributes, rest = _parted(text)
    return f"<svg {attributes}>\n<title>{escape(harmless(describe))}</title>{rest}".encode()


def png_bytes(figure: Figure, *, dpi: float) -> bytes:
    """Return a figure as a PNG, without a date."""
    out = io.BytesIO()
    figure.savefig(out, format="png", dpi=dpi, metadata={"Software": None}, pil_kwargs={"compress_level": 1})
    return out.getvalue()


def webp_bytes(figure: Figure, *, dpi: float) -> Picture:
    """Return a figure as WebP, a fifth of the PNG's size, or as PNG where Pillow cannot write WebP."""
    from PIL import Image, features

    if not features.check("webp"):
        return Picture("image/png", png_bytes(figure, dpi=dpi))
    figure.set_dpi(dpi)
    canvas: Any = figure.canvas  # matplotlib leaves these methods of its canvas untyped
    canvas.draw()
    out = io.BytesIO()
    image = Image.fromarray(np.asarray(canvas.buffer_rgba())[..., :3])
    image.save(out, format="WEBP", quality=WEBP_QUALITY, method=WEBP_EFFORT)
    return Picture("image/webp", out.getvalue())


def _written(figure: Figure) -> str:
    out = io.StringIO()
    figure.savefig(out, format="svg", dpi=100, metadata={"Date": None, "Creator": None, "Type": None})
    text = re.sub(r"<metadata>.*?</metadata>", "", out.getvalue(), flags=re.DOTALL)
    text = re.sub(r"<!--.*?-->\n?", "", text, flags=re.DOTALL)
    # numbers in what is drawn are shortened, never those in words that a person reads
    return re.sub(r"<[^>]*>", lambda tag: NUMBER.sub(_shorter, tag.group(0)), text)


def _shorter(number: re.Match[str]) -> str:
    """Return a number to a hundredth of a point: thinner than any line that is drawn."""
    return f"{float(number.group(0)):.2f}".rstrip("0").rstrip(".")


def _parted(text: str) -> tuple[str, str, str]:
    """Return what stands before the svg element, its attributes, and what follows its opening."""
    match = re.search(r"<svg\b([^>]*)>", text)
    assert match is not None
    return text[: match.start()], match.group(1).strip(), text[match.end() :]
