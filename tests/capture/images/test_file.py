"""Pictures are read whole and upright, within bounds known before a pixel is decoded, or refused in one line."""

from __future__ import annotations

import io
import struct
import tracemalloc
import zlib
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from portgeom.capture.images.file import LEAST_SIDE, MOST_PIXELS, read_picture
from portgeom.capture.images.unsure import Unsure

GREY = (np.add.outer(np.arange(90) * 2, np.arange(120)) % 256).astype(np.uint8)


def written(folder: Path, image: Image.Image, name: str, **how: object) -> Path:
    image.save(folder / name, **how)
    return folder / name


@pytest.mark.parametrize("name", ["p.png", "p.tif"])
def test_grey_codes_come_back_as_they_are(tmp_path: Path, name: str) -> None:
    picture = read_picture(written(tmp_path, Image.fromarray(GREY), name))
    assert picture.pixels.dtype == np.uint8
    assert np.array_equal(picture.pixels[..., 0], GREY)
    assert (picture.width, picture.height, picture.notes) == (120, 90, ())


@pytest.mark.parametrize("name", ["p.png", "p.tif"])
def test_sixteen_bits_stay_sixteen(tmp_path: Path, name: str) -> None:
    codes = GREY.astype(np.uint16) * 257
    picture = read_picture(written(tmp_path, Image.fromarray(codes), name))
    assert picture.pixels.dtype == np.uint16
    assert np.array_equal(picture.pixels[..., 0], codes)


def test_colours_palettes_and_bilevel_become_codes(tmp_path: Path) -> None:
    colour = np.dstack([GREY, GREY[::-1], 255 - GREY])
    assert np.array_equal(read_picture(written(tmp_path, Image.fromarray(colour), "c.png")).pixels, colour)
    palette = Image.fromarray(GREY).convert("P")
    assert np.array_equal(read_picture(written(tmp_path, palette, "p.png")).pixels[..., 1], GREY)
    bilevel = Image.fromarray(np.where(GREY > 99, np.uint8(255), np.uint8(0))).convert("1")
    assert set(np.unique(read_picture(written(tmp_path, bilevel, "b.tif")).pixels)) == {0, 255}


def test_an_opaque_alpha_channel_is_dropped_and_another_refused(tmp_path: Path) -> None:
    alpha = np.dstack([GREY, GREY, GREY, np.full_like(GREY, 255)])
    assert read_picture(written(tmp_path, Image.fromarray(alpha, "RGBA"), "a.png")).pixels.shape == (90, 120, 3)
    alpha[3, 3, 3] = 200
    with pytest.raises(Unsure, match="is see-through in places"):
        read_picture(written(tmp_path, Image.fromarray(alpha, "RGBA"), "b.png"))


def test_a_tiff_to_be_turned_is_refused(tmp_path: Path) -> None:
    exif = Image.Exif()
    exif[0x0112] = 6
    with pytest.raises(Unsure, match="is a TIFF to be shown turned"):
        read_picture(written(tmp_path, Image.fromarray(GREY), "p.tif", exif=exif))


@pytest.mark.parametrize("name", ["p.jpg", "p.png"])
def test_a_picture_is_turned_upright_as_its_tag_says(tmp_path: Path, name: str) -> None:
    exif = Image.Exif()
    exif[0x0112] = 6
    path = written(tmp_path, Image.fromarray(GREY), name, exif=exif)
    picture = read_picture(path)
    # TIFF 6.0, tag 274, value 6: row 0 is the visual right side, column 0 the visual top
    assert np.abs(picture.pixels[..., 0].astype(int) - np.rot90(GREY, -1)).mean() < 2.0
    assert (picture.width, picture.height) == (90, 120)
    assert picture.notes == ("was turned upright as its own tag says",)


@pytest.mark.parametrize("dtype", [np.uint8, np.uint16])
def test_reduced_is_the_mean_of_blocks(tmp_path: Path, dtype: type) -> None:
    codes = GREY.astype(dtype)
    small = read_picture(written(tmp_path, Image.fromarray(codes), "p.png")).reduced(7)[..., 0]
    blocks = codes[:84, :119].reshape(12, 7, 17, 7).mean(axis=(1, 3))
    assert small.shape == (12, 17)
    assert np.abs(small - blocks).max() <= 0.5 + 1e-6


def header(wide: int, tall: int, kind: str) -> bytes:
    """Return a picture file that says how large it is and holds nothing else of use."""
    if kind == "png":
        data = struct.pack(">IIBBBBB", wide, tall, 8, 2, 0, 0, 0)
        ihdr = struct.pack(">I", 13) + b"IHDR" + data + struct.pack(">I", zlib.crc32(b"IHDR" + data))
        body = zlib.compress(bytes(100))
        idat = struct.pack(">I", len(body)) + b"IDAT" + body + struct.pack(">I", zlib.crc32(b"IDAT" + body))
        return b"\x89PNG\r\n\x1a\n" + ihdr + idat
    out = io.BytesIO()
    Image.new("RGB", (8, 8)).save(out, format={"jpg": "JPEG", "tif": "TIFF"}[kind])
    data = bytearray(out.getvalue())
    if kind == "jpg":
        frame = data.index(b"\xff\xc0")
        data[frame + 5 : frame + 9] = struct.pack(">HH", tall, wide)
        return bytes(data)
    directory = struct.unpack_from("<I", data, 4)[0]
    for k in range(struct.unpack_from("<H", data, directory)[0]):
        at = directory + 2 + 12 * k
        tag, field = struct.unpack_from("<HH", data, at)
        if tag in (256, 257):
            struct.pack_into("<I" if field == 4 else "<H", data, at + 8, wide if tag == 256 else tall)
    return bytes(data)


