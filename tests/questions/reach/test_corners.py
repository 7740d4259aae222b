"""Corner radii read off sections, against the radii they were drawn with."""

from __future__ import annotations

import numpy as np
import pytest

from portgeom.geometry.shapes import CornerRadii, circle, rectangle
from portgeom.job.values import Target
from portgeom.questions.reach.corners import Corners, corners_to_cut, tight_corners


@pytest.fixture(scope="module")
def read(ask, table_of):
    def corners(now, wanted, distance=(0.0, 20.0)) -> Corners:
        target = Target("wider", sections=table_of(distance, wanted))
        every = ask(distance, now, target=target)
        return corners_to_cut(every.stage.surface, every.removal.after)

    return corners


@pytest.mark.parametrize("radius", [3.0, 6.0, 9.0])
def test_a_fillet_reads_its_own_radius_in_all_four_corners(read, radius: float) -> None:
    now = rectangle(38.0, 28.0, CornerRadii(*[radius] * 4))
    corners = read([now] * 2, [rectangle(40.0, 30.0, CornerRadii(*[radius] * 4))] * 2)
    # the rays stand 0.6 mm apart: a turn is known to half an edge at either end
    assert corners.radius_mm == pytest.approx(radius, abs=0.5)
    assert np.median(corners.radius_mm) == pytest.approx(radius, rel=0.06)


def test_a_round_section_has_the_radius_of_its_circle_all_round(read) -> None:
    corners = read([circle(38.0)] * 2, [circle(40.0)] * 2)
    assert corners.radius_mm == pytest.approx(20.0, rel=0.01)


def test_each_corner_is_read_apart(read) -> None:
    radii = CornerRadii(4.0, 6.0, 8.0, 10.0)  # upper left, upper right, lower right, lower left
    corners = read([rectangle(38.0, 34.0, radii)] * 2, [rectangle(40.0, 36.0, radii)] * 2)
    assert corners.radius_mm.mean(axis=0) == pytest.approx([6.0, 8.0, 10.0, 4.0], rel=0.06)


def test_a_corner_that_is_not_cut_is_not_read(read) -> None:
    low = CornerRadii(6.0, 6.0, 6.0, 6.0)
    now = rectangle(40.0, 30.0, low)
    higher = rectangle(40.0, 34.0, low).moved(0.0, 2.0)
    corners = read([now] * 2, [higher] * 2)
    assert np.isfinite(corners.radius_mm[:, [0, 3]]).all()
    assert np.isinf(corners.radius_mm[:, [1, 2]]).all()


def test_tight_corners_run_from_where_the_radius_falls_below_the_cutters(read) -> None:
    # radius falls evenly from 10 to 2 over 80 mm: below 6 from 40 on
    at = np.linspace(0.0, 80.0, 17)
    wanted = [rectangle(40.0, 30.0, CornerRadii(*[10.0 - 0.1 * s] * 4)) for s in at]
    now = [rectangle(38.0, 28.0, CornerRadii(*[10.0 - 0.1 * s] * 4)) for s in at]
    corners = read(now, wanted, distance=at)
    runs = tight_corners(corners, 6.0)
    assert len(runs) == 4
    for run in runs:
        assert run.from_mm == pytest.approx(40.0, abs=5.0)  # 0.5 mm of radius
        assert run.to_mm == 80.0
        assert run.radius_mm == pytest.approx(2.0, abs=0.5)
        assert run.distance_mm > 75.0
    assert tight_corners(corners, 1.0) == ()
