"""What is near a flat roof, and how large the part is: discs and strips of known area."""

from __future__ import annotations

from math import pi, sqrt

import numpy as np
import pytest

from portgeom.geometry.chart import lay_chart
from portgeom.geometry.moments import Moments
from portgeom.geometry.near import Near, Places, area_below_mm2, near, nearest_spot, places_of
from portgeom.geometry.path import Path
from portgeom.geometry.shapes import CornerRadii, rectangle
from portgeom.geometry.surface import loft, with_distances

ROOF = 15.0


@pytest.fixture(scope="module")
def places() -> Places:
    """A straight port 80 long, 40 wide and 30 high, its roof at z 15."""
    path = Path.from_angles([0.0, 80.0], [0.0, 0.0], [0.0, 0.0], [0.0, 0.0])
    outlines = [rectangle(40.0, 30.0, CornerRadii(8.0, 8.0, 8.0, 8.0))] * 2
    return places_of(loft(lay_chart(path, outlines), path.distance_mm, outlines))


class Asked:
    """Distance to a point, counting how many points it was asked for."""

    def __init__(self, point) -> None:
        self.point, self.count = np.array(point, float), 0

    def __call__(self, points: np.ndarray) -> np.ndarray:
        self.count += len(points)
        return np.linalg.norm(points - self.point, axis=1)


def test_all_places_within_reach_are_found_and_few_others_asked(places: Places) -> None:
    asked = Asked((2.0, 30.0, 20.0))
    found = near(places, asked, 7.0)
    everywhere = Asked(asked.point)(places.nodes_mm.reshape(-1, 3)).reshape(found.distance_mm.shape)
    within = everywhere <= 7.0
    assert np.array_equal(found.distance_mm[within], everywhere[within])
    assert asked.count < 0.1 * everywhere.size


def test_the_nearest_place_of_something_far_off_is_found_too(places: Places) -> None:
    asked = Asked((2.03, 30.11, 95.0))
    found = near(places, asked, 5.0)
    assert nearest_spot(places, asked, found).distance_mm == pytest.approx(80.0, abs=1e-3)


def test_only_places_that_moved_near_it_are_asked_again(places: Places) -> None:
    asked = Asked((2.0, 30.0, 20.0))
    before = near(places, asked, 7.0)
    surface = places.surface
    deeper = surface.rho_mm.copy()
    touched = np.abs(places.nodes_mm - [2.0, 30.0, 15.0]).max(axis=2) < 2.0
    deeper[touched] += 0.5
    nothing = Moments(np.zeros(len(deeper)), np.zeros((len(deeper), 2)))
    after = places_of(with_distances(surface, deeper, nothing))
    fresh = near(after, Asked(asked.point), 7.0)
    asked.count = 0
    again = near(after, asked, 7.0, earlier=before, moved=deeper != surface.rho_mm)
    within = fresh.distance_mm <= 7.0
    assert np.array_equal(again.distance_mm[within], fresh.distance_mm[within])
    assert asked.count <= touched.sum() + 0.02 * touched.size


def test_where_the_surface_drew_back_from_it_the_nearest_place_is_sought_again(places: Places) -> None:
    # moved places were the nearest; without them something further than was asked before is
    asked = Asked((0.0, 40.0, 45.0))
    before = near(places, asked, 2.0)
    moved = np.isfinite(before.distance_mm)
    low = places.surface.rho_mm - np.where(moved, 12.0, 0.0)
    nothing = Moments(np.zeros(len(low)), np.zeros((len(low), 2)))
    after = places_of(with_distances(places.surface, low, nothing))
    again = near(after, asked, 2.0, earlier=before, moved=moved)
    everywhere = Asked(asked.point)(after.nodes_mm.reshape(-1, 3))
    assert again.distance_mm.min() == everywhere.min()


