"""Sections changed by a target: areas and places in closed form."""

from __future__ import annotations

from math import nan, pi, sin

import numpy as np
import pytest
import shapely

from portgeom.geometry.arrays import F64
from portgeom.geometry.outline import Outline
from portgeom.geometry.shapes import CornerRadii, circle, obround, rectangle
from portgeom.model import reshape
from portgeom.model.bridge import Bridge
from portgeom.model.steps import Steps

MIXED = rectangle(42.0, 50.0, CornerRadii(12.0, 9.0, 6.0, 3.0)).points_mm


def roofed(points: F64, height: float, radius: float, level: float) -> F64:
    (section,) = reshape.roofed([points], np.array([height]), np.array([radius]), np.array([level]))
    return section


def widened(points: F64, left: float, right: float) -> F64:
    (section,) = reshape.widened([points], np.array([left]), np.array([right]))
    return section


def lifted(points: F64, across: F64, lift: F64) -> F64:
    (section,) = reshape.lifted([points], across[None], lift[None])
    return section


def upside_down(points: F64) -> F64:
    (section,) = reshape.upside_down([points])
    return section


def area(points: F64) -> float:
    return Outline.polygon(points).area_mm2  # refuses what is not one plain anticlockwise curve


@pytest.mark.parametrize(
    "points",
    [MIXED, circle(46.0).points_mm, obround(30.0, 52.0).points_mm, obround(52.0, 30.0).points_mm],
    ids=["mixed", "round", "tall", "flat"],
)
@pytest.mark.parametrize("rise", [0.0, 2.5])
def test_a_roof_that_goes_up_adds_its_width_times_the_rise(points: F64, rise: float) -> None:
    raised = roofed(points, float(points[:, 1].max()) + rise, nan, 0.0)
    assert area(raised) == pytest.approx(area(points) + rise * np.ptp(points[:, 0]), rel=1e-9)
    assert raised[:, 1].max() == pytest.approx(points[:, 1].max() + rise)


def test_a_roof_with_a_boss_is_bridged_before_it_is_moved() -> None:
    boss = [(6.0, 25.0), (3.0, 20.0), (-3.0, 20.0), (-6.0, 25.0)]
    points = np.array([(-21.0, -25.0), (21.0, -25.0), (21.0, 25.0), *boss, (-21.0, 25.0)])
    assert area(roofed(points, 26.0, nan, 0.0)) == pytest.approx(42.0 * 51.0)


def test_a_height_that_is_none_leaves_the_crown() -> None:
    assert roofed(MIXED, nan, 9.5, 0.0)[:, 1].max() == pytest.approx(25.0, abs=1e-9)


def test_a_recut_section_is_the_rectangle_with_that_radius() -> None:
    recut = roofed(MIXED, 27.0, 9.5, 0.0)
    exact = 42.0 * 52.0 - (1.0 - pi / 4.0) * (2.0 * 9.5**2 + 6.0**2 + 3.0**2)
    chords = 2.0 * 9.5**2 * (pi / 4.0 - 23.0 * 0.5 * sin(pi / 46.0))
    assert area(recut) == pytest.approx(exact - chords, rel=5e-6)


def test_upside_down_twice_is_as_before() -> None:
    assert np.array_equal(upside_down(upside_down(MIXED)), MIXED)
    assert area(upside_down(MIXED)) == pytest.approx(area(MIXED), rel=1e-13)


@pytest.mark.parametrize(("left", "right"), [(1.0, 2.0), (0.0, 3.0), (2.0, 0.0)])
def test_widening_moves_each_whole_wall_and_adds_its_height(left: float, right: float) -> None:
    wider = widened(MIXED, left, right)
    assert wider[:, 0].min() == pytest.approx(-21.0 - left)
    assert wider[:, 0].max() == pytest.approx(21.0 + right)
    assert area(wider) == pytest.approx(area(MIXED) + 50.0 * (left + right), rel=1e-12)


def test_widening_leaves_no_ledge() -> None:
    # a curve without ledges stays convex
    wide = shapely.Polygon(widened(MIXED, 1.5, 2.5))
    assert shapely.convex_hull(wide).area == pytest.approx(wide.area, rel=1e-12)


def test_a_lift_over_columns_raises_the_roof_by_the_lift() -> None:
    across = np.linspace(-12.0, 12.0, 9)
    lift = np.maximum(0.0, 3.0 - 0.5 * np.abs(across))
    raised = lifted(MIXED, across, lift)
    u = np.linspace(-12.0, 12.0, 2001)
    gain = float(np.trapezoid(np.interp(u, across, lift), u))
    assert area(raised) == pytest.approx(area(MIXED) + gain, rel=1e-6)


def test_sections_of_unlike_size_changed_together_are_each_as_changed_alone() -> None:
    sections = [MIXED, circle(46.0).points_mm, obround(30.0, 52.0).points_mm, np.roll(MIXED, 101, axis=0)]
    height, radius, level = np.array([27.0, nan, 28.5, 26.0]), np.array([9.5, nan, 7.0, nan]), np.zeros(4)
    together = reshape.roofed(sections, height, radius, level)
    for k, points in enumerate(sections):
        assert together[k] == pytest.approx(roofed(points, height[k], radius[k], 0.0), abs=1e-12)
    wider = reshape.widened(sections, np.arange(4.0), np.ones(4))
    for k, points in enumerate(sections):
        assert np.array_equal(wider[k], widened(points, float(k), 1.0))


def test_a_slab_that_a_target_says_nothing_of_keeps_its_section() -> None:
    nothing = np.full(2, nan)
    steps = Steps(
        level_mm=np.zeros(2),
        roof_mm=np.array([nan, 27.0]),
        radius_mm=nothing,
        floor_mm=nothing,
        left_mm=np.zeros(2),
        right_mm=np.zeros(2),
        bridge=Bridge(1, np.tile(np.linspace(-12.0, 12.0, 9), (2, 1)), np.zeros((2, 9))),
    )
    same, raised = steps.applied(np.arange(2), [MIXED, MIXED])
    assert same is MIXED
    assert raised[:, 1].max() == pytest.approx(27.0)
