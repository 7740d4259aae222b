"""Reading outlines along rays, against shapely's crossings of the same rays."""

from __future__ import annotations

from math import pi

import numpy as np
import pytest
import shapely

from portgeom.geometry.arrays import F64
from portgeom.geometry.rays import SPINE_HALF, Rays, Reading, read_outlines
from portgeom.geometry.shapes import CornerRadii, circle, obround, rectangle

RAYS = Rays.count(256)
FAR = 1000.0


def read(
    points: F64, centre: tuple[float, float] = (0.0, 0.0), half: float | None = None, rays: Rays = RAYS
) -> Reading:
    half = SPINE_HALF * float(np.ptp(points[:, 0])) if half is None else half
    return read_outlines(rays, np.asarray(points)[None], np.array([centre]), np.array([half]))


def first_crossings(points: F64, centre: tuple[float, float], half: float) -> F64:
    """Return the distances of the nearest crossings of the rays, by shapely."""
    foot = np.column_stack([centre[0] + half * RAYS.foot, np.full(RAYS.total, centre[1])])
    lines = shapely.linestrings(np.stack([foot, foot + FAR * RAYS.direction], axis=1))
    met = shapely.intersection(lines, shapely.LinearRing(points))
    return shapely.distance(met, shapely.points(foot))


def star(seed: int, corners: int = 60) -> F64:
    rng = np.random.default_rng(seed)
    angle = np.linspace(0.0, 2.0 * pi, corners, endpoint=False)
    out = 20.0 + 4.0 * np.sin(3.0 * angle + rng.uniform(0, 6)) + rng.uniform(0.0, 1.0, corners)
    return out[:, None] * np.column_stack([1.2 * np.cos(angle), np.sin(angle)]) + rng.uniform(-2.0, 2.0, 2)


def test_rays_run_once_round_from_straight_down_at_the_right_end() -> None:
    assert abs(RAYS.total - 256) <= 2
    assert (np.diff(RAYS.turn) > 0.0).all()
    assert RAYS.turn[0] > 0.0
    assert RAYS.turn[-1] <= 4.0
    assert np.hypot(*RAYS.direction.T) == pytest.approx(np.ones(RAYS.total), rel=1e-15)
    assert (RAYS.direction[RAYS.up] == (0.0, 1.0)).all()
    assert (RAYS.direction[RAYS.down] == (0.0, -1.0)).all()
    # the roof's feet and the floor's are the same places
    assert np.array_equal(RAYS.foot[RAYS.up], RAYS.foot[RAYS.down][::-1])
    # left and right mirror each other
    u = RAYS.tips_mm(np.zeros(2), np.float64(1.0), np.full(RAYS.total, 2.0))[:, 0]
    assert np.sort(u) == pytest.approx(np.sort(-u), abs=1e-12)


