"""What is traced, which way round it comes out, and when the tracer refuses because it is not sure."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import pytest
import shapely
from scan_simulation import Array, Optics, Shape, Sheet, disc, scan

from portgeom.capture.images.file import Picture
from portgeom.capture.images.resolution import Claim
from portgeom.capture.images.scale import by_dpi
from portgeom.capture.images.unsure import Unsure
from portgeom.capture.tracing.mould import Mould
from portgeom.capture.tracing.trace import trace_picture
from portgeom.capture.tracing.traced import ALL, Traced, Wish

DPI = 150.0
PX_MM = 25.4 / DPI
DARK, PALE = 0.1, 0.82
OPTICS = Optics(blur_px=0.6, uneven=0.2, noise=0.01)

# an outline with no symmetry: 30 wide, 24 high, its roof higher on the right
LEANING = np.array([[-15.0, -12.0], [15.0, -12.0], [15.0, 12.0], [-5.0, 12.0], [-15.0, 2.0]])
LEANING_AREA = 30.0 * 24.0 - 0.5 * 10.0 * 10.0


def traced(
    shapes: Sequence[Shape],
    wish: Wish | None = None,
    *,
    size: tuple[float, float] = (60.0, 50.0),
    sheet: float = PALE,
    optics: Optics = OPTICS,
) -> Traced:
    codes = scan(Sheet(*size, sheet, shapes), DPI, optics, seed=1)
    return of_codes(codes[..., None], wish)


def of_codes(codes: np.ndarray, wish: Wish | None = None) -> Traced:
    picture = Picture("scan.png", codes, Claim(None, None, ""))
    return trace_picture(picture, by_dpi(DPI, DPI, "as simulated"), wish or Wish())


def at(points: Array, x: float, y: float, *, turned_deg: float = 0.0) -> Array:
    angle = np.radians(turned_deg)
    turn = np.array([[np.cos(angle), -np.sin(angle)], [np.sin(angle), np.cos(angle)]])
    return points @ turn.T + [x, y]


def box(wide: float, tall: float) -> Array:
    return 0.5 * np.array([[-wide, -tall], [wide, -tall], [wide, tall], [-wide, tall]])


def same(found: Array, expected: Array, within_mm: float) -> bool:
    a, b = shapely.Polygon(found), shapely.Polygon(expected)
    there = shapely.distance(shapely.points(shapely.segmentize(a, 0.5).exterior.coords), b.exterior).max()
    back = shapely.distance(shapely.points(shapely.segmentize(b, 0.5).exterior.coords), a.exterior).max()
    return max(there, back) <= within_mm


def about_centroid(points: Array) -> Array:
    return points - np.array(shapely.Polygon(points).centroid.coords[0])


# a sharp corner is rounded by the blur and by a pixel
CORNER_MM = 2.0 * PX_MM


@pytest.mark.parametrize(
    ("roof", "turned"), [("up", 0.0), ("right", -90.0), ("down", 180.0), ("left", 90.0), (30.0, -30.0)]
)
def test_the_roof_comes_out_up_whichever_way_it_lay(roof: str | float, turned: float) -> None:
    (slice_,) = traced([Shape(at(LEANING, 30.0, 25.0, turned_deg=turned), DARK)], Wish(roof=roof)).slices
    assert same(slice_.outline.points_mm, about_centroid(LEANING), CORNER_MM)
    assert slice_.outline.area_mm2 == pytest.approx(LEANING_AREA, rel=2e-3)


def test_mirrored_swaps_left_and_right_and_stays_anticlockwise() -> None:
    (slice_,) = traced([Shape(at(LEANING, 30.0, 25.0), DARK)], Wish(mirrored=True)).slices
    assert same(slice_.outline.points_mm, about_centroid(LEANING) * [-1.0, 1.0], CORNER_MM)
    assert slice_.outline.area_mm2 > 0.0


def test_the_far_face_of_a_mould_shrunk_by_one_percent_comes_out_as_the_port() -> None:
    mould = Mould("far", 1.0, 1.2)
    seen = 0.99 * LEANING * [-1.0, 1.0]
    (slice_,) = traced([Shape(at(seen, 30.0, 25.0), DARK)], Wish(mirrored=mould.mirrored, mould=mould)).slices
    assert same(slice_.outline.points_mm, about_centroid(LEANING), CORNER_MM)
    assert slice_.outline.area_mm2 == pytest.approx(LEANING_AREA, rel=2e-3)
    assert slice_.width_mm == pytest.approx(0.99 * 30.0, abs=0.06)
    assert mould.beyond_mark_mm == -0.6


def test_the_roof_is_found_by_a_mark_beside_the_slice() -> None:
    middle = np.array([30.0, 25.0])
    centroid = np.array(shapely.Polygon(LEANING).centroid.coords[0])
    mark = at((centroid + [0.0, 17.0]).reshape(1, 2), *middle, turned_deg=-37.0)[0]
    shapes = [Shape(at(LEANING, *middle, turned_deg=-37.0), DARK), Shape(disc(*mark, 2.5), DARK)]
    (slice_,) = traced(shapes, Wish(roof="mark")).slices
    assert same(slice_.outline.points_mm, about_centroid(LEANING), CORNER_MM)


def test_the_origin_is_a_hole_in_the_slice() -> None:
    shapes = [Shape(at(LEANING, 30.0, 25.0), DARK), Shape(disc(33.0, 20.0, 1.6), PALE)]
    (slice_,) = traced(shapes, Wish(origin="mark")).slices
    assert same(slice_.outline.points_mm, LEANING - [3.0, -5.0], CORNER_MM)
    # the hole belongs to the slice all the same
    assert slice_.outline.area_mm2 == pytest.approx(LEANING_AREA, rel=2e-3)


def test_the_origin_can_be_level_with_the_lowest_point_or_a_place_in_the_picture() -> None:
    shape = [Shape(at(LEANING, 30.0, 25.0), DARK)]
    (lowest,) = traced(shape, Wish(origin="lowest")).slices
    assert lowest.outline.low_mm[1] == pytest.approx(0.0, abs=0.06)
    assert lowest.outline.centroid_mm[0] == pytest.approx(0.0, abs=1e-9)
    pixel = np.array([30.0 / PX_MM - 0.5, (50.0 - 25.0) / PX_MM - 0.5])
    (given,) = traced(shape, Wish(origin=pixel)).slices
    assert same(given.outline.points_mm, LEANING, CORNER_MM)


def test_pale_slices_on_a_dark_sheet_trace_like_dark_ones_on_a_pale_one() -> None:
    pale = traced([Shape(at(LEANING, 30.0, 25.0), PALE)], sheet=0.04)
    dark = traced([Shape(at(LEANING, 30.0, 25.0), DARK)])
    assert (pale.tone, dark.tone) == ("light", "dark")
    assert pale.slices[0].outline.area_mm2 == pytest.approx(dark.slices[0].outline.area_mm2, rel=1e-3)


def test_slices_are_numbered_in_reading_order_though_rows_are_uneven() -> None:
    places = [(15.0, 58.0), (45.0, 62.0), (75.0, 57.0), (16.0, 20.0), (46.0, 17.0)]
    sizes = [18.0, 19.0, 20.0, 21.0, 22.0]
    shapes = [Shape(at(box(w, 14.0), *p), DARK) for p, w in zip(places, sizes, strict=True)]
    found = traced(shapes[::-1], Wish(slices=5), size=(90.0, 80.0)).slices
    assert [s.number for s in found] == [1, 2, 3, 4, 5]
    assert [s.width_mm for s in found] == pytest.approx(sizes, abs=0.06)


def test_slices_are_numbered_by_the_marks_beside_them() -> None:
    bar = box(7.0, 1.8)
    shapes = [
        Shape(at(box(20.0, 16.0), 20.0, 20.0), DARK),
        Shape(at(box(24.0, 16.0), 60.0, 20.0), DARK),
        Shape(at(bar, 16.0, 31.5), DARK),
        Shape(disc(24.0, 31.5, 2.2), DARK),
        Shape(disc(56.0, 31.5, 2.2), DARK),
        Shape(disc(60.0, 31.5, 2.2), DARK),
    ]
    found = traced(shapes, Wish(slices=2, numbering="tally"), size=(80.0, 40.0)).slices
    assert [s.number for s in found] == [2, 6]
    assert [s.width_mm for s in found] == pytest.approx([24.0, 20.0], abs=0.06)


def test_specks_are_left_out_and_counted() -> None:
    shapes = [
        Shape(at(LEANING, 30.0, 25.0), DARK),
        Shape(disc(5.0, 5.0, 0.8), DARK),
        Shape(disc(50.0, 44.0, 1.0), DARK),
    ]
    found = traced(shapes)
    assert len(found.specks_mm) == 2
    assert "2 specks on the sheet left out" in found.notes
    assert found.slices[0].outline.area_mm2 == pytest.approx(LEANING_AREA, rel=2e-3)


def test_a_hair_across_the_edge_is_cut_off_and_told() -> None:
    hair = at(box(14.0, 0.3), 47.0, 25.0, turned_deg=12.0)
    (slice_,) = traced([Shape(at(LEANING, 30.0, 25.0), DARK), Shape(hair, 0.02)]).slices
    assert same(slice_.outline.points_mm, about_centroid(LEANING), CORNER_MM + 0.1)
    assert any("hair" in note for note in slice_.notes)
    (gone,) = slice_.hairs_mm
    assert np.ptp(gone[:, 0]) > 2.5


def test_a_hair_from_slice_to_slice_is_cut_off_both() -> None:
    boxes = [Shape(at(box(18.0, 20.0), x, 25.0), DARK) for x in (18.0, 38.0)]
    found = traced([*boxes, Shape(at(box(4.0, 0.3), 28.0, 25.0), DARK)], Wish(slices=2)).slices
    # the blur leaves a foot of the hair, under a fifth of a millimetre high
    assert [s.width_mm for s in found] == pytest.approx([18.0, 18.0], abs=0.2)
    assert all(len(s.hairs_mm) == 1 for s in found)


def test_a_speck_on_the_edge_is_left_and_pointed_out() -> None:
    (slice_,) = traced([Shape(at(LEANING, 30.0, 25.0), DARK), Shape(disc(30.0, 12.9, 0.7), DARK)]).slices
    assert len(slice_.bumps) == 1
    # on the sheet 0, 0 is the middle of the top left pixel
    assert slice_.bumps[0].place_mm + [0.0, 50.0] == pytest.approx([30.0, 12.6], abs=0.3)
    assert any("bump" in note for note in slice_.notes)


def test_ruled_paper_does_not_lead_astray() -> None:
    lines = [Shape(at(box(0.25, 50.0), x, 25.0), 0.6) for x in np.arange(2.5, 60.0, 5.0)]
    lines += [Shape(at(box(60.0, 0.25), 30.0, y), 0.6) for y in np.arange(2.5, 50.0, 5.0)]
    (slice_,) = traced([*lines, Shape(at(LEANING, 30.0, 25.0), DARK)]).slices
    assert slice_.outline.area_mm2 == pytest.approx(LEANING_AREA, rel=3e-3)


def test_a_dark_strip_along_the_rim_is_no_slice() -> None:
    strip = Shape(at(box(60.0, 2.0), 30.0, 49.0), 0.05)
    found = traced([strip, Shape(at(LEANING, 30.0, 25.0), DARK)])
    assert len(found.slices) == 1


def test_a_blue_slice_as_bright_as_its_sheet_is_traced_in_the_colour_that_tells_them_apart() -> None:
    red = scan(Sheet(60.0, 50.0, 0.5, [Shape(at(LEANING, 30.0, 25.0), 0.15)]), DPI, OPTICS, seed=1)
    blue = scan(Sheet(60.0, 50.0, 0.15, [Shape(at(LEANING, 30.0, 25.0), 0.8)]), DPI, OPTICS, seed=2)
    green = scan(Sheet(60.0, 50.0, 0.3, [Shape(at(LEANING, 30.0, 25.0), 0.35)]), DPI, OPTICS, seed=3)
    found = of_codes(np.dstack([red, green, blue]))
    assert found.channel in ("red", "blue")
    assert found.slices[0].outline.area_mm2 == pytest.approx(LEANING_AREA, rel=2e-3)


def test_either_edge_of_a_ring_is_traced_once_it_is_said_which() -> None:
    ring = [Shape(at(box(34.0, 30.0), 30.0, 25.0), DARK), Shape(disc(30.0, 25.0, 20.0), PALE)]
    (inner,) = traced(ring, Wish(edge="inner")).slices
    (outer,) = traced(ring, Wish(edge="outer")).slices
    assert inner.outline.area_mm2 == pytest.approx(np.pi * 10.0**2, rel=2e-3)
    assert outer.outline.area_mm2 == pytest.approx(34.0 * 30.0, rel=2e-3)


def test_a_linear_coding_is_taken_at_its_word() -> None:
    light = np.full((250, 300), 60000, dtype=np.uint16)
    light[60:200, 80:230] = 3000
    found = of_codes(light[..., None], Wish(coding="linear"))
    assert found.slices[0].outline.area_mm2 == pytest.approx(150 * 140 * PX_MM**2, rel=2e-3)


REFUSED = {
    "nothing there": ([], Wish(), "no shape"),
    "only a speck": ([Shape(disc(30.0, 25.0, 5.0), DARK)], Wish(), "no shape"),
    "two shapes for one slice": (
        [Shape(at(box(18.0, 20.0), 15.0, 25.0), DARK), Shape(at(box(18.0, 20.0), 42.0, 25.0), DARK)],
        Wish(),
        "shows 2 shapes that could be slices, not 1",
    ),
    "one shape for two slices": ([Shape(at(LEANING, 30.0, 25.0), DARK)], Wish(slices=2), "shows 1 shapes"),
    "off the picture": ([Shape(at(LEANING, 50.0, 25.0), DARK)], Wish(), "leaves the picture"),
    "both tones": (
        [Shape(at(box(18.0, 20.0), 15.0, 25.0), 0.05), Shape(at(box(18.0, 20.0), 42.0, 25.0), 0.95)],
        Wish(slices=ALL),
        "both darker and lighter",
    ),
    "a ring": (
        [Shape(at(box(34.0, 30.0), 30.0, 25.0), DARK), Shape(disc(30.0, 25.0, 20.0), 0.5)],
        Wish(),
        "has two edges",
    ),
    "no inner edge": ([Shape(at(LEANING, 30.0, 25.0), DARK)], Wish(edge="inner"), "has no inner edge"),
    "no roof mark": ([Shape(at(LEANING, 30.0, 25.0), DARK)], Wish(roof="mark"), "no mark beside it"),
    "no origin mark": ([Shape(at(LEANING, 30.0, 25.0), DARK)], Wish(origin="mark"), "no spot of"),
    "two origin marks": (
        [
            Shape(at(LEANING, 30.0, 25.0), DARK),
            Shape(disc(28.0, 22.0, 2.0), 0.5),
            Shape(disc(35.0, 22.0, 2.0), 0.5),
        ],
        Wish(origin="mark"),
        "2 spots of",
    ),
    "an origin off the picture": (
        [Shape(at(LEANING, 30.0, 25.0), DARK)],
        Wish(origin=np.array([900.0, 10.0])),
        "the origin at 900,10 is outside its 354 x 295 pixels",
    ),
    "no tally": ([Shape(at(LEANING, 30.0, 25.0), DARK)], Wish(numbering="tally"), "no marks beside it"),
    "a mark between two": (
        [
            Shape(at(box(18.0, 20.0), 15.0, 25.0), DARK),
            Shape(at(box(18.0, 20.0), 42.0, 25.0), DARK),
            Shape(disc(28.5, 25.0, 2.4), DARK),
        ],
        Wish(slices=2, roof="mark"),
        "a mark lies",
    ),
}


@pytest.mark.parametrize("case", REFUSED)
def test_what_is_not_sure_is_refused_with_the_reason(case: str) -> None:
    shapes, wish, reason = REFUSED[case]
    with pytest.raises(Unsure, match=reason) as refused:
        traced(shapes, wish, sheet=0.5)
    assert refused.value.mend


def test_a_slice_out_of_focus_is_refused() -> None:
    with pytest.raises(Unsure, match="is blurred: its edge is"):
        traced([Shape(at(LEANING, 30.0, 25.0), DARK)], optics=Optics(blur_px=4.5, uneven=0.0, noise=0.01))


def test_a_grainy_picture_is_refused() -> None:
    with pytest.raises(Unsure, match="stands out too little"):
        traced([Shape(at(LEANING, 30.0, 25.0), 0.25)], sheet=0.5, optics=Optics(blur_px=0.6, uneven=0.0, noise=0.032))


def test_a_slice_almost_as_bright_as_its_sheet_is_refused() -> None:
    with pytest.raises(Unsure, match=r"differs from the sheet by 1[0-4] percent of its light"):
        traced([Shape(at(LEANING, 30.0, 25.0), 0.435)], sheet=0.5, optics=Optics(blur_px=0.6, uneven=0.0, noise=0.003))


def test_a_shadow_along_one_side_is_pointed_out() -> None:
    shade = [Shape(at(box(28.0, 0.5), 30.0, 12.9 - 0.2 * k), 0.12 + 0.09 * k) for k in range(7, -1, -1)]
    (slice_,) = traced([*shade, Shape(at(LEANING, 30.0, 25.0), DARK)]).slices
    assert any("soft" in note for note in slice_.notes)


def test_a_slice_of_a_plain_synthetic_picture_has_the_area_of_its_pixels() -> None:
    codes = np.full((250, 300, 1), 255, dtype=np.uint8)
    codes[60:200, 80:230] = 0
    assert of_codes(codes).slices[0].outline.area_mm2 == pytest.approx(150 * 140 * PX_MM**2, rel=1e-3)
