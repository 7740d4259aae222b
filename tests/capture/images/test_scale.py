"""Pixels become millimetres by dpi, by two marks, and by a plane seen in perspective."""

from __future__ import annotations

import numpy as np
import pytest
from scan_simulation import Optics, Shape, Sheet, disc, scan

from portgeom.capture.images.file import Picture
from portgeom.capture.images.resolution import Claim
from portgeom.capture.images.scale import by_dpi, by_given_dpi, by_marks, fit_projection, project, raised
from portgeom.capture.images.unsure import Unsure
from portgeom.capture.tracing.trace import trace_picture
from portgeom.capture.tracing.traced import Wish

EMPTY = Picture("p.png", np.zeros((400, 600, 1), dtype=np.uint8), Claim(300.0, 300.0, "PNG pHYs"))


def test_the_middle_of_the_first_pixel_is_at_zero_and_y_runs_up() -> None:
    scale = by_dpi(254.0, 254.0, "")
    assert scale.to_mm(np.array([[0.0, 0.0], [10.0, 20.0]])) == pytest.approx(np.array([[0.0, 0.0], [1.0, -2.0]]))
    assert scale.to_px(np.array([[1.0, -2.0]])) == pytest.approx(np.array([[10.0, 20.0]]))


def test_a_dpi_beside_the_files_own_is_noted_only_where_they_differ() -> None:
    assert by_given_dpi(EMPTY, 301.0).notes == ()
    assert "the file itself claims 300.0 dpi" in by_given_dpi(EMPTY, 310.0).notes[0]


def test_marks_give_the_scale_in_any_direction() -> None:
    # a 3-4-5 triangle: 500 pixels for 50 mm
    scale = by_marks(EMPTY, np.array([10.0, 10.0]), np.array([410.0, 310.0]), 50.0)
    assert scale.mm_per_px(np.zeros(2)) == pytest.approx(0.1, rel=1e-12)
    # a pixel either way at both ends, as is told
    assert scale.error_ratio == pytest.approx(np.sqrt(2.0) / 500.0)


@pytest.mark.parametrize(
    ("coin", "diameter_mm"), [("cent", 19.05), ("nickel", 21.21), ("dime", 17.91), ("quarter", 24.26), ("half", 30.61)]
)
def test_a_coin_of_published_size_checks_a_scan(coin: str, diameter_mm: float) -> None:
    # United States Mint, coin specifications: diameters of circulating coins
    codes = scan(Sheet(44.0, 44.0, 0.8, [Shape(disc(22.0, 22.0, diameter_mm), 0.2)]), 200.0, Optics(), seed=1)
    picture = Picture(coin, codes[..., None], Claim(None, None, ""))
    (slice_,) = trace_picture(picture, by_given_dpi(picture, 200.0), Wish()).slices
    # the disc is drawn with 96 corners, whose area is sin(x) / x of the circle's, x = 2 pi / 96
    x = 2.0 * np.pi / 96
    assert slice_.outline.area_mm2 == pytest.approx(np.pi / 4.0 * diameter_mm**2 * np.sin(x) / x, rel=1e-3)


def test_a_face_above_the_scale_shrinks_by_the_rule_of_rays() -> None:
    scale = raised(by_dpi(254.0, 254.0, ""), above_mm=10.0, lens_mm=500.0)
    assert scale.mm_per_px(np.zeros(2)) == pytest.approx(0.1 * 490.0 / 500.0, rel=1e-12)


@pytest.mark.parametrize(("above", "lens"), [(-1.0, 500.0), (300.0, 500.0), (0.0, 0.0)])
def test_heights_that_cannot_be_are_refused(above: float, lens: float) -> None:
    with pytest.raises(Unsure, match="do not go together"):
        raised(by_dpi(254.0, 254.0, ""), above_mm=above, lens_mm=lens)


def test_a_projection_through_four_points_is_exact_and_through_more_the_nearest() -> None:
    matrix = np.array([[1.1, 0.2, 5.0], [-0.1, 0.9, 3.0], [1e-4, -2e-4, 1.0]])
    rng = np.random.default_rng(2)
    points = rng.uniform(-100.0, 100.0, (9, 2))
    for count in (4, 9):
        assert fit_projection(points[:count], project(matrix, points[:count])) == pytest.approx(matrix, abs=1e-9)
    off = project(matrix, points) + rng.normal(0.0, 0.05, points.shape)
    assert np.abs(project(fit_projection(points, off), points) - project(matrix, points)).max() < 0.15
