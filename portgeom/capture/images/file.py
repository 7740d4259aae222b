"""Which picture does a file hold, is it whole, and is it small enough to read?

A picture is data from outside: its size is known before a pixel is decoded, only the three kinds that
scanners and cameras write are opened, and whatever a decoder stumbles over becomes one line for a person.
"""

from __future__ import annotations

import struct
import warnings
import zlib
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, TypeAlias

import numpy as np
import numpy.typing as npt

from portgeom.capture.images.resolution import Claim, claim_of
from portgeom.capture.images.unsure import Unsure
from portgeom.job.faults import shown

if TYPE_CHECKING:
    from PIL.Image import Image

Pixels: TypeAlias = npt.NDArray[np.uint8] | npt.NDArray[np.uint16]

MOST_BYTES = 600_000_000
MOST_PIXELS = 150_000_000
"""An A4 sheet at 1200 dpi has 139 million."""

LEAST_SIDE = 64
"""Under this many pixels no slice has an edge worth measuring."""

FORMATS = ("PNG", "TIFF", "JPEG")
KINDS = "PNG, TIFF or JPEG"

ORIENTATION = 0x0112
TURNS = range(2, 9)
QUARTER_TURNS = range(5, 9)
"""Values of the tag (TIFF 6.0, page 36): all but 1 turn or mirror, these by a quarter."""

DECODER_ERRORS = (
    OSError,
    SyntaxError,
    ValueError,
    EOFError,
    struct.error,
    zlib.error,
    TypeError,
    KeyError,
    IndexError,
    AttributeError,
    OverflowError,
    MemoryError,
)
"""What the picture library is known to raise on damaged files, next to its own errors."""


@dataclass(frozen=True, slots=True)
class Picture:
    """A picture as a viewer shows it.

    Attributes
    ----------
    name : str
        The file's name, for messages.
    pixels : (h, w, c) uint8 or uint16
        Codes, not light; c is 1 for grey and 3 for colour. Row 0 is the top.
    claim : Claim
        What the file says of its scale.
    notes : tuple of str
        What was done to it on reading.
    """

    name: str
    pixels: Pixels
    claim: Claim
    notes: tuple[str, ...] = ()

    @property
    def width(self) -> int:
        """Return how many pixels it is across."""
        return int(self.pixels.shape[1])

    @property
    def height(self) -> int:
        """Return how many pixels it is down."""
        return int(self.pixels.shape[0])

    def reduced(self, factor: int) -> Pixels:
        """Return (h', w', c) codes, each the mean of a block of ``factor`` squared; what is over is left out."""
        if factor == 1:
            return self.pixels
        tall, wide = self.height // factor, self.width // factor
        if self.pixels.dtype == np.uint8:
            return _shrunk(self.pixels, factor)[:tall, :wide]
        blocks = self.pixels[: tall * factor, : wide * factor].reshape(tall, factor, wide, factor, -1)
        return blocks.mean(axis=(1, 3), dtype=np.float32).round().astype(np.uint16)


def read_picture(path: Path) -> Picture:
    """Return the picture in a file.

    Raises
    ------
    Unsure
        If there is none, it is damaged or cut short, too large, too small, see-through or one of several.
    """
    from PIL import Image, ImageOps, UnidentifiedImageError

    name = path.name
    try:
        size = path.stat().st_size if path.is_file() else -1
    except (OSError, ValueError) as error:
        raise Unsure(f"cannot be looked up ({type(error).__name__})", "check the name", about="file") from error
    if size < 0:
        raise Unsure("is not there, or is not a plain file", "check the name", about="file")
    if size > MOST_BYTES:
        raise Unsure(f"has {size} bytes", f"at most {MOST_BYTES} are read; scan at a lower resolution", about="file")
    try:
        # the library warns of large pictures at its own limit and of tags it cannot read; ours is checked here
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            with Image.open(path, formats=FORMATS) as image:
                _refuse_size(*image.size)
                _refuse_pages(image)
                claim = claim_of(image)
                turn = image.getexif().get(ORIENTATION, 1)
                if turn in TURNS and image.format == "TIFF":
                    # the library turns such a TIFF on loading, some releases twice, so nobody knows what comes out
                    raise Unsure(f"is a TIFF to be shown turned (tag 274 is {turn})", "save it upright", about="file")
                image.load()
                pixels = _pixels(ImageOps.exif_transpose(image))
    except Unsure:
        raise
    except UnidentifiedImageError as error:
        mend = f"save it as {KINDS}; a DXF or SVG drawing is named in the section table itself"
        raise Unsure(f"is no {KINDS} picture", mend, about="file") from error
    except (Image.DecompressionBombError, Image.DecompressionBombWarning) as error:
        raise _too_large("more pixels than can be read") from error
    except DECODER_ERRORS as error:
        what = shown(str(error))[1:-1] or type(error).__name__
        raise Unsure(f"is damaged or cut short ({what})", "scan or copy it again", about="file") from error
    notes = () if turn not in TURNS else ("was turned upright as its own tag says",)
    return Picture(name, pixels, claim.turned() if turn in QUARTER_TURNS else claim, notes)


def _refuse_size(wide: int, tall: int) -> None:
    if wide * tall > MOST_PIXELS:
        raise _too_large(f"{wide} x {tall} pixels")
    if min(wide, tall) < LEAST_SIDE:
        raise Unsure(
            f"has {wide} x {tall} pixels, too few to hold a slice",
            f"give at least {LEAST_SIDE} pixels each way",
        )


def _too_large(what: str) -> Unsure:
    million = MOST_PIXELS // 1_000_000
    return Unsure(f"has {what}", f"at most {million} million are read; scan at a lower resolution, or crop it")


def _refuse_pages(image: Image) -> None:
    pages = int(getattr(image, "n_frames", 1))
    if image.format == "TIFF" and pages > 1:
        raise Unsure(f"holds {pages} pages", "save each page as a picture of its own", about="file")


def _pixels(image: Image) -> Pixels:
    """Return (h, w, 1 or 3) codes of a decoded picture."""
    if image.mode in ("LA", "PA", "La", "RGBA", "RGBa") or "transparency" in image.info:
        image = image.convert("RGBA")
        if int(np.asarray(image)[..., 3].min()) < 255:
            raise Unsure("is see-through in places", "save it without transparency")
        image = image.convert("RGB")
    if image.mode in ("I;16", "I;16B", "I;16L", "I;16N"):
        return np.ascontiguousarray(np.asarray(image).astype(np.uint16))[..., None]
    if image.mode == "I":
        codes = np.asarray(image)
        if int(codes.min()) < 0 or int(codes.max()) > 65535:
            raise Unsure("has more than 16 bits a pixel", "save it with 8 or 16 bits")
        return codes.astype(np.uint16)[..., None]
    if image.mode == "F":
        raise Unsure("has pixels of floating point", "save it with 8 or 16 bits")
    if image.mode in ("1", "L"):
        return np.asarray(image.convert("L"))[..., None]
    return np.asarray(image if image.mode == "RGB" else image.convert("RGB"))


def _shrunk(codes: Pixels, factor: int) -> Pixels:
    from PIL import Image

    plain = codes[..., 0] if codes.shape[2] == 1 else codes
    small = np.asarray(Image.fromarray(plain).reduce(factor))
    return small[..., None] if small.ndim == 2 else small
