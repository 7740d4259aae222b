"""How does a drawing become SVG text or a PNG that is the same each time and can share a page?

No pyplot, no global settings, no dates, no fonts fetched: text stays text in whatever of the named fonts
the reader has, and every id carries a prefix so that many drawings fit in one page.
"""

from __future__ import annotations

import io
import re
from collections.abc import Iterator
from contextlib import contextmanager
from html import escape
from typing import TYPE_CHECKING

from portgeom.geometry.arrays import F64
from portgeom.output.chart_style import STYLE, Style

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

FONTS = ["DejaVu Sans", "Verdana", "Geneva", "sans-serif"]
"""The first comes with matplotlib and measures the text; the others are as wide, on Windows and macOS."""


@contextmanager
def look(style: Style = STYLE) -> Iterator[None]:
    """Draw within this: the settings that hold while a figure is made and written."""
    import matplotlib

    settings = {
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
    with matplotlib.rc_context(settings):
        yield


def new_figure(width_in: float, height_in: float) -> Figure:
    """Return an empty figure that no window system knows of."""
    from matplotlib.backends.backend_agg import FigureCanvasAgg
    from matplotlib.figure import Figure

    figure = Figure(figsize=(width_in, height_in))
    FigureCanvasAgg(figure)
    return figure


def quiet_grid(axes: Axes, *, axis: str = "both") -> None:
    """Lay a faint grid behind what is drawn."""
    axes.grid(True, axis=axis)
    axes.set_axisbelow(True)


def equal_axes(figure: Figure, low: F64, high: F64, *, across_in: float, tallest_in: float) -> Axes:
    """Return axes from ``low`` to ``high`` (2,) at one scale both ways, and set the figure's height to suit.

    ``across_in`` is the figure's width; the axes leave room for a legend above and one row of labels below.
    """
    left, right, foot, head = 0.78, 0.14, 0.52, 0.34
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


def short(name: str, most: int = 6) -> str:
    """Return a name short enough to stand beside a mark."""
    return name if len(name) <= most else name[: most - 1] + "…"


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
    head = f'<svg {size.group(0) if size else ""} role="img" aria-label="{escape(describe)}">'
    return head + rest.replace(' xlink:href="data:', ' href="data:')


def svg_file(figure: Figure, *, describe: str) -> bytes:
    """Return a figure as an SVG file of its own."""
    text = _written(figure)
    _, attributes, rest = _parted(text)
    return f"<svg {attributes}>\n<title>{escape(describe)}</title>{rest}".encode()


def png_bytes(figure: Figure, *, dpi: float) -> bytes:
    """Return a figure as a PNG, without a date."""
    out = io.BytesIO()
    figure.savefig(out, format="png", dpi=dpi, metadata={"Software": None})
    return out.getvalue()


def _written(figure: Figure) -> str:
    out = io.StringIO()
    figure.savefig(out, format="svg", dpi=100, metadata={"Date": None, "Creator": None, "Type": None})
    text = re.sub(r"<metadata>.*?</metadata>", "", out.getvalue(), flags=re.DOTALL)
    return re.sub(r"-?\d+\.\d{3,}(?![\w.])", _shorter, text)


def _shorter(number: re.Match[str]) -> str:
    """Return a number to a hundredth of a point: thinner than any line that is drawn."""
    return f"{float(number.group(0)):.2f}".rstrip("0").rstrip(".")


def _parted(text: str) -> tuple[str, str, str]:
    """Return what stands before the svg element, its attributes, and what follows its opening."""
    match = re.search(r"<svg\b([^>]*)>", text)
    assert match is not None
    return text[: match.start()], match.group(1).strip(), text[match.end() :]