@pytest.mark.parametrize("tall", [0.3, 0.8, 1.0, 1.2, 2.0, 4.0])
def test_rays_meet_a_rectangle_of_their_proportion_at_even_steps(tall: float) -> None:
    rays = Rays.count(256, tall=tall)
    assert rays.flat % 2 == 1
    assert rays.foot[rays.up][rays.flat // 2] == pytest.approx(0.0, abs=1e-15)
    box = rectangle(40.0, 40.0 * tall, CornerRadii(0.0, 0.0, 0.0, 0.0)).points_mm
    tips = rays.tips_mm(np.zeros((1, 2)), np.array([12.0]), read(box, half=12.0, rays=rays).rho_mm)[0]
    along = shapely.line_locate_point(shapely.LinearRing(box), shapely.points(tips))
    step = np.sort(np.mod(np.diff(np.append(along, along[0])), 80.0 * (1.0 + tall)))
    assert step[-1] / step[0] < 1.4


@pytest.mark.parametrize(
    "points",
    [
        circle(46.0).points_mm,
        rectangle(42.0, 50.0, CornerRadii(9.5, 9.5, 6.0, 6.0)).points_mm,
        rectangle(60.0, 20.0, CornerRadii(0.0, 0.0, 0.0, 0.0)).points_mm,
        obround(30.0, 50.0).moved(3.0, -4.0).points_mm,
        *[star(k) for k in range(6)],
    ],
)
@pytest.mark.parametrize("centre", [(0.0, 0.0), (2.0, -3.0)])
def test_a_reading_is_the_first_crossing_of_the_ray(points: F64, centre: tuple[float, float]) -> None:
    half = SPINE_HALF * float(np.ptp(points[:, 0]))
    reading = read(points, centre, half)
    assert reading.inside.all()
    assert reading.rho_mm[0] == pytest.approx(first_crossings(points, centre, half), rel=1e-9)


@pytest.mark.parametrize("seed", range(4))
def test_tips_lie_on_the_outline(seed: int) -> None:
    points = star(seed)
    half = SPINE_HALF * float(np.ptp(points[:, 0]))
    tips = RAYS.tips_mm(np.zeros((1, 2)), np.array([half]), read(points, half=half).rho_mm)
    off = shapely.distance(shapely.points(tips[0]), shapely.LinearRing(points))
    assert off.max() < 1e-9


def test_outlines_of_one_size_are_read_together_as_alone() -> None:
    many = np.stack([star(k) for k in range(5)])
    centre, half = np.zeros((5, 2)), np.full(5, 8.0)
    together = read_outlines(RAYS, many, centre, half)
    for k, points in enumerate(many):
        assert np.array_equal(together.rho_mm[k], read(points, half=8.0).rho_mm[0])


def keyed(depth: float = 4.0, neck: float = 2.0) -> F64:
    """Return a rectangle 40 by 40 with a T-shaped pocket in its roof, 12 wide behind a neck 6 wide."""
    top = 20.0
    roof = [(3.0, top), (3.0, top + neck), (6.0, top + neck), (6.0, top + neck + depth)]
    return np.array(
        [(-20.0, -20.0), (20.0, -20.0), (20.0, top), *roof, *[(-u, v) for u, v in roof[::-1]], (-20.0, top)]
    )


@pytest.mark.parametrize("depth", [1.0, 4.0])
def test_undercut_behind_the_first_wall_is_measured(depth: float) -> None:
    # two pockets, each 3 wide and as deep as said, that no upright ray sees past the roof
    reading = read(keyed(depth), rays=Rays.count(2048))
    assert reading.inside.all()
    assert reading.hidden_mm2[0] == pytest.approx(2.0 * 3.0 * depth, rel=0.02)


def test_over_an_undercut_the_first_wall_counts() -> None:
    points = keyed()
    reading = read(points)
    assert reading.rho_mm[0] == pytest.approx(first_crossings(points, (0.0, 0.0), 12.0), rel=1e-9)
    up = reading.rho_mm[0, RAYS.up]
    u = 12.0 * RAYS.foot[RAYS.up]
    assert up[np.abs(u) > 3.001] == pytest.approx(20.0)
    assert up[np.abs(u) < 2.999] == pytest.approx(26.0)


def test_an_outline_each_ray_meets_once_hides_nothing() -> None:
    assert read(star(1)).hidden_mm2[0] == 0.0


@pytest.mark.parametrize("moved", [(30.0, 0.0), (0.0, 40.0), (12.0, 0.0), (0.0, 60.0), (-200.0, 0.0)])
def test_a_spine_that_leaves_the_outline_is_told(moved: tuple[float, float]) -> None:
    points = circle(46.0).moved(*moved).points_mm
    assert not read(points, half=0.3 * 46.0).inside[0]


def test_a_spine_within_the_outline_by_a_hair_is_taken() -> None:
    reach = 23.0 - 0.3 * 46.0
    assert read(circle(46.0).moved(reach - 0.01, 0.0).points_mm, half=0.3 * 46.0).inside[0]
    assert not read(circle(46.0).moved(reach + 0.01, 0.0).points_mm, half=0.3 * 46.0).inside[0]
