"""What lies on the sheet: which patches are slices, which are marks, and which are specks?

Looked for in a coarse picture of about a quarter millimetre a pixel. The sheet is what fills the picture's
rim; whatever stands out from it by more than its noise is a patch, cut half way between its own light and the
sheet's.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal, TypeAlias

import numpy as np
import numpy.typing as npt

from portgeom.capture.images.file import Picture, Pixels
from portgeom.capture.images.light import CHANNELS, F32, Channel, Coding, light
from portgeom.capture.images.scale import Scale
from portgeom.capture.images.surface import LightSurface, fit_light
from portgeom.capture.images.unsure import Unsure
from portgeom.geometry.arrays import F64, Bool
from portgeom.geometry.moments import polygon_moments

Tone: TypeAlias = Literal["dark", "light"]
Labels: TypeAlias = npt.NDArray[np.int32]

COARSE_MM = 0.25
MOST_COARSE_PX = 3_000_000
RIM_SHARE = 0.04
"""How wide the rim is that the sheet is first judged by, as a share of the shorter side."""

FLOOR = 0.02
"""Light, of 1, under which two blacks are not told apart."""

LEAST_STAND_OUT = 0.04
NOISE_TIMES = 5.0
"""A patch stands out by this many standard deviations of the sheet."""

SURER_CHANNEL = 1.3
"""A colour is taken in place of grey where slices stand out in it by so much more."""

SPARSE = 3
"""Every third coarse pixel is enough to choose a colour by."""

THIN_MM = 0.6
"""Ruled lines and hairs up to so wide are left out before patches are told apart."""

LEAST_SLICE_MM2 = 60.0
LEAST_MARK_MM2 = 2.0
LEAST_SPECK_MM2 = 0.1
RIM_THIN_MM = 3.0
"""A strip no wider than this along the picture's rim is the lid's shadow, not a slice."""


@dataclass(frozen=True, slots=True)
class Patch:
    """Something on the sheet.

    Attributes
    ----------
    label : int
        Its number in ``Coarse.labels``.
    middle_px : (2,) float
        Its centroid, in pixels of the whole picture.
    box : (4,) int
        Coarse pixels: first column, first row, past the last column and row.
    area_mm2 : float
        Roughly.
    """

    label: int
    middle_px: F64
    box: tuple[int, int, int, int]
    area_mm2: float


@dataclass(frozen=True, slots=True)
class Coarse:
    """The coarse picture, and everything found in it.

    ``sheet`` is the light of the bare sheet; ``bare`` (h, w) tells where nothing lies on it. ``labels`` (h, w)
    numbers the patches, 0 being none.
    """

    factor: int
    channel: Channel
    coding: Coding
    tone: Tone
    light: F32
    sheet: LightSurface
    bare: Bool
    labels: Labels
    slices: tuple[Patch, ...]
    marks: tuple[Patch, ...]
    specks: tuple[Patch, ...]

    def to_px(self, coarse: F64) -> F64:
        """Return pixels of the whole picture of coarse ones (..., 2)."""
        return (coarse + 0.5) * self.factor - 0.5

    def to_coarse(self, pixels: F64) -> F64:
        """Return coarse pixels of those of the whole picture."""
        return (pixels + 0.5) / self.factor - 0.5


def find_patches(picture: Picture, scale: Scale, *, tone: Tone | None, coding: Coding) -> Coarse:
    """Return what lies on the sheet.

    Raises
    ------
    Unsure
        If nothing stands out, both darker and lighter things do, or one that may be a slice leaves the picture.
    """
    middle = np.array([0.5 * picture.width, 0.5 * picture.height])
    factor = max(1, int(COARSE_MM / scale.mm_per_px(middle)))
    while (picture.width // factor) * (picture.height // factor) > MOST_COARSE_PX:
        factor += 1
    codes = picture.reduced(factor)
    field = _field(codes.shape[0], codes.shape[1], scale, factor)
    chosen = _best_channel(codes, field, coding) if codes.shape[2] == 3 else CHANNELS[0]
    seen = _stand_out(light(codes, chosen, coding=coding), field, chosen)
    pixel_mm = factor * scale.mm_per_px(middle)
    return _patched(seen, field, tone, factor, pixel_mm, coding)


def _best_channel(codes: Pixels, field: Bool, coding: Coding) -> Channel:
    """Return the colour in which slices stand out most, by every third pixel; grey unless one is clearly better."""
    few, its_field = codes[::SPARSE, ::SPARSE], field[::SPARSE, ::SPARSE]
    strength = {c: _stand_out(light(few, c, coding=coding), its_field, c).strength for c in CHANNELS}
    best = max(CHANNELS[1:], key=lambda c: strength[c])
    return best if strength[best] > SURER_CHANNEL * strength["grey"] else "grey"


@dataclass(frozen=True, slots=True)
class _Seen:
    """One channel: its light, the sheet's, and by how much each pixel stands out, from -1 (dark) to 1 (light)."""

    channel: Channel
    light: F32
    sheet: LightSurface
    out: F32
    least: float

    @property
    def strength(self) -> float:
        """Return how far things stand out from the sheet, against what its own noise allows."""
        return float(np.abs(self.out).std()) / max(self.least, LEAST_STAND_OUT)


