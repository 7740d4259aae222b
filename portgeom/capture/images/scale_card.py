"""Where are the marks of the printed scale card, and where do they lie in a picture?

The card is a sheet with nine ring marks round an empty field in which slices are laid. Eight stand at corners and
middles of a rectangle; the ninth tells which corner is which. All are found, or the picture has no scale: nine
marks fit a plane seen in perspective four times over, so that a bent sheet or a bent lens shows.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import combinations

import numpy as np

from portgeom.capture.images.file import Picture
from portgeom.capture.images.light import F32, light
from portgeom.capture.images.resolution import LEAST_DPI
from portgeom.capture.images.scale import Scale, fit_projection, project
from portgeom.capture.images.unsure import Unsure
from portgeom.geometry.arrays import F64, Bool, frozen
from portgeom.job.units import MM_PER_IN

HALF_WIDTH_MM, HALF_HEIGHT_MM = 85.0, 115.0
FIELD_MM = (76.0, 106.0)
"""Half the width and height of the field in which slices may lie."""

RING_MM, HOLE_MM, DOT_MM = 10.0, 6.0, 3.0
"""Diameters of a mark: a black ring, white within, a black dot in its middle."""

CORNERS_MM = frozen(
    [
        [-HALF_WIDTH_MM, HALF_HEIGHT_MM],
        [HALF_WIDTH_MM, HALF_HEIGHT_MM],
        [HALF_WIDTH_MM, -HALF_HEIGHT_MM],
        [-HALF_WIDTH_MM, -HALF_HEIGHT_MM],
    ]
)
"""Clockwise from the top left, about the card's middle, y up. A is the first, B the last."""

MARKS_MM = frozen(
    [
        *CORNERS_MM,
        [0.0, HALF_HEIGHT_MM],
        [HALF_WIDTH_MM, 0.0],
        [0.0, -HALF_HEIGHT_MM],
        [-HALF_WIDTH_MM, 0.0],
        [-55.0, HALF_HEIGHT_MM],
    ]
)
A_TO_B_MM = 2.0 * HALF_HEIGHT_MM

COARSE_PX = 1600
INK_SHARE = 0.5
"""Print gives back less than this share of the light of the paper beside it."""

LEAST_DOT_PX = 6
DOT_BOX = (2.3, 4.8)
RING_AREA = (3.5, 14.0)
"""Bounds of ring to dot: of their boxes (drawn 3.3) and of their areas (drawn 7.1), for blur and slant."""

MOST_CANDIDATES = 14
ASTRAY_MM = 3.0
BENT_MM = 0.4
UNEVEN_MM = 0.15
LEAST_WEIGHT = 0.25


def by_card(picture: Picture, *, distance_mm: float | None = None) -> Scale:
    """Return the scale of a picture that shows the printed scale card, seen from any side.

    Parameters
    ----------
    distance_mm : float or None
        From A to B as measured on the print; None for as drawn.

    Raises
    ------
    Unsure
        If not all nine marks are found, they do not fit a flat card, or the card is too small in the picture.
    """
    marks = _find_marks(picture)
    drawn = (distance_mm or A_TO_B_MM) / A_TO_B_MM
    matched = _matched(marks)
    if matched is None:
        raise Unsure(
            f"shows {len(marks)} ring marks that do not make up the scale card",
            "show the whole card, keep slices and shadows off its nine marks, and do not mirror the picture",
            about="scale",
        )
    matrix = fit_projection(matched, drawn * MARKS_MM)
    off_mm = float(np.hypot(*(project(matrix, matched) - drawn * MARKS_MM).T).max())
    if off_mm > BENT_MM:
        raise Unsure(
            f"the scale card is bent in it: a mark lies {off_mm:.2f} mm from where a flat card has it",
            "flatten the card; take the picture from further away, with the lens zoomed in",
            about="scale",
        )
    x, y = FIELD_MM
    field = drawn * np.array([[-x, y], [x, y], [x, -y], [-x, -y]])
    field_px = project(np.asarray(np.linalg.inv(matrix), dtype=np.float64), field)
    scale = Scale(
        frozen(matrix),
        "the printed scale card" + ("" if distance_mm is None else f", A to B {distance_mm:.1f} mm"),
        off_mm / HALF_HEIGHT_MM,
        frozen(field_px),
        _notes(off_mm),
        "card",
    )
    dpi = MM_PER_IN / scale.mm_per_px(field_px.mean(axis=0))
    if dpi < LEAST_DPI:
        raise Unsure(f"shows the card with {dpi:.0f} pixels to the inch", "go nearer, or zoom in", about="scale")
    return scale


def _notes(off_mm: float) -> tuple[str, ...]:
    plane = (
        "the traced face is taken to lie in the card's plane: one 5 mm nearer a lens 500 mm away traces 1 percent too "
        "large; --above and --camera put that right"
    )
    if off_mm <= UNEVEN_MM:
        return (plane,)
    return (plane, f"the card is not quite flat or the lens bends it: its marks are off by up to {off_mm:.2f} mm")


@dataclass(frozen=True, slots=True)
class _Patch:
    middle: F64
    size: F64
    area: float


