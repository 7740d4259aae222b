"""How many pixels to the inch does a picture's own file claim, and can that be believed?

PNG keeps pixels per metre (pHYs, unit 1), JPEG dots per inch or centimetre (JFIF, else EXIF), TIFF its tags
282, 283 and 296. A claim without a unit, one under 50, and the 72 or 96 that programs write for want of
knowing are no scale; neither is anything that a camera wrote, which does not know how far away it was.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

from portgeom.job.units import MM_PER_IN

if TYPE_CHECKING:
    from PIL.Image import Exif, Image

LEAST_DPI = 50.0
MOST_DPI = 12_800.0
PLACEHOLDERS = (72.0, 96.0)
PLACEHOLDER_SLACK = 0.2
"""PNG rounds 72 dpi to 2835 pixels per metre, which reads back as 72.009."""

X_RESOLUTION, Y_RESOLUTION, RESOLUTION_UNIT = 282, 283, 296
PER_INCH, PER_CM = 2, 3
EXIF_IFD = 0x8769
CAMERA_TAGS = (0x829A, 0x829D, 0x920A)
"""Exposure time, f-number, focal length."""


@dataclass(frozen=True, slots=True)
class Claim:
    """What a file says of its scale.

    ``x_dpi`` and ``y_dpi`` are None where it says nothing that can be used; ``words`` then tells why, and
    else where it says so.
    """

    x_dpi: float | None
    y_dpi: float | None
    words: str

    def turned(self) -> Claim:
        """Return the claim of a picture turned by a quarter."""
        return Claim(self.y_dpi, self.x_dpi, self.words)


def claim_of(image: Image) -> Claim:
    """Return what an opened picture's file claims."""
    exif = image.getexif()
    if any(tag in exif.get_ifd(EXIF_IFD) for tag in CAMERA_TAGS):
        return Claim(None, None, "was taken by a camera, whose file does not know its scale")
    read = {"PNG": _png, "TIFF": _tiff}.get(image.format or "", _jpeg)
    found = read(image, exif)
    if found.x_dpi is None or found.y_dpi is None:
        return found
    low, high = min(found.x_dpi, found.y_dpi), max(found.x_dpi, found.y_dpi)
    if not (math.isfinite(low) and math.isfinite(high) and low > 0.0):
        return Claim(None, None, f"holds a resolution that is no number ({found.words})")
    if low < LEAST_DPI or high > MOST_DPI:
        odd = low if low < LEAST_DPI else high
        return Claim(None, None, f"claims {odd:.4g} dpi ({found.words}), which no scan of a slice has")
    if any(abs(found.x_dpi - dpi) < PLACEHOLDER_SLACK for dpi in PLACEHOLDERS):
        return Claim(None, None, f"claims {found.x_dpi:.0f} dpi, which programs write when they do not know")
    return found


def _png(image: Image, exif: Exif) -> Claim:
    if "dpi" in image.info:
        return Claim(*_pair(image.info["dpi"]), "PNG pHYs")
    if "aspect" in image.info:
        return Claim(None, None, "holds a resolution without a unit (PNG pHYs, unit 0)")
    return Claim(None, None, "holds no resolution")


def _jpeg(image: Image, exif: Exif) -> Claim:
    per_inch = {1: 1.0, 2: MM_PER_IN / 10.0}.get(image.info.get("jfif_unit", 0))
    if per_inch is not None:
        x, y = _pair(image.info["jfif_density"])
        return Claim(x * per_inch, y * per_inch, "JPEG JFIF")
    # the library makes 72 dpi of an EXIF block that says nothing, so its tags are read here
    if X_RESOLUTION in exif:
        return _tags(exif.get(X_RESOLUTION), exif.get(Y_RESOLUTION), exif.get(RESOLUTION_UNIT), "JPEG EXIF")
    if "jfif_density" in image.info:
        return Claim(None, None, "holds a resolution without a unit (JPEG JFIF, unit 0)")
    return Claim(None, None, "holds no resolution")


def _tiff(image: Image, exif: Exif) -> Claim:
    tags = getattr(image, "tag_v2", {})
    if X_RESOLUTION not in tags:
        return Claim(None, None, "holds no resolution")
    # TIFF 6.0, page 38: without tag 296 the unit is the inch
    unit = tags.get(RESOLUTION_UNIT, PER_INCH)
    return _tags(tags.get(X_RESOLUTION), tags.get(Y_RESOLUTION), unit, "TIFF tags 282, 283, 296")


def _tags(x: object, y: object, unit: object, words: str) -> Claim:
    per_inch = {PER_INCH: 1.0, PER_CM: MM_PER_IN / 10.0}.get(unit if isinstance(unit, int) else 0)
    if per_inch is None:
        return Claim(None, None, f"holds a resolution without a unit ({words})")
    x_dpi, y_dpi = _pair((x, x if y is None else y))
    return Claim(x_dpi * per_inch, y_dpi * per_inch, words)


def _pair(values: object) -> tuple[float, float]:
    """Return two numbers of a file as floats, nan where they are none."""
    numbers = []
    for value in values if isinstance(values, tuple) else ():
        try:
            numbers.append(float(value))
        except (TypeError, ValueError, ZeroDivisionError, OverflowError):
            numbers.append(math.nan)
    return (numbers[0], numbers[1]) if len(numbers) == 2 else (math.nan, math.nan)
