"""Where, to a fraction of a pixel, does a slice end?

Round each slice the light of the bare sheet and the light of the slice are each fitted with a smooth surface;
between the two, half way is the edge. Uneven light scales both alike and so falls out.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from portgeom.capture.image_file import Picture
from portgeom.capture.image_light import F32, light
from portgeom.capture.image_surface import LightSurface, fit_light
from portgeom.capture.image_unsure import Unsure
from portgeom.capture.scale import Scale
from portgeom.capture.trace_find import Coarse, Patch
from portgeom.geometry.arrays import F64
from portgeom.geometry.moments import polygon_moments

MARGIN_MM = 3.0
LIGHT_MARGIN_MM = 10.0
CLEAR_MM = 0.75
"""Light is measured no nearer an edge than this."""

BLUR_MM = 0.05
HALF = 0.5

LEAST_CONTRAST = 0.12
"""Of the lighter of the two."""

MOST_NOISE = 0.15
"""Standard deviation as a share of the step from sheet to slice, after the blur."""

LEAST_LIGHT_PX = 40
SLOPE_STEP_PX = 1.0
LEAST_SPOT_MM2 = 0.1


@dataclass(frozen=True, slots=True)
class Edge:
    """The boundary of one slice.

    Attributes
    ----------
    points_px : (n, 2) float
        Round the slice, in pixels of the picture, the first not repeated.
    width_px : (n,) float
        At each point, over how many pixels the light would pass from the sheet's to the slice's at its slope
        there: 2.5 standard deviations of the blur.
    spots_px : tuple of (m, 2) float
        Edges of patches inside the slice that are as light as the sheet, largest first.
    contrast, noise : float
        Step from sheet to slice as a share of the lighter; noise as a share of the step.
    """

    points_px: F64
    width_px: F64
    spots_px: tuple[F64, ...]
    contrast: float
    noise: float


def trace_edge(picture: Picture, coarse: Coarse, patch: Patch, scale: Scale) -> Edge:
    """Return the boundary of one slice.

    Raises
    ------
    Unsure
        If it stands out too little from the sheet, or does not close inside the picture.
    """
    from contourpy import contour_generator
    from scipy import ndimage

    pixel_mm = scale.mm_per_px(patch.middle_px)
    sheet, slice_ = _lights(coarse, patch, pixel_mm)
    contrast = _contrast(coarse, patch, sheet, slice_)
    window = _window(picture, coarse, patch, pixel_mm)
    left, top, right, bottom = window
    columns = coarse.to_coarse(np.arange(left, right, dtype=np.float64))
    rows = coarse.to_coarse(np.arange(top, bottom, dtype=np.float64))
    seen = light(picture.pixels[top:bottom, left:right], coarse.channel, coding=coarse.coding)
    under = sheet.over(columns, rows)
    share = (seen - under) / (slice_.over(columns, rows) - under)
    blur_px = BLUR_MM / pixel_mm
    share = ndimage.gaussian_filter(share, blur_px, truncate=3.0)
    noise = _noise(share, coarse, patch, window)
    if noise > MOST_NOISE:
        raise Unsure(
            f"{_at(patch)} stands out too little: its grain is {100.0 * noise:.0f} percent of the step in "
            "brightness at its edge",
            "scan with more contrast, or at a higher resolution",
            about="contrast",
        )
    lines = contour_generator(z=share).lines(HALF)
    inside = coarse.to_px(_deepest(coarse, patch)) - np.array([left, top])
    outer, spots = _chosen([np.asarray(line) for line in lines], inside, patch, pixel_mm)
    width = _widths(share, outer)
    offset = np.array([left, top], dtype=np.float64)
    return Edge(outer + offset, width, tuple(s + offset for s in spots), contrast, noise)


def _lights(coarse: Coarse, patch: Patch, pixel_mm: float) -> tuple[LightSurface, LightSurface]:
    """Return the light of the sheet round a slice and of the slice, over coarse pixels."""
    from scipy import ndimage

    coarse_mm = pixel_mm * coarse.factor
    clear = max(1, round(CLEAR_MM / coarse_mm))
    left, top, right, bottom = _grown(patch.box, round(LIGHT_MARGIN_MM / coarse_mm), coarse.light.shape)
    mask = coarse.labels[top:bottom, left:right] == patch.label
    near = ndimage.binary_erosion(coarse.bare[top:bottom, left:right], iterations=clear)
    own = ndimage.binary_erosion(mask, iterations=clear)
    if min(int(near.sum()), int(own.sum())) < LEAST_LIGHT_PX:
        raise Unsure(
            f"{_at(patch)} has too little bare sheet round it to measure the light by",
            "leave 5 mm between the slices, and between them and the rim",
            about="outline",
        )
    fits = []
    for where in (near, own):
        rows, columns = np.nonzero(where)
        values = coarse.light[top:bottom, left:right][where]
        fits.append(fit_light(columns + left, rows + top, values, degree=2))
    return fits[0], fits[1]


def _contrast(coarse: Coarse, patch: Patch, sheet: LightSurface, slice_: LightSurface) -> float:
    left, top, right, bottom = patch.box
    columns = np.linspace(left, right - 1, 9)
    rows = np.linspace(top, bottom - 1, 9)
    a, b = sheet.over(columns, rows), slice_.over(columns, rows)
    step = (b - a) if coarse.tone == "light" else (a - b)
    contrast = float((step / np.maximum(np.maximum(a, b), 1e-6)).min())
    if contrast < LEAST_CONTRAST:
        raise Unsure(
            f"{_at(patch)} differs from the sheet by {max(0.0, 100.0 * contrast):.0f} percent of its light",
            f"at least {100.0 * LEAST_CONTRAST:.0f} are needed: lay it on a sheet of another brightness",
            about="contrast",
        )
    return contrast


def _grown(box: tuple[int, int, int, int], by: int, shape: tuple[int, ...]) -> tuple[int, int, int, int]:
    left, top, right, bottom = box
    return max(0, left - by), max(0, top - by), min(shape[1], right + by), min(shape[0], bottom + by)


def _window(picture: Picture, coarse: Coarse, patch: Patch, pixel_mm: float) -> tuple[int, int, int, int]:
    """Return the pixels to look at: the patch and a margin."""
    margin = round(MARGIN_MM / (pixel_mm * coarse.factor)) + 1
    left, top, right, bottom = _grown(patch.box, margin, coarse.light.shape)
    f = coarse.factor
    return left * f, top * f, min(right * f, picture.width), min(bottom * f, picture.height)


def _noise(share: F32, coarse: Coarse, patch: Patch, window: tuple[int, int, int, int]) -> float:
    """Return the grain of sheet and slice, whichever is coarser, by medians."""
    left, top, right, bottom = window
    f = coarse.factor
    deviations = []
    labels = coarse.labels[top // f : -(-bottom // f), left // f : -(-right // f)] == patch.label
    bare = coarse.bare[top // f : -(-bottom // f), left // f : -(-right // f)]
    small = share[f // 2 :: f, f // 2 :: f][: labels.shape[0], : labels.shape[1]]
    for where, level in ((labels, 1.0), (bare, 0.0)):
        values = small[where[: small.shape[0], : small.shape[1]]]
        if len(values):
            deviations.append(1.4826 * float(np.median(np.abs(values - np.float32(level)))))
    return max(deviations, default=0.0)


def _deepest(coarse: Coarse, patch: Patch) -> F64:
    """Return (2,) the coarse pixel furthest inside a patch."""
    from scipy import ndimage

    left, top, right, bottom = patch.box
    depth = ndimage.distance_transform_edt(np.pad(coarse.labels[top:bottom, left:right] == patch.label, 1))
    row, column = np.unravel_index(int(np.argmax(depth)), depth.shape)
    return np.array([column - 1 + left, row - 1 + top], dtype=np.float64)


def _chosen(lines: list[F64], inside: F64, patch: Patch, pixel_mm: float) -> tuple[F64, tuple[F64, ...]]:
    """Return the closed line round the slice, and those of spots inside it, largest first."""
    closed = [line[:-1] for line in lines if len(line) > 3 and (line[0] == line[-1]).all()]
    areas = [abs(float(polygon_moments(line).area_mm2)) for line in closed]
    round_ = [k for k, line in enumerate(closed) if holds(line, inside)]
    if not round_:
        raise Unsure(
            f"the edge of {_at(patch)} does not close",
            "leave bare sheet all round the slice; look for a shadow or a hair across its edge",
            about="outline",
        )
    chosen = max(round_, key=lambda k: areas[k])
    outer = closed[chosen]
    least = LEAST_SPOT_MM2 / pixel_mm**2
    spots = sorted(
        (k for k in range(len(closed)) if k != chosen and areas[k] >= least and holds(outer, closed[k][0])),
        key=lambda k: -areas[k],
    )
    return outer, tuple(closed[k] for k in spots)


def holds(line: F64, point: F64) -> bool:
    """Return whether a closed line (n, 2) goes round a point (2,), by counting crossings."""
    a, b = line, np.roll(line, -1, axis=0)
    across = (a[:, 1] > point[1]) != (b[:, 1] > point[1])
    a, b = a[across], b[across]
    at = a[:, 0] + (point[1] - a[:, 1]) * (b[:, 0] - a[:, 0]) / (b[:, 1] - a[:, 1])
    return bool(np.count_nonzero(at > point[0]) % 2)


def _widths(share: F32, line: F64) -> F64:
    """Return (n,) over how many pixels the light passes from sheet to slice at each point of a line."""
    from scipy import ndimage

    along = np.roll(line, -2, axis=0) - np.roll(line, 2, axis=0)
    length = np.hypot(along[:, 0], along[:, 1])
    length[length == 0.0] = 1.0
    normal = np.column_stack([along[:, 1], -along[:, 0]]) / length[:, None]
    sides = [
        ndimage.map_coordinates(share, (line + sign * SLOPE_STEP_PX * normal).T[::-1], order=1, mode="nearest")
        for sign in (-1.0, 1.0)
    ]
    slope = np.abs(sides[1] - sides[0]) / (2.0 * SLOPE_STEP_PX)
    return 1.0 / np.maximum(slope.astype(np.float64), 1e-3)


def _at(patch: Patch) -> str:
    return f"the shape at pixel {patch.middle_px[0]:.0f},{patch.middle_px[1]:.0f}"
