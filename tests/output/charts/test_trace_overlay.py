"""The overlay shows the edge where it was traced: held against the picture it is drawn over."""

from __future__ import annotations

import io

import numpy as np
from PIL import Image
from scan_simulation import Optics, Shape, Sheet, disc, scan

from portgeom.capture.images.file import Picture
from portgeom.capture.images.resolution import Claim
from portgeom.capture.images.scale import by_dpi
from portgeom.capture.tracing.trace import trace_picture
from portgeom.capture.tracing.traced import Traced, Wish
from portgeom.output.charts.trace_overlay import DPI, EDGE, FOOT_IN, HAIR, HEAD_IN, overlay_png
from portgeom.output.words.shown import Shown

PICTURE_DPI = 150.0
BOX = 0.5 * np.array([[-40.0, -30.0], [40.0, -30.0], [40.0, 30.0], [-40.0, 30.0]])


def traced(shapes: list[Shape], wish: Wish | None = None) -> Traced:
    codes = scan(Sheet(70.0, 60.0, 0.8, shapes), PICTURE_DPI, Optics(blur_px=0.6, uneven=0.1, noise=0.01), seed=1)
    picture = Picture("scan.png", codes[..., None], Claim(None, None, ""))
    return trace_picture(picture, by_dpi(PICTURE_DPI, PICTURE_DPI, "as simulated"), wish or Wish())


def drawn(found: Traced) -> np.ndarray:
    """Return (h, w, 3) the overlay without its words above and below."""
    numbers = {s.number: s.number for s in found.slices}
    with Image.open(io.BytesIO(overlay_png(found, numbers, Shown("mm")))) as image:
        whole = np.asarray(image.convert("RGB")).astype(int)
    return whole[round(HEAD_IN * DPI) : len(whole) - round(FOOT_IN * DPI)]


def near(image: np.ndarray, colour: str) -> np.ndarray:
    wanted = [int(colour[k : k + 2], 16) for k in (1, 3, 5)]
    return np.abs(image - wanted).max(axis=2) < 60


def test_the_edge_is_drawn_round_the_slice_at_its_size() -> None:
    image = drawn(traced([Shape(BOX + [35.0, 30.0], 0.1)]))
    rows, columns = np.nonzero(near(image, EDGE))
    # 8 mm of sheet are shown round the slice
    px_per_mm = image.shape[1] / 56.0
    # the origin's cross has the edge's colour and lies inside
    assert abs(np.ptp(columns) / px_per_mm - 40.0) < 0.5
    assert abs(np.ptp(rows) / px_per_mm - 30.0) < 0.5
    # dark inside the line, pale outside it
    middle = image[image.shape[0] // 2]
    first = int(columns.min())
    assert middle[first + 12].mean() < 120 < middle[max(0, first - 12)].mean()


def test_words_do_not_hide_the_edge_and_hairs_are_marked() -> None:
    hair = Shape(np.array([[50.0, 29.8], [62.0, 29.8], [62.0, 30.1], [50.0, 30.1]]), 0.05)
    plain, haired = (
        drawn(traced([Shape(BOX + [35.0, 30.0], 0.1)])),
        drawn(traced([Shape(BOX + [35.0, 30.0], 0.1), hair])),
    )
    assert near(plain, HAIR).sum() == 0
    assert near(haired, HAIR).sum() > 20


def test_the_figure_is_the_same_each_time() -> None:
    found = traced([Shape(BOX + [35.0, 30.0], 0.1), Shape(disc(6.0, 6.0, 0.8), 0.1)])
    assert overlay_png(found, {1: 1}, Shown("mm")) == overlay_png(found, {1: 1}, Shown("mm"))
