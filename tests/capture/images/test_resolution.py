"""What a file says of its scale, and which of that is believed.

PNG: the specification's pHYs chunk, unit 1 being the metre and an inch 0.0254 m exactly (PNG 1.2, section 4.2.4.2);
600 dpi is kept as 23622 (Roelofs, PNG: The Definitive Guide, chapter 11). JPEG: JFIF 1.02, density unit 1 dots per
inch, 2 dots per centimetre. TIFF 6.0, tags 282, 283 and 296 (2 inch, 3 centimetre). Files are built here byte by byte
where the picture library would not write them so.
"""

from __future__ import annotations

import io
import struct
import zlib
from pathlib import Path

import numpy as np
import pytest
from PIL import Image
from PIL.TiffImagePlugin import IFDRational

from portgeom.capture.images.file import Picture, read_picture
from portgeom.capture.images.resolution import LEAST_DPI
from portgeom.capture.images.scale import by_file
from portgeom.capture.images.unsure import Unsure

SIDE = 70


def png(folder: Path, *, phys: tuple[int, int, int] | None) -> Picture:
    """Return a PNG read back whose pHYs chunk holds these three numbers."""

    def chunk(kind: bytes, data: bytes) -> bytes:
        return struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data))

    rows = b"".join(b"\x00" + b"\xff" * SIDE for _ in range(SIDE))
    data = b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", struct.pack(">IIBBBBB", SIDE, SIDE, 8, 0, 0, 0, 0))
    if phys is not None:
        data += chunk(b"pHYs", struct.pack(">IIB", *phys))
    data += chunk(b"IDAT", zlib.compress(rows)) + chunk(b"IEND", b"")
    (folder / "p.png").write_bytes(data)
    return read_picture(folder / "p.png")


def jpeg(folder: Path, *, jfif: tuple[int, int, int] | None, exif: Image.Exif | None = None) -> Picture:
    """Return a JPEG read back whose JFIF header holds this unit and these densities; None takes the header out."""
    out = io.BytesIO()
    Image.new("L", (SIDE, SIDE), 255).save(out, format="JPEG", exif=exif or Image.Exif())
    data = out.getvalue()
    assert data[2:4] == b"\xff\xe0"
    assert data[6:11] == b"JFIF\x00"
    length = struct.unpack(">H", data[4:6])[0]
    kept = b"" if jfif is None else data[2:13] + struct.pack(">BHH", *jfif) + data[18 : 4 + length]
    data = data[:2] + kept + data[4 + length :]
    (folder / "p.jpg").write_bytes(data)
    return read_picture(folder / "p.jpg")


def tiff(folder: Path, tags: dict[int, object]) -> Picture:
    """Return a TIFF read back with these tags."""
    out = io.BytesIO()
    Image.new("L", (SIDE, SIDE), 255).save(out, format="TIFF", tiffinfo=tags)
    (folder / "p.tif").write_bytes(out.getvalue())
    return read_picture(folder / "p.tif")


def tags(**values: object) -> Image.Exif:
    names = {"x": 282, "y": 283, "unit": 296}
    exif = Image.Exif()
    for name, value in values.items():
        exif[names[name]] = value
    return exif


@pytest.mark.parametrize(("per_metre", "dpi"), [(11811, 300.0), (23622, 600.0), (3937, 100.0), (7874, 200.0)])
def test_png_pixels_per_metre_are_dots_per_inch_by_an_inch_of_0254_m(
    tmp_path: Path, per_metre: int, dpi: float
) -> None:
    scale = by_file(png(tmp_path, phys=(per_metre, per_metre, 1)))
    # 1 / per_metre exactly; the dpi it stands for was rounded by under 1.3e-4
    assert scale.mm_per_px(np.zeros(2)) == pytest.approx(1000.0 / per_metre, rel=1e-12)
    assert scale.mm_per_px(np.zeros(2)) == pytest.approx(25.4 / dpi, rel=scale.error_ratio)
    assert "PNG pHYs" in scale.words


@pytest.mark.parametrize(("unit", "density", "dpi"), [(1, 300, 300.0), (2, 118, 118 * 2.54)])
def test_jfif_density_is_per_inch_or_per_centimetre(tmp_path: Path, unit: int, density: int, dpi: float) -> None:
    scale = by_file(jpeg(tmp_path, jfif=(unit, density, density)))
    assert scale.mm_per_px(np.zeros(2)) == pytest.approx(25.4 / dpi, rel=1e-12)


