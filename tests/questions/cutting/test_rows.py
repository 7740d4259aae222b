"""Where rows run, how deep they are set, and what a pass's blanks mean: by common practice, worked by hand."""

from __future__ import annotations

from collections.abc import Callable
from math import sqrt

import numpy as np
import pytest

from portgeom.geometry.shapes import CornerRadii, rectangle
from portgeom.job.values import CutPass, Cutter, Line, Target

S = np.linspace(0.0, 100.0, 11)


def box(width: float = 42.0, radius: float = 8.0) -> list:
    return [rectangle(width, 50.0, CornerRadii(radius, radius, 6.0, 6.0))] * 11


def grooves(side: str = "roof", **more: object) -> CutPass:
    return CutPass("grooves", "grooves", side, "ball 10", **more)


def rows_at(port: object, distance: float) -> list[float]:
    k = port.slab(distance)
    return [float(g.along_mm[k]) for g in port.first.grooves if g.runs[k]]


def test_corner_rows_run_one_corner_radius_in_from_each_wall_and_the_middle_only_where_ribs_would_be_wide(
    worked: Callable,
) -> None:
    # 6 mm off: set 3.3, width 2 sqrt(5^2 - 1.7^2) = 9.4; ribs may be 8 wide: rows up to 17.4 apart
    for width, expected in ((42.0, [-13.0, 0.0, 13.0]), (32.0, [-8.0, 8.0]), (35.0, [-9.5, 0.0, 9.5])):
        port = worked(S, box(width), grooves(), roof=[(0, 31), (100, 31)])
        assert rows_at(port, 50.0) == pytest.approx(expected, abs=0.15)  # corner radii read off the shape


def test_corner_radius_of_the_target_counts_where_it_is_given(worked: Callable) -> None:
    target = Target("wanted", roof=Line(np.array([(0, 31.0), (100, 31.0)])), corner_radius=Line(np.array([(0, 11.0)])))
    port = worked(S, box(), grooves(), target=target)
    assert rows_at(port, 50.0) == pytest.approx([-10.0, 0.0, 10.0], abs=1e-9)


def test_rows_are_never_nearer_to_a_wall_than_the_cutter_is_wide(worked: Callable) -> None:
    port = worked(S, box(radius=2.0), grooves(), roof=[(0, 31), (100, 31)])
    assert rows_at(port, 50.0)[0] == pytest.approx(-21.0 + 5.0, abs=1e-9)
    # nor to a wall that still stands where it will be moved out
    widen = np.array([(0.0, 2.0, 0.0), (100.0, 2.0, 0.0)])
    target = Target("wanted", roof=Line(np.array([(0, 31.0), (100, 31.0)])), widen=widen)
    port = worked(S, box(radius=2.0), grooves(), target=target)
    first, *_, last = rows_at(port, 50.0)
    assert (first, last) == pytest.approx((-21.0 + 5.0, 21.0 - 5.0), abs=1e-9)


def test_wide_roofs_get_the_fewest_rows_whose_ribs_the_cutter_levels(worked: Callable) -> None:
    for width in (60.0, 75.0, 90.0):
        port = worked(S, box(width), grooves(), roof=[(0, 31), (100, 31)])
        rows = rows_at(port, 50.0)
        groove = 2.0 * sqrt(5.0**2 - (5.0 - 3.3) ** 2)
        tops = np.diff(rows) - groove
        assert tops.max() <= 0.8 * 10.0
        one_less = (rows[-1] - rows[0]) / (len(rows) - 2) - groove
        assert one_less > 0.8 * 10.0
        assert port.first.rib.top_mm == pytest.approx(float(tops.max()), abs=0.01)


def test_a_number_of_rows_is_kept_to(worked: Callable) -> None:
    for count in (1, 2, 5):
        port = worked(S, box(), grooves(rows=count), roof=[(0, 31), (100, 31)])
        rows = rows_at(port, 50.0)
        assert len(rows) == count
        assert np.mean(rows) == pytest.approx(0.0, abs=1e-9)


def test_grooves_start_inside_the_face_and_end_before_the_roof_does(worked: Callable) -> None:
    port = worked(S, box(), grooves(), roof=[(0, 31), (100, 31)], roof_end_mm=70.0)
    for groove in port.first.grooves:
        assert (groove.from_mm, groove.to_mm) == (4.0, 66.0)


def test_grooves_are_left_out_where_too_little_metal_stands(worked: Callable) -> None:
    # 0 to 4 mm over the line: under 1.5 mm none
    port = worked(S, box(), grooves(), roof=[(0, 25), (100, 29)])
    for groove in port.first.grooves[::2]:
        assert groove.from_mm == pytest.approx(1.5 / 0.04, abs=0.5)
    # a pass that is told a depth and what to leave cuts down to that
    port = worked(S, box(), grooves(depth_mm=0.8, leave_mm=0.5, across_mm=(0.0,)), roof=[(0, 25), (100, 29)])
    assert port.first.grooves[0].from_mm == pytest.approx(0.5 / 0.04, abs=0.5)
    assert np.nanmin(port.first.grooves[0].depth_mm) > 0.0


