"""What was traced, drawn over the picture or drawing it was traced from, so that a person sees whether it is right?"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt

from portgeom.geometry.arrays import F64
from portgeom.output.charts.chart_style import STYLE
from portgeom.output.charts.figures import look, new_figure, png_bytes
from portgeom.output.words.names import harmless
from portgeom.output.words.shown import Shown

if TYPE_CHECKING:
    from matplotlib.axes import Axes

    from portgeom.capture.tracing.batch import TracedSheet
    from portgeom.capture.tracing.drawn import TracedDrawing
    from portgeom.capture.tracing.traced import Slice, Traced

DPI = 150.0
LONGEST_PX = 1700
LEAST_PX = 1400.0
"""A small picture is drawn larger, so that words have room beside the edges."""

MARGIN_MM = 8.0
LEAST_ARROW_MM = 4.0
WORD_EM = 0.6
"""Width of a letter, in its height."""

HEAD_IN = 0.62
FOOT_IN = 0.3
EDGE = "#e5007d"
HAIR = "#ff9100"
AXES = "#0091ea"
SPECK = "#7a5c00"
DRAWN = "#9e9e9e"


def overlay_png(traced: TracedSheet, numbers: dict[int, int], shown: Shown) -> bytes:
    """Return a PNG of the picture or drawing about its slices with every traced edge, its number, roof and origin.

    ``numbers`` gives what each slice on the sheet, by its number there, is called.
    """
    from portgeom.capture.tracing.traced import Traced

    page = _picture_page(traced) if isinstance(traced, Traced) else _drawing_page(traced)
    left, right, bottom, top = page.ends
    wide_in, tall_in = (side * page.inches_per_unit for side in (abs(right - left), abs(top - bottom)))
    wide_in = max(wide_in, 5.0)
    with look():
        figure = new_figure(wide_in, tall_in + HEAD_IN + FOOT_IN)
        high = tall_in + HEAD_IN + FOOT_IN
        axes = figure.add_axes((0.0, FOOT_IN / high, 1.0, tall_in / high))
        axes.set_axis_off()
        if page.codes is not None:
            axes.imshow(page.codes, cmap="gray", vmin=0, vmax=255, extent=page.ends, interpolation="antialiased")
        for line in page.lines:
            axes.plot(*line.T, color=DRAWN, linewidth=0.8)
        for slice_ in traced.slices:
            _draw_slice(axes, traced, slice_, numbers[slice_.number], shown)
        if isinstance(traced, Traced):
            _draw_specks(axes, traced)
        axes.set_xlim(left, right)
        axes.set_ylim(bottom, top)
        axes.set_aspect("equal", adjustable="box")
        _head(figure, traced, high)
        return png_bytes(figure, dpi=DPI)


@dataclass(frozen=True, slots=True)
class _Page:
    """What lies under the traced edges: codes of a picture, or lines of a drawing.

    ``ends`` are the left, right, bottom and top of what is shown, in pixels or in mm.
    """

    ends: tuple[float, float, float, float]
    inches_per_unit: float
    codes: npt.NDArray[np.uint8] | None
    lines: tuple[F64, ...]


def _picture_page(traced: Traced) -> _Page:
    left, top, right, bottom = _window(traced)
    factor = max(1, -(-max(right - left, bottom - top) // LONGEST_PX))
    left, top = left - left % factor, top - top % factor
    codes = traced.picture.reduced(factor)[top // factor : -(-bottom // factor), left // factor : -(-right // factor)]
    tall, wide = codes.shape[:2]
    if codes.dtype == np.uint16:
        codes = (codes // 257).astype(np.uint8)
    ends = (left - 0.5, left - 0.5 + wide * factor, top - 0.5 + tall * factor, top - 0.5)
    scale_up = max(1.0, LEAST_PX / max(wide, tall))
    grey = codes[..., 0] if codes.shape[2] == 1 else codes
    return _Page(ends, scale_up / (DPI * factor), grey.astype(np.uint8), ())


def _drawing_page(traced: TracedDrawing) -> _Page:
    sheet = traced.sheet
    lines = tuple(np.vstack([o.points_mm, o.points_mm[:1]]) for o in sheet.loops.outlines)
    edges = np.vstack([s.sheet_mm for s in traced.slices] + ([traced.marks_mm] if len(traced.marks_mm) else []))
    low, high = edges.min(axis=0), edges.max(axis=0)
    margin = max(0.06 * float((high - low).max()), 1e-3)
    (left, bottom), (right, top) = (low - margin).tolist(), (high + margin).tolist()
    per_mm = LEAST_PX / DPI / max(right - left, top - bottom)
    return _Page((left, right, bottom, top), per_mm, None, (*sheet.beside_mm, *lines))


def _window(traced: Traced) -> tuple[int, int, int, int]:
    """Return the pixels to show: all slices and marks beside them, and a margin."""
    sheet = np.vstack([s.sheet_mm for s in traced.slices])
    low, high = sheet.min(axis=0) - MARGIN_MM, sheet.max(axis=0) + MARGIN_MM
    corners = np.array([[low[0], low[1]], [high[0], low[1]], [high[0], high[1]], [low[0], high[1]]])
    pixels = traced.scale.to_px(corners)
    first = np.maximum(0, np.floor(pixels.min(axis=0))).astype(int)
    last = np.minimum([traced.picture.width, traced.picture.height], np.ceil(pixels.max(axis=0)) + 1).astype(int)
    return int(first[0]), int(first[1]), int(last[0]), int(last[1])


def _draw_slice(axes: Axes, traced: TracedSheet, slice_: Slice, number: int, shown: Shown) -> None:
    place = slice_.placing
    edge = _px(traced, np.vstack([slice_.sheet_mm, slice_.sheet_mm[:1]]))
    axes.plot(*edge.T, color=EDGE, linewidth=0.9, solid_joinstyle="round")
    for hair in slice_.hairs_mm:
        axes.fill(*_px(traced, hair).T, facecolor=HAIR, edgecolor=HAIR, linewidth=1.2)
    for pocket in slice_.pockets_mm:
        axes.fill(*_px(traced, pocket).T, facecolor=HAIR, edgecolor=HAIR, alpha=0.6, linewidth=0.8)
    for bump in slice_.bumps:
        spot = _px(traced, bump.place_mm.reshape(1, 2))[0]
        axes.plot(*spot, marker="o", markersize=11, markerfacecolor="none", markeredgecolor=HAIR)
    for way, word in ((place.roof, "roof"), (place.right, "right")):
        # half way to the wall, so that neither the arrow nor its word lies on the edge
        least = min(LEAST_ARROW_MM, 0.4 * float(np.ptp(slice_.sheet_mm, axis=0).min()))
        reach = max(least, 0.5 * float(((slice_.sheet_mm - place.origin_mm) @ way).max()))
        ends = _px(traced, np.array([place.origin_mm, place.origin_mm + reach * way]))
        axes.annotate(
            "",
            xy=(ends[1, 0], ends[1, 1]),
            xytext=(ends[0, 0], ends[0, 1]),
            arrowprops={"arrowstyle": "-|>", "color": AXES, "linewidth": 1.2, "shrinkA": 0, "shrinkB": 0},
        )
        _label(axes, ends[1], word, AXES, STYLE.small_size, beyond=ends[1] - ends[0])
    origin = _px(traced, place.origin_mm.reshape(1, 2))[0]
    axes.plot(*origin, marker="+", color=EDGE, markersize=7, markeredgewidth=1.0)
    below = float(((slice_.sheet_mm - place.origin_mm) @ -place.roof).max())
    name = _px(traced, np.array([place.origin_mm - 0.4 * below * place.roof]))[0]
    words = f"{number}\n{shown.area(slice_.outline.area_mm2)}"
    _label(axes, name, words, STYLE.ink, STYLE.font_size)


def _draw_specks(axes: Axes, traced: Traced) -> None:
    if len(traced.specks_mm):
        places = _px(traced, traced.specks_mm)
        axes.plot(*places.T, linestyle="", marker="o", markersize=8, markerfacecolor="none", markeredgecolor=SPECK)


def _label(axes: Axes, place: F64, words: str, colour: str, size: float, *, beyond: F64 | None = None) -> None:
    """Write words about a place on the page, or beyond it in a direction so that they do not lie on an arrow's head."""
    box = {"boxstyle": "round,pad=0.18", "facecolor": STYLE.paper, "edgecolor": "none", "alpha": 0.82}
    off = np.zeros(2)
    if beyond is not None:
        way = beyond * (1.0, -1.0 if axes.yaxis_inverted() else 1.0) / np.hypot(*beyond)
        off = way * (0.5 * WORD_EM * size * len(words) + 3.0, size + 3.0)
    axes.annotate(
        words,
        xy=(place[0], place[1]),
        xytext=(off[0], off[1]),
        textcoords="offset points",
        color=colour,
        fontsize=size,
        ha="center",
        va="center",
        bbox=box,
    )