@pytest.mark.parametrize("jfif", [None, (0, 1, 1)])
def test_exif_is_read_where_jfif_says_nothing(tmp_path: Path, jfif: tuple[int, int, int] | None) -> None:
    picture = jpeg(tmp_path, jfif=jfif, exif=tags(x=300.0, y=300.0, unit=2))
    assert by_file(picture).mm_per_px(np.zeros(2)) == pytest.approx(25.4 / 300.0, rel=1e-12)


@pytest.mark.parametrize(("unit", "per_inch"), [(2, 1.0), (3, 2.54)])
def test_tiff_resolution_is_per_inch_or_per_centimetre(tmp_path: Path, unit: int, per_inch: float) -> None:
    scale = by_file(tiff(tmp_path, {282: 200.0, 283: 200.0, 296: unit}))
    assert scale.mm_per_px(np.zeros(2)) == pytest.approx(25.4 / (200.0 * per_inch), rel=1e-12)


def test_tiff_without_a_unit_tag_is_per_inch(tmp_path: Path) -> None:
    # TIFF 6.0, page 38: the default of ResolutionUnit is 2
    scale = by_file(tiff(tmp_path, {282: 200.0, 283: 200.0}))
    assert scale.mm_per_px(np.zeros(2)) == pytest.approx(25.4 / 200.0, rel=1e-12)


def test_unlike_resolutions_across_and_down_are_both_kept(tmp_path: Path) -> None:
    scale = by_file(tiff(tmp_path, {282: 300.0, 283: 150.0, 296: 2}))
    assert scale.to_mm(np.array([[300.0, 150.0]])) == pytest.approx(np.array([[25.4, -25.4]]))
    assert "not square" in scale.notes[0]


def test_a_picture_turned_by_its_own_tag_turns_its_resolutions_too(tmp_path: Path) -> None:
    exif = tags(x=300.0, y=150.0, unit=2)
    exif[274] = 6  # the first row is the right side
    assert by_file(jpeg(tmp_path, jfif=None, exif=exif)).to_mm(np.array([[150.0, 300.0]])) == pytest.approx(
        np.array([[25.4, -25.4]])
    )


REFUSED = {
    "PNG unit 0": (lambda f: png(f, phys=(11811, 11811, 0)), "without a unit"),
    "PNG with none": (lambda f: png(f, phys=None), "holds no resolution"),
    "PNG of 45 dpi": (lambda f: png(f, phys=(1772, 1772, 1)), "claims 45.01 dpi"),
    "PNG of 72 dpi": (lambda f: png(f, phys=(2835, 2835, 1)), "claims 72 dpi, which programs write"),
    "PNG of zero": (lambda f: png(f, phys=(0, 0, 1)), "no number"),
    "PNG of 50,000 dpi": (lambda f: png(f, phys=(2_000_000, 2_000_000, 1)), "which no scan of a slice has"),
    "JFIF unit 0": (lambda f: jpeg(f, jfif=(0, 1, 1)), "without a unit"),
    "JPEG with none": (lambda f: jpeg(f, jfif=None), "holds no resolution"),
    "EXIF without a unit": (lambda f: jpeg(f, jfif=None, exif=tags(x=300.0, y=300.0, unit=1)), "without a unit"),
    "EXIF of nothing over nothing": (
        lambda f: jpeg(f, jfif=None, exif=tags(x=IFDRational(0, 0), y=IFDRational(0, 0), unit=2)),
        "no number",
    ),
    "TIFF unit 1": (lambda f: tiff(f, {282: 300.0, 283: 300.0, 296: 1}), "without a unit"),
    "TIFF with none": (lambda f: tiff(f, {}), "holds no resolution"),
    "TIFF of 96": (lambda f: tiff(f, {282: 96.0, 283: 96.0, 296: 2}), "claims 96 dpi"),
}


@pytest.mark.parametrize("case", REFUSED)
def test_a_claim_that_is_no_scale_is_refused_with_what_to_do(tmp_path: Path, case: str) -> None:
    make, reason = REFUSED[case]
    with pytest.raises(Unsure, match=reason) as refused:
        by_file(make(tmp_path))
    assert "--dpi" in refused.value.mend


def test_what_a_camera_wrote_is_no_scale_whatever_it_claims(tmp_path: Path) -> None:
    exif = tags(x=300.0, y=300.0, unit=2)
    exif.get_ifd(0x8769)[0x829D] = 2.8  # an f-number
    with pytest.raises(Unsure, match="was taken by a camera"):
        by_file(jpeg(tmp_path, jfif=(1, 300, 300), exif=exif))


def test_fifty_is_the_least() -> None:
    assert LEAST_DPI == 50.0