def test_first_grooves_take_a_good_half_but_never_more_than_common_practice_allows(worked: Callable) -> None:
    for over, expected in ((3.0, 0.55 * 3.0), (6.0, 0.55 * 6.0), (9.0, 3.8)):
        port = worked(S, box(), grooves(), roof=[(0, 25 + over), (100, 25 + over)])
        assert np.nanmax(port.first.grooves[1].depth_mm) == pytest.approx(expected, abs=0.005)
    small = Cutter("ball 10", "ball", 8.0, 8.0, 6.0, 100.0)
    port = worked(S, box(), grooves(), roof=[(0, 34), (100, 34)], cutters=[small])
    assert np.nanmax(port.first.grooves[1].depth_mm) == pytest.approx(0.8 * 4.0, abs=0.005)


@pytest.mark.parametrize("over", [5.9, 6.0, 6.35])
def test_trade_figure_six_millimetres_over_is_grooved_at_3_2_to_3_8(worked: Callable, over: float) -> None:
    """Common practice, no source: 0.125 to 0.150 in for 0.25 in to come off."""
    port = worked(S, box(), roof=[(0, 25 + over), (100, 25 + over)], cutters=[])
    assert port.first.plan.name == "depth grooves"
    for groove in port.first.grooves:
        assert np.nanmin(groove.depth_mm) >= 3.2
        assert np.nanmax(groove.depth_mm) <= 3.8


def test_usual_plan_levels_under_the_grooves_and_short_of_the_line_and_ends_at_it(worked: Callable) -> None:
    port = worked(S, box(), roof=[(0, 31), (100, 31)], cutters=[])
    names = [r.plan.name for r in port.results]
    assert names == ["depth grooves", "level", "blend", "blend left", "blend right", "blend floor"]
    k = port.slab(50.0)
    crowns = [r.after.points_mm[k, :, 1].max() for r in port.results]
    assert crowns[0] == pytest.approx(25.0 + 3.3, abs=0.01)
    assert crowns[1] == pytest.approx(25.0 + 3.3 + 0.4, abs=0.01)  # a little below their bottoms
    assert 0.9 - 0.01 <= 31.0 - crowns[1] <= 2.5
    assert crowns[2] == pytest.approx(31.0, abs=1e-9)


def test_a_second_round_is_cut_where_more_than_2_5_mm_would_be_left(worked: Callable) -> None:
    port = worked(S, box(), roof=[(0, 34), (100, 34)], cutters=[])
    names = [r.plan.name for r in port.results][:5]
    assert names == ["depth grooves", "level", "second grooves", "second level", "blend"]
    assert port.named("level").left_over_mm == pytest.approx(9.0 - 3.8 - 0.4, abs=0.02)
    assert np.nanmax(port.named("second grooves").grooves[1].depth_mm) == pytest.approx(0.55 * 4.8, abs=0.02)
    assert 0.9 - 0.02 <= port.named("second level").left_over_mm <= 2.5


def test_rows_of_side_walls_run_by_height_and_of_the_floor_by_place_across(worked: Callable) -> None:
    for side, line in (("floor", {"floor": [(0, -31), (100, -31)]}), ("roof", {"roof": [(0, 31), (100, 31)]})):
        port = worked(S, box(), grooves(side=side, across_mm=(-9.0, 1.0, 4.0)), **line)
        assert [r.across_mm for r in port.card()[0].rows] == [-9.0, 1.0, 4.0]


def test_a_run_too_short_for_grooves_cuts_none(worked: Callable) -> None:
    port = worked(S, box(), roof=[(0, 31), (100, 31)], roof_end_mm=6.0, cutters=[])
    assert port.first.volume_mm3 == 0.0
    assert port.card() == ()
    assert port.results[-1].left_mm3 == pytest.approx(0.0, abs=0.01)


def test_rows_that_fall_together_in_a_narrow_place_are_one(worked: Callable) -> None:
    # 40 wide at the face, 10.4 at the far end: a ball of 10 has room for one row there
    outlines = [rectangle(40.0 - 0.296 * s, 50.0, CornerRadii(3.0, 3.0, 3.0, 3.0)) for s in S]
    port = worked(S, outlines, grooves(rows=3, depth_mm=2.0), roof=[(0, 31), (100, 31)])
    assert len(rows_at(port, 20.0)) == 3
    assert len(rows_at(port, 95.0)) == 1