def _head(figure, traced: TracedSheet, high: float) -> None:  # type: ignore[no-untyped-def]
    from portgeom.capture.tracing.traced import Traced

    first = traced.slices[0].placing
    looking = "looking out; left and right were swapped" if first.mirrored else "looking in"
    lines = [
        harmless(traced.name),
        f"Scale: {traced.scale_words}. Seen {looking}. Roof {first.roof_words}. Origin: {first.origin_words}.",
    ]
    figure.text(0.1 / figure.get_figwidth(), 1.0 - 0.08 / high, lines[0], va="top", fontsize=STYLE.font_size)
    figure.text(
        0.1 / figure.get_figwidth(),
        1.0 - 0.28 / high,
        lines[1],
        va="top",
        fontsize=STYLE.small_size,
        wrap=True,
    )
    foot = "traced edge in magenta, "
    foot += "specks left out circled" if isinstance(traced, Traced) else "all else that is drawn in grey"
    if any(s.hairs_mm for s in traced.slices):
        foot += ", hairs cut off in orange"
    if any(s.pockets_mm for s in traced.slices):
        foot += ", pockets behind the wall cut off in orange"
    if any(s.bumps for s in traced.slices):
        foot += ", bumps that may be dust in an orange ring"
    figure.text(0.1 / figure.get_figwidth(), 0.07 / high, foot, va="bottom", fontsize=STYLE.small_size)


def _px(traced: TracedSheet, points_mm: F64) -> F64:
    return traced.to_page(points_mm)
