"""How does a drawing become a PNG that is the same each time?

No pyplot, no global settings, no dates.
"""

from __future__ import annotations

import io
import warnings
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from portgeom.output.charts.chart_style import STYLE, Style

if TYPE_CHECKING:
    from matplotlib.figure import Figure

FONTS = ["DejaVu Sans", "Verdana", "Geneva", "sans-serif"]
"""The first comes with matplotlib and measures the text; the others are as wide, on Windows and macOS."""


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


def png_bytes(figure: Figure, *, dpi: float) -> bytes:
    """Return a figure as a PNG, without a date."""
    out = io.BytesIO()
    figure.savefig(out, format="png", dpi=dpi, metadata={"Software": None}, pil_kwargs={"compress_level": 1})
    return out.getvalue()