def _field(tall: int, wide: int, scale: Scale, factor: int) -> Bool:
    """Return (tall, wide) where slices may lie: all of the picture, or inside the scale card's marks."""
    if scale.field_px is None:
        return np.ones((tall, wide), dtype=bool)
    rows, columns = np.mgrid[:tall, :wide]
    x, y = (columns + 0.5) * factor - 0.5, (rows + 0.5) * factor - 0.5
    inside = np.ones((tall, wide), dtype=bool)
    corners = scale.field_px
    if float(polygon_moments(corners).area_mm2) < 0.0:
        corners = corners[::-1]
    for a, b in zip(corners, np.roll(corners, -1, axis=0), strict=True):
        inside &= (b[0] - a[0]) * (y - a[1]) - (b[1] - a[1]) * (x - a[0]) > 0.0
    return inside


def _stand_out(seen: F32, field: Bool, channel: Channel) -> _Seen:
    """Return how far each pixel stands out from a sheet fitted to the rim, then to all that does not stand out."""
    from scipy import ndimage

    tall, wide = seen.shape
    width = max(2, int(RIM_SHARE * min(tall, wide)))
    inner = ndimage.minimum_filter(np.pad(field, width).view(np.uint8), 2 * width + 1)[width:-width, width:-width]
    sheet_px = field & (inner == 0)
    columns, rows = np.arange(wide, dtype=np.float64), np.arange(tall, dtype=np.float64)
    for _ in range(3):
        at = np.nonzero(sheet_px)
        sheet = fit_light(at[1], at[0], seen[at], degree=2)
        under = np.maximum(sheet.over(columns, rows), np.float32(0.0))
        out = (seen - under) / (seen + under + np.float32(FLOOR))
        middle = float(np.median(under[::SPARSE, ::SPARSE]))
        least = max(LEAST_STAND_OUT, NOISE_TIMES * sheet.spread / (2.0 * middle + FLOOR))
        sheet_px = field & (np.abs(out) < least)
        if sheet_px.sum() < width * width:
            raise Unsure(
                "has no bare sheet round the slices to measure the light by",
                "leave a margin of the sheet all round",
            )
    out[~field] = 0.0
    return _Seen(channel, seen, sheet, out, least)


def _patched(seen: _Seen, field: Bool, tone: Tone | None, factor: int, pixel_mm: float, coding: Coding) -> Coarse:
    from scipy import ndimage

    both: dict[Tone, Labels] = {
        "dark": _labels(seen, "dark", pixel_mm),
        "light": _labels(seen, "light", pixel_mm),
    }
    patches = {t: _measured(labels, factor, pixel_mm) for t, labels in both.items()}
    large = {t: [p for p in found if p.area_mm2 >= LEAST_SLICE_MM2] for t, found in patches.items()}
    rim = ndimage.binary_dilation(~field)
    rim[[0, -1]] = rim[:, [0, -1]] = True
    for t in large:
        large[t] = [p for p in large[t] if not _is_strip(both[t], p, rim, pixel_mm)]
    if tone is None and large["dark"] and large["light"]:
        raise Unsure(
            f"shows both darker and lighter shapes than the sheet: {_places(large['dark'][:1])} is darker, "
            f"{_places(large['light'][:1])} is lighter",
            "say which the slices are with --tone, or crop the picture",
        )
    chosen = tone or ("light" if large["light"] else "dark")
    found = patches[chosen]
    if not large[chosen]:
        raise Unsure(
            f"shows no shape of at least {LEAST_SLICE_MM2:g} mm2 that stands out from the sheet",
            "lay the slice on a sheet of another brightness, or check the scale",
        )
    for patch in large[chosen]:
        _refuse_leaving(both[chosen], patch, rim)
    small = [p for p in found if p.area_mm2 < LEAST_SLICE_MM2]
    return Coarse(
        factor=factor,
        channel=seen.channel,
        coding=coding,
        tone=chosen,
        light=seen.light,
        sheet=seen.sheet,
        bare=field & (np.abs(seen.out) < seen.least),
        labels=both[chosen],
        slices=tuple(large[chosen]),
        marks=tuple(p for p in small if p.area_mm2 >= LEAST_MARK_MM2),
        specks=tuple(p for p in small if LEAST_SPECK_MM2 <= p.area_mm2 < LEAST_MARK_MM2),
    )


