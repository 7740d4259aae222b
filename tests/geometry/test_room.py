"""Room in straight passages and round their lips, against closed forms."""

from __future__ import annotations

import numpy as np
import pytest

from portgeom.geometry.room import Room, room_in
from portgeom.geometry.shapes import CornerRadii, circle, rectangle
from portgeom.geometry.skin import Wall, wall_of

RADIUS, LONG = 14.0, 40.0
MOST, BEYOND = 9.0, 10.0
AXIS = 1  # a straight port runs along y


@pytest.fixture(scope="module")
def tube(lofted) -> Wall:
    port = lofted([0.0, LONG], [circle(2.0 * RADIUS)] * 2)
    return wall_of(port.cast.surface)


@pytest.fixture(scope="module")
def room(tube) -> Room:
    return room_in(tube, most_mm=MOST, beyond_mm=BEYOND)


def tube_room(places: np.ndarray) -> np.ndarray:
    """Room in a tube through a block, exactly: the block is what lies outside the radius between its faces."""
    out = RADIUS - np.hypot(places[0], places[2])
    ahead = np.maximum(-places[AXIS], places[AXIS] - LONG)
    in_front = np.where(out > 0.0, np.hypot(out, ahead), ahead)
    deep = np.maximum(out, ahead)
    return np.where(ahead > 0.0, in_front, np.where(out > 0.0, out, deep))


def somewhere(count: int, low, high) -> np.ndarray:
    return np.random.default_rng(5).uniform(low, high, (count, 3)).T.astype(np.float32)


def test_normals_point_into_the_passage_on_bends_too(lofted) -> None:
    angle = np.linspace(0.0, 90.0, 7)
    port = lofted(40.0 * np.radians(angle), [circle(20.0)] * 7, pitch_deg=angle)
    wall = wall_of(port.cast.surface)
    to_axis = port.chart.planes.origin_mm[:, None, :] - wall.places_mm
    to_axis /= np.linalg.norm(to_axis, axis=2, keepdims=True)
    assert np.einsum("mnk,mnk->mn", to_axis, wall.inward).min() > 0.999


def test_inside_a_tube_it_is_the_distance_to_the_wall(room) -> None:
    places = somewhere(20_000, [-RADIUS, 0.0, -RADIUS], [RADIUS, LONG, RADIUS])
    exact = tube_room(places)
    inside = (exact > 0.0) & (places[AXIS] > 2.0) & (places[AXIS] < LONG - 2.0)
    known = inside & (exact < MOST - 2.0 * room.step_mm)
    # linear between places a step apart: at most step^2 / 8 in each of two directions over the radius of what
    # is interpolated, the circle about the axis; and the rays' chords sag by less than 0.01
    curved = np.hypot(places[0], places[2])[known]
    assert (np.abs(room.at(places[:, known]) - exact[known]) - 2.0 * room.step_mm**2 / (8.0 * curved)).max() < 0.02
    assert room.at(places[:, inside & (exact > MOST + 1.0)]).min() > MOST - 0.05


def test_at_the_lips_it_is_off_by_less_than_half_a_step(room) -> None:
    for middle in (0.0, LONG):
        places = somewhere(20_000, [-RADIUS - 3, middle - 3, -RADIUS - 3], [RADIUS + 3, middle + 3, RADIUS + 3])
        exact = np.clip(tube_room(places), -1.0, MOST)
        near = np.abs(exact) < 4.0
        off = np.abs(np.clip(room.at(places), -1.0, MOST) - exact)[near]
        assert off.max() < 0.5 * room.step_mm
        assert np.median(off) < 0.1


def test_metal_is_never_taken_for_room_deeper_than_half_a_step(room) -> None:
    places = somewhere(50_000, [-RADIUS - 8, -BEYOND, -RADIUS - 8], [RADIUS + 8, LONG + BEYOND, RADIUS + 8])
    exact = tube_room(places)
    assert room.at(places)[exact < -0.5 * room.step_mm].max() < 0.0


def test_the_nearest_place_is_as_far_off_as_it_says(room) -> None:
    places = somewhere(20_000, [-RADIUS, 2.0, -RADIUS], [RADIUS, LONG - 2.0, RADIUS])
    exact = tube_room(places)
    known = (exact > 0.0) & (exact < MOST - room.nearest_error_mm)
    off = np.abs(room.nearest(places[:, known]) - exact[known])
    assert off.max() < room.nearest_error_mm + 0.05
    assert off.max() > 0.5 * room.nearest_error_mm  # it is what it says, no more


def test_the_way_out_points_to_the_axis(room) -> None:
    places = somewhere(5_000, [-RADIUS, 4.0, -RADIUS], [RADIUS, LONG - 4.0, RADIUS])
    off_axis = np.hypot(places[0], places[2])
    some = (off_axis < RADIUS - 1.0) & (off_axis > RADIUS - MOST + 2.0)
    way = room.slope(places[:, some])
    towards = -(way[0] * places[0, some] + way[2] * places[2, some]) / off_axis[some]
    assert towards.min() > np.cos(np.radians(6.0))


def test_in_a_sharp_corner_it_is_off_by_less_than_a_third_of_a_step(lofted) -> None:
    side = 24.0
    port = lofted([0.0, 30.0], [rectangle(side, side, CornerRadii(0.0, 0.0, 0.0, 0.0))] * 2)
    room = room_in(wall_of(port.cast.surface), most_mm=MOST, beyond_mm=BEYOND)
    places = somewhere(20_000, [-side / 2, 3.0, -side / 2], [side / 2, 27.0, side / 2])
    exact = 0.5 * side - np.maximum(np.abs(places[0]), np.abs(places[2]))
    off = room.at(places) - np.minimum(exact, MOST)
    # the rays cut the corner off by a chord of theirs
    assert np.abs(off).max() < 0.33 * room.step_mm + 0.1


def test_outside_the_grid_its_own_side_answers(room) -> None:
    far = np.array([[0.0], [-500.0], [0.0]], dtype=np.float32)
    edge = np.array([[0.0], [room.corner_mm[AXIS]], [0.0]], dtype=np.float32)
    assert room.at(far) == room.at(edge)
