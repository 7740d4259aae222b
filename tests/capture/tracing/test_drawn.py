"""Which closed lines of a drawing are slices, which are marks, and how does each lie in its section plane?"""

from __future__ import annotations

from math import pi

import numpy as np
import pytest

from portgeom.capture.drawing import DrawnSheet
from portgeom.capture.images.unsure import Unsure
from portgeom.capture.tracing.drawn import TracedDrawing, trace_drawing
from portgeom.capture.tracing.mould import mould
from portgeom.capture.tracing.traced import ALL, Wish
from portgeom.geometry.arrays import F64
from portgeom.geometry.outline import Outline
from portgeom.job.drawing import DrawnLoops

# a foot to the right of a post, so that neither a turn nor a swap maps it on itself
POST = np.array([[0.0, 0.0], [30.0, 0.0], [30.0, 10.0], [12.0, 10.0], [12.0, 40.0], [0.0, 40.0]])
POST_AREA = 30.0 * 10.0 + 12.0 * 30.0


def disc(x: float, y: float, r: float) -> F64:
    angle = np.linspace(0.0, 2.0 * pi, 90, endpoint=False)
    return np.array([x, y]) + r * np.column_stack([np.cos(angle), np.sin(angle)])


def box(x: float, y: float, wide: float, tall: float) -> F64:
    return np.array([x, y]) + 0.5 * np.array([[-wide, -tall], [wide, -tall], [wide, tall], [-wide, tall]])


def sheet(*loops: F64) -> DrawnSheet:
    outlines = tuple(Outline.polygon(points) for points in loops)
    return DrawnSheet("a.dxf", DrawnLoops(outlines, 0.001, "drawn in mm", ()), ())


def traced(*loops: F64, **wish: object) -> TracedDrawing:
    return trace_drawing(sheet(*loops), Wish(**wish))  # type: ignore[arg-type]


def ordered(points: list[tuple[float, float]]) -> F64:
    return np.array(sorted((round(u, 6) + 0.0, round(v, 6) + 0.0) for u, v in points))


def corners(drawing: TracedDrawing) -> F64:
    return ordered(drawing.slices[0].outline.points_mm.tolist())


def test_a_drawing_as_it_stands_is_the_section() -> None:
    one = traced(POST, origin="drawing")
    assert corners(one) == pytest.approx(ordered(POST.tolist()))
    assert one.slices[0].outline.area_mm2 == pytest.approx(POST_AREA)
    assert (one.slices[0].placing.roof_words, one.slices[0].placing.origin_words) == (
        "towards the drawing's top",
        "the drawing's own",
    )


@pytest.mark.parametrize(
    ("roof", "mirrored", "expected"),
    [
        # (x, y) on the sheet to (u, v): right is right of the roof's way, unless the drawing looks out
        ("up", True, lambda x, y: (-x, y)),
        ("right", False, lambda x, y: (-y, x)),
        ("down", False, lambda x, y: (-x, -y)),
        ("left", True, lambda x, y: (-y, -x)),
        (180.0, True, lambda x, y: (x, -y)),
    ],
)
def test_roof_and_mirror_turn_a_drawing_as_they_turn_a_picture(roof, mirrored, expected) -> None:  # type: ignore[no-untyped-def]
    one = traced(POST, origin="drawing", roof=roof, mirrored=mirrored)
    assert corners(one) == pytest.approx(ordered([expected(x, y) for x, y in POST.tolist()]))
    assert one.slices[0].outline.area_mm2 == pytest.approx(POST_AREA)


def test_origins_lie_where_they_are_said_to() -> None:
    centroid = traced(POST).slices[0].outline
    assert centroid.centroid_mm == pytest.approx([0.0, 0.0], abs=1e-9)
    lowest = traced(POST, origin="lowest").slices[0].outline
    assert lowest.low_mm[1] == pytest.approx(0.0, abs=1e-9)
    assert lowest.centroid_mm[0] == pytest.approx(0.0, abs=1e-9)
    placed = traced(POST, origin=np.array([6.0, 5.0])).slices[0]
    assert placed.outline.low_mm == pytest.approx([-6.0, -5.0])
    assert placed.placing.origin_words == "the place given in the drawing"