def _labels(seen: _Seen, tone: Tone, pixel_mm: float) -> Labels:
    """Return (h, w) numbers of patches darker or lighter than the sheet, each cut half way to its own light."""
    from scipy import ndimage

    out = seen.out if tone == "light" else -seen.out
    loose, count = ndimage.label(out > seen.least)
    if not count:
        return np.zeros(out.shape, dtype=np.int32)
    # half of what the patch's clear middle stands out by: its shadow and its blurred edge fall away
    height = np.zeros(count + 1, dtype=np.float32)
    order = np.argsort(loose, axis=None, kind="stable")
    sorted_labels, values = loose.ravel()[order], out.ravel()[order]
    starts = np.searchsorted(sorted_labels, np.arange(1, count + 2))
    for k in range(count):
        height[k + 1] = np.percentile(values[starts[k] : starts[k + 1]], 75.0)
    firm = (loose > 0) & (out > 0.5 * height[loose])
    wide = max(1, round(0.5 * THIN_MM / pixel_mm))
    disc = np.hypot(*np.mgrid[-wide : wide + 1, -wide : wide + 1]) <= wide
    opened = ndimage.binary_opening(firm, disc)
    # a speck thinner than the opening is still told: it is what stays of the loose patches
    labels, _ = ndimage.label(opened | (firm & ~ndimage.binary_dilation(opened, disc, iterations=2)))
    return labels.astype(np.int32)


def _measured(labels: Labels, factor: int, pixel_mm: float) -> list[Patch]:
    from scipy import ndimage

    count = int(labels.max())
    if not count:
        return []
    sizes = np.bincount(labels.ravel())[1:]
    middles = ndimage.center_of_mass(np.ones_like(labels), labels, np.arange(1, count + 1))
    found = []
    for k, ((row, column), where, size) in enumerate(
        zip(middles, ndimage.find_objects(labels), sizes, strict=True), start=1
    ):
        area = float(size) * pixel_mm**2
        if area < LEAST_SPECK_MM2:
            continue
        middle = (np.array([column, row]) + 0.5) * factor - 0.5
        rows, columns = where
        found.append(Patch(k, middle, (columns.start, rows.start, columns.stop, rows.stop), area))
    return sorted(found, key=lambda p: -p.area_mm2)


def _cut(labels: Labels, patch: Patch) -> Bool:
    left, top, right, bottom = patch.box
    return labels[top:bottom, left:right] == patch.label


def _is_strip(labels: Labels, patch: Patch, rim: Bool, pixel_mm: float) -> bool:
    """Return whether a patch is a thin strip along the rim."""
    from scipy import ndimage

    left, top, right, bottom = patch.box
    mask = _cut(labels, patch)
    if not (mask & rim[top:bottom, left:right]).any():
        return False
    inside = np.pad(mask, 1)
    return 2.0 * float(ndimage.distance_transform_edt(inside).max()) * pixel_mm <= RIM_THIN_MM


def _refuse_leaving(labels: Labels, patch: Patch, rim: Bool) -> None:
    left, top, right, bottom = patch.box
    if not (_cut(labels, patch) & rim[top:bottom, left:right]).any():
        return
    raise Unsure(
        f"{_places([patch])} leaves the picture or the card's field",
        "lay the slice well inside, with bare sheet all round; crop away what is no slice",
        about="outline",
    )


def _places(patches: list[Patch]) -> str:
    """Return in words where patches are."""
    return ", ".join(f"the shape at pixel {p.middle_px[0]:.0f},{p.middle_px[1]:.0f}" for p in patches)