@pytest.mark.parametrize("radius", [1.5, 3.0, 5.5, 11.0])
def test_the_mouth_of_an_upright_hole_in_a_flat_roof_is_a_disc(places: Places, radius: float) -> None:
    away = np.hypot(places.nodes_mm[..., 0] - 1.3, places.nodes_mm[..., 1] - 33.7) - radius
    away[places.nodes_mm[..., 2] < ROOF - 0.1] = 20.0
    # taken as even over a cell, a distance that curves by 1/r is out by at most the cell squared / 8r
    ray = np.linalg.norm(places.nodes_mm[0, 96] - places.nodes_mm[0, 97])
    assert area_below_mm2(places, Near(away, np.inf), 0.0) == pytest.approx(
        pi * radius**2, rel=0.25 * (ray / radius) ** 2 + 0.001
    )


def test_the_area_near_a_point_falls_short_of_its_disc_by_less_than_a_cell(places: Places) -> None:
    # A point h above the roof is within sqrt(h^2 + r^2) over a disc of radius r. Its distance is convex, so
    # taken as even from place to place it is too large, r^2 by at most (slab^2 + ray^2) / 4.
    height, radius = 4.0, 3.0
    away = np.linalg.norm(places.nodes_mm - [1.3, 33.7, ROOF + height], axis=2)
    slab, ray = 0.5, np.linalg.norm(places.nodes_mm[0, 96] - places.nodes_mm[0, 97])
    area = area_below_mm2(places, Near(away, np.inf), sqrt(height**2 + radius**2))
    sampled = 0.1 * slab * ray  # the parts of a cell that are counted whole
    assert pi * (radius**2 - (slab**2 + ray**2) / 4.0) - sampled <= area <= pi * radius**2 + sampled


def test_the_least_distance_is_found_where_thousands_of_places_are_as_near(places: Places) -> None:
    # every place held at 3 from a hole lying along the roof: only what sags between rays tells
    hole, radius = np.array([1.3, ROOF + 4.0]), 5.0

    def away(points: np.ndarray) -> np.ndarray:
        return np.hypot(points[:, 0] - hole[0], points[:, 2] - hole[1]) - radius

    chart = places.surface.chart
    (u, v), (out_u, out_v) = chart.centre_mm[0], chart.rays.direction.T
    from_u, from_v = u + chart.half_mm[0] * chart.rays.foot - hole[0], v - hole[1]
    ahead = out_u * from_u + out_v * from_v
    within = ahead**2 - (from_u**2 + from_v**2 - (radius + 3.0) ** 2)
    stop = np.where((within > 0.0) & (ahead < 0.0), -ahead - np.sqrt(np.maximum(within, 0.0)), np.inf)
    rho = np.minimum(places.surface.rho_mm, np.maximum(stop, 1.0))
    held = places_of(with_distances(places.surface, rho, places.surface.moments - places.surface.moments))
    found = near(held, away, 4.0)
    assert (np.abs(found.distance_mm - 3.0) < 1e-9).sum() > 2000
    tips = chart.tips_mm(rho)[0]
    share = np.linspace(0.0, 1.0, 201)[:, None, None]
    chords = (tips + share * (np.roll(tips, -1, axis=0) - tips)).reshape(-1, 2)
    least = np.hypot(*(chords - hole).T).min() - radius
    assert least < 3.0 - 0.004
    assert nearest_spot(held, away, found).distance_mm == pytest.approx(least, abs=5e-4)


def test_the_least_distance_is_exact_between_places(places: Places) -> None:
    for x, y in np.random.default_rng(5).uniform([-8, 20], [8, 60], size=(20, 2)):
        away = Asked((x, y, ROOF + 1.0))
        spot = nearest_spot(places, away, near(places, away, 2.0))
        # within a hundredth of a cell sideways, at a distance of 1: second order
        assert spot.distance_mm == pytest.approx(1.0, abs=5e-4)
        assert np.interp(spot.slab, np.arange(len(places.nodes_mm)), places.nodes_mm[:, 0, 1]) == pytest.approx(
            y, abs=0.03
        )