@pytest.mark.parametrize("kind", ["png", "jpg", "tif"])
@pytest.mark.parametrize(("wide", "tall"), [(20_000, 20_000), (60_000, 60_000), (13_000, 13_000)])
def test_a_huge_picture_is_refused_before_it_is_decoded(tmp_path: Path, kind: str, wide: int, tall: int) -> None:
    path = tmp_path / f"p.{kind}"
    path.write_bytes(header(wide, tall, kind))
    tracemalloc.start()
    with pytest.raises(Unsure, match=r"more pixels than can be read|\d+ x \d+ pixels") as refused:
        read_picture(path)
    _, peak = tracemalloc.get_traced_memory()
    tracemalloc.stop()
    assert wide * tall > MOST_PIXELS
    assert peak < 20_000_000
    assert "crop it" in refused.value.mend


@pytest.mark.parametrize("size", [(1, 1), (1, 3000), (LEAST_SIDE - 1, 500)])
def test_a_picture_of_next_to_no_pixels_is_refused(tmp_path: Path, size: tuple[int, int]) -> None:
    path = written(tmp_path, Image.new("L", size), "p.png", dpi=(300, 300))
    with pytest.raises(Unsure, match=f"has {size[0]} x {size[1]} pixels, too few"):
        read_picture(path)


FORMATS = {
    "png": {"format": "PNG"},
    "png-16": {"format": "PNG"},
    "jpg": {"format": "JPEG", "quality": 85},
    "jpg-progressive": {"format": "JPEG", "quality": 85, "progressive": True},
    "tif": {"format": "TIFF"},
    "tif-lzw": {"format": "TIFF", "compression": "tiff_lzw"},
    "tif-deflate": {"format": "TIFF", "compression": "tiff_adobe_deflate"},
    "tif-jpeg": {"format": "TIFF", "compression": "jpeg"},
}


@pytest.mark.parametrize("kind", FORMATS)
@pytest.mark.parametrize("share", [0.0, 0.002, 0.02, 0.3, 0.6, 0.9])
def test_a_file_cut_short_anywhere_is_refused(tmp_path: Path, kind: str, share: float) -> None:
    rng = np.random.default_rng(3)
    codes = rng.integers(0, 256, (200, 200), dtype=np.uint8)
    image = Image.fromarray(codes.astype(np.uint16) * 257 if kind == "png-16" else codes)
    out = io.BytesIO()
    image.save(out, **FORMATS[kind])
    whole = out.getvalue()
    path = tmp_path / f"p.{kind[:3]}"
    path.write_bytes(whole[: int(share * len(whole))])
    with pytest.raises(Unsure, match=r"damaged or cut short|is no PNG, TIFF or JPEG picture"):
        read_picture(path)


def test_damaged_bytes_never_end_in_anything_but_a_refusal_or_a_picture(tmp_path: Path) -> None:
    rng = np.random.default_rng(4)
    for kind, how in FORMATS.items():
        out = io.BytesIO()
        Image.fromarray(rng.integers(0, 256, (80, 80), dtype=np.uint8)).save(out, **how)
        for _ in range(25):
            data = bytearray(out.getvalue())
            for place in rng.integers(0, min(len(data), 600), 4):
                data[place] = rng.integers(0, 256)
            path = tmp_path / f"p.{kind[:3]}"
            path.write_bytes(bytes(data))
            reason = ""
            try:
                assert read_picture(path).pixels.ndim == 3
            except Unsure as unsure:
                reason = unsure.found
            assert "\n" not in reason


def test_other_kinds_of_file_are_refused(tmp_path: Path) -> None:
    text = tmp_path / "p.png"
    text.write_text("no picture")
    with pytest.raises(Unsure, match="is no PNG, TIFF or JPEG picture"):
        read_picture(text)
    with pytest.raises(Unsure, match="is no PNG, TIFF or JPEG picture"):
        read_picture(written(tmp_path, Image.fromarray(GREY), "p.bmp"))
    with pytest.raises(Unsure, match="is not there"):
        read_picture(tmp_path / "gone.png")
    with pytest.raises(Unsure, match="is not a plain file"):
        read_picture(tmp_path)


def test_several_pages_are_refused(tmp_path: Path) -> None:
    pages = [Image.fromarray(GREY), Image.fromarray(GREY)]
    path = written(tmp_path, pages[0], "p.tif", save_all=True, append_images=pages[1:])
    with pytest.raises(Unsure, match="holds 2 pages"):
        read_picture(path)


def test_floating_point_pixels_are_refused(tmp_path: Path) -> None:
    with pytest.raises(Unsure, match="has pixels of floating point"):
        read_picture(written(tmp_path, Image.fromarray(GREY.astype(np.float32)), "p.tif"))