def test_a_hole_in_the_slice_marks_its_origin_and_a_dot_beside_it_the_roof() -> None:
    one = traced(box(50.0, 40.0, 30.0, 24.0), disc(53.0, 42.0, 1.0), disc(70.0, 42.0, 2.0), origin="mark", roof="mark")
    # the roof lies to the right on the sheet, so the sheet's top is left
    assert one.slices[0].outline.low_mm == pytest.approx([-(12.0 - 2.0), -18.0])
    assert one.slices[0].outline.high_mm == pytest.approx([14.0, 12.0])
    assert one.slices[0].notes == ()


def test_several_slices_are_numbered_row_by_row() -> None:
    sizes = {(0.0, 100.0): 10.0, (60.0, 95.0): 11.0, (0.0, 0.0): 12.0, (60.0, 5.0): 13.0}
    loops = [disc(*place, r) for place, r in reversed(sizes.items())]
    many = traced(*loops, slices=ALL)
    assert [s.number for s in many.slices] == [1, 2, 3, 4]
    assert [s.width_mm for s in many.slices] == pytest.approx([20.0, 22.0, 24.0, 26.0], rel=2e-3)


def test_dots_and_bars_beside_slices_spell_their_numbers() -> None:
    many = traced(
        *(box(0.0, 0.0, 20.0, 20.0), box(14.0, 0.0, 1.0, 8.0)),
        *(box(60.0, 0.0, 24.0, 20.0), disc(75.0, 4.0, 1.0), disc(75.0, -4.0, 1.0)),
        slices=2,
        numbering="tally",
    )
    assert [(s.number, s.width_mm) for s in many.slices] == [(2, pytest.approx(24.0)), (5, pytest.approx(20.0))]


def test_a_mould_that_was_drawn_is_grown_and_its_far_face_swapped() -> None:
    cut = mould("far", 1.0, 0.5)
    one = traced(POST, origin="drawing", mould=cut, mirrored=cut.mirrored).slices[0]
    assert one.outline.low_mm == pytest.approx([-30.0 / 0.99, 0.0])
    assert one.width_mm == pytest.approx(30.0)  # as drawn, which is what calipers read


def test_two_edges_are_asked_about_and_either_is_had() -> None:
    ring = (disc(0.0, 0.0, 30.0), disc(0.0, 0.0, 20.0), disc(0.0, 0.0, 5.0))
    with pytest.raises(Unsure, match=r"has two edges, of 28\d\d mm2 and, inside it, 125\d mm2; .+--edge outer"):
        traced(*ring)
    outer, inner = (traced(*ring, edge=way).slices[0].outline.area_mm2 for way in ("outer", "inner"))
    assert [outer, inner] == pytest.approx([pi * 30.0**2, pi * 20.0**2], rel=1e-3)
    with pytest.raises(Unsure, match=r"has no inner edge; leave --edge out"):
        traced(POST, edge="inner")


@pytest.mark.parametrize(
    ("loops", "wish", "reason"),
    [
        ((POST, disc(90.0, 0.0, 9.0)), {}, r"holds 2 closed lines side by side that could be slices, not 1: "),
        ((POST,), {"slices": 3}, r"could be slices, not 3: 660 mm2 about u 10\.1, v 15\.9 mm; say --slices 1"),
        ((POST,), {"origin": "mark"}, r"^the slice drawn about u 10\.1, v 15\.9 mm has no spot of 0\.8 to 60 mm2"),
        ((POST,), {"roof": "mark"}, r"has no mark beside it to show its roof"),
        ((POST,), {"numbering": "tally"}, r"slice 1 from the top left has no marks beside it"),
    ],
)
def test_what_is_not_clear_is_refused_with_the_place(loops, wish, reason: str) -> None:  # type: ignore[no-untyped-def]
    with pytest.raises(Unsure, match=reason):
        traced(*loops, **wish)


def test_what_is_left_out_or_may_be_lost_is_told() -> None:
    about = traced(POST - [2.0, 3.0], disc(7.0, 3.0, 1.0), disc(60.0, 0.0, 1.0))
    assert about.told == ("1 small closed line beside not used",)
    inside, origin = about.slices[0].notes
    assert inside == "1 closed line inside it left out"
    assert origin.startswith("its centroid lies at u 8.09, v 12.91 mm of the drawing; --origin drawing keeps")
    outside = traced(POST + 100.0, origin="drawing").slices[0].notes
    assert outside == ("the origin lies outside its outline, so the path would too; take another --origin",)


def test_one_small_line_alone_is_the_slice() -> None:
    assert traced(disc(0.0, 0.0, 2.0)).slices[0].width_mm == pytest.approx(4.0, rel=1e-3)