def _find_marks(picture: Picture) -> F64:
    """Return (n, 2) the middles of all ring marks, in pixels, to a few hundredths of one."""
    factor = max(1, -(-max(picture.width, picture.height) // COARSE_PX))
    patches = _patches(_printed(light(picture.reduced(factor), "grey", coding="srgb")))
    middles = np.array([p.middle for p in patches]).reshape(-1, 2)
    found = []
    for ring in patches:
        near = np.flatnonzero(np.hypot(*(middles - ring.middle).T) < 0.15 * float(ring.size.max()))
        if any(_is_dot_of(patches[int(k)], ring) for k in near):
            found.append(ring)
    found = sorted(found, key=lambda p: -p.area)[:MOST_CANDIDATES]
    return np.array([_middle(picture, p, factor) for p in found]).reshape(-1, 2)


def _printed(seen: F32) -> Bool:
    """Return (h, w) what is much darker than the lightest thing about it."""
    from scipy import ndimage

    reach = max(seen.shape) // 16
    lightest = ndimage.maximum_filter(seen[::4, ::4], max(3, reach // 4))
    rows, columns = (np.minimum(np.arange(n) // 4, m - 1) for n, m in zip(seen.shape, lightest.shape, strict=True))
    return seen < INK_SHARE * lightest[rows][:, columns]


def _patches(printed: Bool) -> list[_Patch]:
    from scipy import ndimage

    labels, count = ndimage.label(printed, np.ones((3, 3), dtype=bool))
    areas = np.bincount(labels.ravel(), minlength=count + 1)[1:]
    boxes = ndimage.find_objects(labels)
    found = []
    for k in np.flatnonzero(areas >= LEAST_DOT_PX):
        rows, columns = boxes[k]
        size = np.array([columns.stop - columns.start, rows.stop - rows.start], dtype=np.float64)
        if size.max() > 3.0 * size.min() or size.max() > 0.1 * max(printed.shape):
            continue
        row, column = np.nonzero(labels[rows, columns] == k + 1)
        middle = np.array([columns.start + column.mean(), rows.start + row.mean()])
        found.append(_Patch(middle, size, float(areas[k])))
    return found


def _is_dot_of(dot: _Patch, ring: _Patch) -> bool:
    box = ring.size / dot.size
    return bool(
        (box > DOT_BOX[0]).all() and (box < DOT_BOX[1]).all() and RING_AREA[0] < ring.area / dot.area < RING_AREA[1]
    )


def _middle(picture: Picture, ring: _Patch, factor: int) -> F64:
    """Return (2,) the middle of a mark: the centroid of what its ink takes from the light."""
    middle, reach = (ring.middle + 0.5) * factor - 0.5, 0.6 * factor * ring.size
    left, top = (int(x) for x in np.maximum(0, np.floor(middle - reach)))
    right, bottom = (int(x) for x in np.ceil(middle + reach) + 1)
    seen = light(picture.pixels[top:bottom, left:right], "grey", coding="srgb").astype(np.float64)
    paper, ink = np.percentile(seen, 90.0), np.percentile(seen, 5.0)
    weight = np.clip((paper - seen) / max(float(paper - ink), 1e-3), 0.0, 1.0)
    weight[weight < LEAST_WEIGHT] = 0.0
    rows, columns = np.mgrid[: seen.shape[0], : seen.shape[1]]
    inside = ((columns + left - middle[0]) / reach[0]) ** 2 + ((rows + top - middle[1]) / reach[1]) ** 2 <= 1.0
    weight = weight * inside
    total = float(weight.sum())
    return np.array([float((weight * columns).sum()) / total + left, float((weight * rows).sum()) / total + top])


def _matched(found_px: F64) -> F64 | None:
    """Return (9, 2) the marks in the order of ``MARKS_MM``, or None if they do not make up the card."""
    best: tuple[float, F64] | None = None
    for corners in _quadrilaterals(found_px):
        there = project(fit_projection(CORNERS_MM, corners), MARKS_MM)
        apart = np.hypot(*(there[:, None] - found_px).transpose(2, 0, 1))
        own = apart.argmin(axis=1)
        # a pixel is worth as many mm here as the card's left side says
        mm_per_px = A_TO_B_MM / float(np.hypot(*(corners[3] - corners[0])))
        off = float(apart.min(axis=1).max()) * mm_per_px
        if len(set(own.tolist())) == len(MARKS_MM) and off < ASTRAY_MM and (best is None or off < best[0]):
            best = (off, found_px[own])
    return None if best is None else best[1]


def _quadrilaterals(found_px: F64) -> Iterator[F64]:
    """Yield (4, 2) every way to take four marks for the card's corners, clockwise as seen."""
    if len(found_px) < len(MARKS_MM):
        return
    for four in combinations(range(len(found_px)), 4):
        corners = found_px[list(four)]
        away = corners - corners.mean(axis=0)
        # rows run downwards, so rising angles are clockwise to the eye
        corners = corners[np.argsort(np.arctan2(away[:, 1], away[:, 0]))]
        sides = np.roll(corners, -1, axis=0) - corners
        turns = sides[:, 0] * np.roll(sides[:, 1], -1) - sides[:, 1] * np.roll(sides[:, 0], -1)
        if (turns <= 0.05 * np.hypot(*sides.T) ** 2).any():
            continue
        for first in range(4):
            yield np.roll(corners, -first, axis=0)
