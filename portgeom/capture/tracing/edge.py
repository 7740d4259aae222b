"""Where, to a fraction of a pixel, does a slice end?

Round each slice the light of the bare sheet and the light of the slice are each fitted with a smooth surface;
between the two, half way is the edge. Uneven light scales both alike and so falls out.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Self

import numpy as np

from portgeom.capture.images.file import Picture, Pixels
from portgeom.capture.images.light import F32, light
from portgeom.capture.images.scale import Scale
from portgeom.capture.images.surface import LightSurface, fit_light
from portgeom.capture.images.unsure import Unsure
from portgeom.capture.tracing.find import Coarse, Patch
from portgeom.geometry.arrays import F64, Bool
from portgeom.geometry.moments import polygon_moments, polygon_perimeter_mm

MARGIN_MM = 3.0
LIGHT_MARGIN_MM = 10.0
CLEAR_MM = 0.75
"""Light is measured no nearer an edge than this."""

BLUR_MM = 0.05
FINE_MM = 0.075
"""Finer pixels are averaged, in light, to about this: a finer edge would be finer than any slice is cut."""

NOISE_STEP = 5
HALF = 0.5

LEAST_CONTRAST = 0.15
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
    window = _Window.round(patch, coarse, pixel_mm)
    columns, rows = (coarse.to_coarse(window.to_px(np.arange(n, dtype=np.float64), k)) for k, n in window.sizes)
    seen = _binned(light(window.cut(picture.pixels), coarse.channel, coding=coarse.coding), window.bin)
    under = sheet.over(columns, rows)
    share = (seen - under) / (slice_.over(columns, rows) - under)
    share = ndimage.gaussian_filter(share, BLUR_MM / (pixel_mm * window.bin), truncate=3.0)
    noise = _noise(share, coarse, patch, columns, rows)
    if noise > MOST_NOISE:
        raise Unsure(
            f"{_at(patch)} stands out too little: its grain is {100.0 * noise:.0f} percent of the step in "
            "brightness at its edge",
            "scan with more contrast, or at a higher resolution",
            about="contrast",
        )
    share[_neighbours(coarse, patch, columns, rows)] = 0.0
    # the patch ends well inside; what runs on over the window's rim is a hair
    share[[0, -1]] = share[:, [0, -1]] = 0.0
    lines = [np.asarray(line) for line in contour_generator(z=share).lines(HALF)]
    inside = window.from_px(coarse.to_px(_deepest(coarse, patch)))
    outer, spots = _chosen(lines, inside, patch, pixel_mm * window.bin)
    width = window.bin * _widths(share, outer)
    slack_px = 0.5 * coarse.factor + 0.25 * float(np.median(width))
    _refuse_other_area(outer, spots, coarse, patch, window, slack_px)
    return Edge(window.to_px(outer), width, tuple(window.to_px(s) for s in spots), contrast, noise)


@dataclass(frozen=True, slots=True)
class _Window:
    """The pixels to look at, from ``start`` (2,) column and row up to ``end``, in blocks of ``bin`` squared."""

    start: tuple[int, int]
    end: tuple[int, int]
    bin: int

    @classmethod
    def round(cls, patch: Patch, coarse: Coarse, pixel_mm: float) -> Self:
        """Return the window round a patch and a margin."""
        f = coarse.factor
        margin = round(MARGIN_MM / (pixel_mm * f)) + 1
        left, top, right, bottom = _grown(patch.box, margin, coarse.light.shape)
        block = max(1, round(FINE_MM / pixel_mm))
        wide, tall = (size * f // block * block for size in (right - left, bottom - top))
        return cls((left * f, top * f), (left * f + wide, top * f + tall), block)

    @property
    def sizes(self) -> tuple[tuple[int, int], tuple[int, int]]:
        """Return the number of blocks across and down, each with its axis before it."""
        across, down = ((e - s) // self.bin for s, e in zip(self.start, self.end, strict=True))
        return (0, across), (1, down)

    def cut(self, pixels: Pixels) -> Pixels:
        """Return the window's part of a picture."""
        return pixels[self.start[1] : self.end[1], self.start[0] : self.end[0]]

    def to_px(self, blocks: F64, axis: int | None = None) -> F64:
        """Return pixels of the picture at places in blocks, of one axis or (n, 2)."""
        start = np.array(self.start) if axis is None else self.start[axis]
        return (blocks + 0.5) * self.bin - 0.5 + start

    def from_px(self, pixels: F64) -> F64:
        """Return places in blocks of pixels (n, 2)."""
        return (pixels - np.array(self.start) + 0.5) / self.bin - 0.5


def _binned(seen: F32, block: int) -> F32:
    """Return light averaged over blocks of ``block`` squared."""
    if block == 1:
        return seen
    total = sum(seen[i::block, j::block] for i in range(block) for j in range(block))
    return np.asarray(total, dtype=np.float32) / np.float32(block * block)


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


def _neighbours(coarse: Coarse, patch: Patch, columns: F64, rows: F64) -> Bool:
    """Return (len(rows), len(columns)) where other slices lie, so that a hair between two ends at the other's edge."""
    from scipy import ndimage

    across, down = (np.round(at).astype(np.intp) for at in (columns, rows))
    down, across = (np.clip(at, 0, n - 1) for at, n in zip((down, across), coarse.labels.shape, strict=True))
    part = coarse.labels[down[0] : down[-1] + 1, across[0] : across[-1] + 1]
    others = [p.label for p in coarse.slices if p.label != patch.label and (part == p.label).any()]
    if not others:
        return np.zeros((len(rows), len(columns)), dtype=bool)
    grown = ndimage.binary_dilation(np.isin(part, others))
    return grown[np.ix_(down - down[0], across - across[0])]


def _noise(share: F32, coarse: Coarse, patch: Patch, columns: F64, rows: F64) -> float:
    """Return the grain of sheet and slice, whichever is coarser, by medians over some of the window."""
    few = share[::NOISE_STEP, ::NOISE_STEP]
    down, across = (np.round(at[::NOISE_STEP]).astype(np.intp) for at in (rows, columns))
    down, across = (np.clip(at, 0, n - 1) for at, n in zip((down, across), coarse.labels.shape, strict=True))
    deviations = [0.0]
    for where, level in ((coarse.labels == patch.label, 1.0), (coarse.bare, 0.0)):
        values = few[where[np.ix_(down, across)]]
        if len(values):
            deviations.append(1.4826 * float(np.median(np.abs(values - np.float32(level)))))
    return max(deviations)


def _refuse_other_area(
    outer: F64, spots: tuple[F64, ...], coarse: Coarse, patch: Patch, window: _Window, slack_px: float
) -> None:
    """Refuse an edge that holds more or less than the coarse patch, but for ``slack_px`` all round."""
    lines = [outer, *spots]
    areas = [abs(float(polygon_moments(line).area_mm2)) * window.bin**2 for line in lines]
    rims = [float(polygon_perimeter_mm(line)) * window.bin for line in lines]
    left, top, right, bottom = patch.box
    count = np.count_nonzero(coarse.labels[top:bottom, left:right] == patch.label)
    rough = float(count) * coarse.factor**2
    if abs(areas[0] - sum(areas[1:]) - rough) > slack_px * sum(rims):
        raise Unsure(
            f"{_at(patch)} hangs together with another shape by a thin neck, or falls apart",
            "part the slices on the glass; wipe away what joins them",
            about="outline",
        )


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
