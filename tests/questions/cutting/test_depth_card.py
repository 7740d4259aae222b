"""The depth card: its marks, its sizes and its rows, against ports whose every size is known."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from math import atan, cos, sqrt, tan

import numpy as np
import pytest

from portgeom.geometry.outline import Outline
from portgeom.geometry.shapes import CornerRadii, rectangle
from portgeom.job.values import CutPass, Hazard, SectionTable, StationRow, Target

S = np.linspace(0.0, 100.0, 15)  # no slab at a round distance
BOX = [rectangle(42.0, 50.0, CornerRadii(10.0, 10.0, 6.0, 6.0))] * 15
ROOF = [(0, 31), (100, 31)]
MM_PER_IN = 25.4


def grooves(**more: object) -> CutPass:
    return CutPass("grooves", "grooves", cutter="ball 10", **({"side": "roof"} | more))


@pytest.mark.parametrize(
    ("first", "last", "marks"),
    [
        (20.0, 50.0, [20.0, 25.0, 30.0, 35.0, 40.0, 45.0, 50.0]),
        (4.0, 96.0, [15.0, 30.0, 45.0, 60.0, 75.0, 90.0]),
        (4.0, 84.0, [10.0, 20.0, 30.0, 40.0, 50.0, 60.0, 70.0, 80.0]),
        (21.0, 24.0, [22.5]),  # too short for a round one: its middle
    ],
)
def test_marks_are_whole_steps_of_a_rule_and_at_most_eight(
    worked: Callable, first: float, last: float, marks: list[float]
) -> None:
    card = worked(S, BOX, grooves(from_mm=first, to_mm=last, across_mm=(0.0,)), roof=ROOF).card()
    assert [m.distance_mm for m in card] == marks


def test_marks_in_inches_are_fractions_of_an_inch(worked: Callable) -> None:
    card = worked(S, BOX, grooves(from_mm=12.0, to_mm=64.0, across_mm=(0.0,)), roof=ROOF).card(units="in")
    assert [m.distance_mm / MM_PER_IN for m in card] == pytest.approx([0.5, 1.0, 1.5, 2.0, 2.5])


def test_sizes_at_a_mark_are_those_of_the_groove_there(worked: Callable) -> None:
    # a roof that rises 1 in 5 and a line 5 to 7 above it: nothing is the same from slab to slab
    u = np.linspace(21.0, -21.0, 85)
    sloped = [Outline.polygon([*zip(u, 20 + 0.2 * x + 0 * u, strict=True), (-21, -25), (21, -25)]) for x in S]
    port = worked(S, sloped, grooves(across_mm=(-9.0, 3.0), leave_mm=0.5), roof=[(0, 25), (100, 47)])
    lean = atan(0.2)
    for mark in port.card():
        s = mark.distance_mm
        roof, over = 20.0 + 0.2 * s, 5.0 + 0.02 * s
        depth = min(0.55 * over, 3.8)
        assert [r.row for r in mark.rows] == [1, 2]
        for row, across in zip(mark.rows, (-9.0, 3.0), strict=True):
            assert row.across_mm == pytest.approx(across, abs=1e-9)
            assert row.depth_mm == pytest.approx(depth, abs=0.02)
            bottom = roof + depth / cos(lean)
            assert row.left_mm == pytest.approx(roof + over - bottom, abs=0.02)
            assert row.opposite_mm == pytest.approx(bottom + 25.0, abs=0.02)
            assert row.finish_mm == pytest.approx(roof + over + 25.0, abs=1e-6)
            assert row.width_mm == pytest.approx(2.0 * sqrt(5.0**2 - (5.0 - depth) ** 2), abs=0.02)
            assert np.isinf(row.stop_mm)
        # marked on the roof as it is, before there is a groove down its middle
        assert mark.along_roof_mm == pytest.approx(s * sqrt(1.0 + tan(lean) ** 2), abs=1e-6)
        assert mark.square_mm == pytest.approx(s, abs=1e-9)


def test_depths_on_the_card_are_what_the_surface_after_the_pass_shows(worked: Callable) -> None:
    port = worked(S, BOX, grooves(), roof=[(0, 29), (100, 33)])
    chart, points = port.port.chart, port.first.after.points_mm
    for mark in port.card():
        section = points[chart.slab_at(mark.distance_mm)]
        for row in mark.rows[1:-1]:  # between the corners the roof is flat
            near = section[(np.abs(section[:, 0] - row.across_mm) < 1.0) & (section[:, 1] > 0.0)]
            assert near[:, 1].max() - 25.0 == pytest.approx(row.depth_mm, abs=0.03)


@pytest.mark.parametrize("side", ["roof", "floor", "left", "right"])
def test_rows_keep_their_numbers_where_one_of_them_does_not_run(worked: Callable, side: str) -> None:
    """Counted from the left looking in; on a side wall from the floor up."""
    # metal stands over the middle and right rows of the first half only: a step in what is wanted
    wide = rectangle(54.0, 62.0, CornerRadii(10.0, 10.0, 10.0, 10.0))
    same = rectangle(42.0, 50.0, CornerRadii(10.0, 10.0, 10.0, 10.0))
    at = ((0.0, wide), (100.0, wide))
    rows = tuple(StationRow(str(i), i, s, None, None, None, None, "", o) for i, (s, o) in enumerate(at))
    target = Target("larger", sections=SectionTable("larger.csv", rows))
    port = worked(
        S, [same] * 15, grooves(side=side, across_mm=(-9.0, 1.0, 8.0), depth_mm=2.0, leave_mm=0.5), target=target
    )
    full = port.card()
    for mark in full:
        assert [(r.row, round(r.across_mm, 9)) for r in mark.rows] == [(1, -9.0), (2, 1.0), (3, 8.0)]
    # with the groove at 1.0 cut only up to the middle
    result = port.first
    gone = result.grooves[1]
    half = np.where(port.port.chart.distance_mm < 50.0, gone.bottom_mm, np.nan)
    cut = replace(result, grooves=(result.grooves[0], replace(gone, bottom_mm=half), result.grooves[2]))
    late = [m for m in port.card(cut) if m.distance_mm > 51.0]
    assert late
    for mark in late:
        assert [(r.row, round(r.across_mm, 9)) for r in mark.rows] == [(1, -9.0), (3, 8.0)]


@pytest.mark.parametrize(
    ("side", "size", "opposite"),
    [("roof", 25.0, 25.0), ("floor", 25.0, 25.0), ("left", 21.0, 21.0), ("right", 21.0, 21.0)],
)
def test_gauge_size_is_from_the_opposite_side_to_the_grooves_bottom(
    worked: Callable, side: str, size: float, opposite: float
) -> None:
    box = rectangle(42.0, 50.0, CornerRadii(10.0, 10.0, 10.0, 10.0))
    wide = rectangle(54.0, 62.0, CornerRadii(10.0, 10.0, 10.0, 10.0))
    rows = tuple(StationRow(str(i), i, float(s), None, None, None, None, "", wide) for i, s in enumerate((0, 100)))
    target = Target("larger", sections=SectionTable("larger.csv", rows))
    port = worked(S, [box] * 15, grooves(side=side, across_mm=(2.0,), depth_mm=2.5, leave_mm=0.5), target=target)
    row = port.card()[2].rows[0]
    assert row.opposite_mm == pytest.approx(size + 2.5 + opposite, abs=1e-6)
    assert row.finish_mm == pytest.approx(size + 6.0 + opposite, abs=1e-6)
    assert row.left_mm == pytest.approx(6.0 - 2.5, abs=1e-6)


def test_stop_on_the_card_is_the_grooves_own_and_never_above_it(worked: Callable) -> None:
    plane = Hazard("rail", "plane", point_mm=np.array([0.0, 0.0, 33.0]), normal=np.array([0.0, 0.3, 1.0]))
    job = {"hazards": (plane,), "min_wall_mm": 3.0}
    port = worked(S, BOX, grooves(), roof=ROOF, job=job)
    for mark in port.card():
        # the plane falls 0.3 a mm: from the middle of a ball sunk by d, square to it, 3 + 5 are left
        lean = atan(0.3)
        for row in mark.rows:
            to_plane = (33.0 - 0.3 * mark.distance_mm - 20.0) * cos(lean)
            assert row.stop_mm == pytest.approx(max(0.0, (to_plane - 8.0) / cos(lean)), abs=0.01)


def test_only_passes_that_cut_grooves_have_a_card(worked: Callable) -> None:
    port = worked(S, BOX, roof=ROOF, cutters=[])
    assert [bool(port.card(r)) for r in port.results] == [r.plan.kind == "grooves" for r in port.results]
    assert worked(S, BOX, grooves(), roof=[(0, 25.5), (100, 25.5)]).card() == ()
