"""The path: arcs in closed form, and frames against numerical integration and rotations of the library."""

from __future__ import annotations

from itertools import pairwise
from math import cos, radians, sin, tan

import numpy as np
import pytest
from scipy.integrate import cumulative_simpson
from scipy.spatial.transform import Rotation

from portgeom.geometry.findings import GeometryError
from portgeom.geometry.path import Path, direction


def angles_path(s: object, pitch: object = 0.0, yaw: object = 0.0, roll: object = 0.0) -> Path:
    s = np.asarray(s, dtype=float)
    return Path.from_angles(s, *(np.broadcast_to(np.asarray(a, dtype=float), s.shape) for a in (pitch, yaw, roll)))


def assert_square_frames(path: Path, count: int = 200) -> None:
    planes = path.planes(np.linspace(path.distance_mm[0], path.distance_mm[-1], count))
    axes = np.stack([planes.right, planes.normal, planes.up], axis=1)
    assert np.einsum("kij,klj->kil", axes, axes) == pytest.approx(np.broadcast_to(np.eye(3), (count, 3, 3)), abs=1e-12)
    # u, d, v is right-handed
    assert np.linalg.det(axes) == pytest.approx(np.ones(count), abs=1e-12)


@pytest.mark.parametrize("stations", [2, 3, 8])
@pytest.mark.parametrize("turn", [30.0, 90.0, 170.0])
def test_a_pure_pitch_is_an_arc_down_to_the_deck(stations: int, turn: float) -> None:
    radius = 55.0
    pitch = np.linspace(0.0, turn, stations)
    path = angles_path(np.radians(pitch) * radius, pitch=pitch)
    s = np.linspace(0.0, path.length_mm, 40)
    a = s / radius
    expected = np.column_stack([np.zeros_like(a), radius * np.sin(a), radius * (np.cos(a) - 1.0)])
    planes = path.planes(s)
    assert planes.origin_mm == pytest.approx(expected, abs=1e-12 * radius)
    assert planes.right == pytest.approx(np.broadcast_to([1.0, 0.0, 0.0], (40, 3)), abs=1e-12)
    assert planes.up == pytest.approx(np.column_stack([np.zeros_like(a), np.sin(a), np.cos(a)]), abs=1e-12)


def test_a_pure_yaw_is_an_arc_to_the_right_looking_in() -> None:
    radius, yaw = 70.0, np.linspace(0.0, 80.0, 5)
    path = angles_path(np.radians(yaw) * radius, yaw=yaw)
    s = np.linspace(0.0, path.length_mm, 40)
    a = s / radius
    expected = np.column_stack([radius * (1.0 - np.cos(a)), radius * np.sin(a), np.zeros_like(a)])
    planes = path.planes(s)
    assert planes.origin_mm == pytest.approx(expected, abs=1e-12 * radius)
    assert planes.up == pytest.approx(np.broadcast_to([0.0, 0.0, 1.0], (40, 3)), abs=1e-12)
    assert planes.right == pytest.approx(np.column_stack([np.cos(a), -np.sin(a), np.zeros_like(a)]), abs=1e-12)


def test_the_face_leans_by_the_first_pitch() -> None:
    planes = angles_path([0.0, 50.0], pitch=25.0).planes([0.0, 50.0])
    assert planes.normal == pytest.approx(np.array([[0.0, cos(radians(25.0)), -sin(radians(25.0))]] * 2))
    assert planes.origin_mm[1] == pytest.approx([0.0, 50.0 * cos(radians(25.0)), -50.0 * sin(radians(25.0))])


def test_roll_turns_anticlockwise_as_seen_looking_in() -> None:
    # looking in along y: right is x, up is z; a quarter turn anticlockwise takes right to up
    planes = angles_path([0.0, 10.0], roll=90.0).planes([0.0])
    assert planes.right[0] == pytest.approx([0.0, 0.0, 1.0], abs=1e-12)
    assert planes.up[0] == pytest.approx([-1.0, 0.0, 0.0], abs=1e-12)


def test_roll_between_stations_is_spread_evenly() -> None:
    planes = angles_path([0.0, 20.0, 60.0], roll=[0.0, 40.0, 0.0]).planes([5.0, 10.0, 20.0, 40.0])
    seen = np.degrees(np.arctan2(planes.right[:, 2], planes.right[:, 0]))
    assert seen == pytest.approx([10.0, 20.0, 40.0, 20.0])


COMPOUND = {
    "pitch": np.array([5.0, 20.0, 20.0, 60.0, 95.0]),
    "yaw": np.array([0.0, 15.0, 40.0, 30.0, -20.0]),
    "roll": np.array([0.0, 10.0, -5.0, 0.0, 30.0]),
}
COMPOUND_S = np.array([0.0, 18.0, 40.0, 75.0, 110.0])


def test_frames_between_stations_are_carried_along_the_great_circle_then_rolled() -> None:
    # The library's rotations: the shortest turn from one normal to the next, and what is left about it.
    path = angles_path(COMPOUND_S, **COMPOUND)
    axes = np.stack([path.right, path.normal, path.up], axis=1)
    for i in range(4):
        turn = np.cross(path.normal[i], path.normal[i + 1])
        angle = np.arccos(np.clip(path.normal[i] @ path.normal[i + 1], -1.0, 1.0))
        vector = turn / np.linalg.norm(turn) * angle
        left = Rotation.align_vectors(axes[i + 1], Rotation.from_rotvec(vector).apply(axes[i]))[0].as_rotvec()
        for w in (0.0, 0.3, 0.5, 0.9):
            expected = Rotation.from_rotvec(w * vector).apply(axes[i])
            normal = expected[1]
            expected = Rotation.from_rotvec(w * float(left @ path.normal[i + 1]) * normal).apply(expected)
            s = COMPOUND_S[i] + w * (COMPOUND_S[i + 1] - COMPOUND_S[i])
            plane = path.planes([s])
            found = np.stack([plane.right[0], plane.normal[0], plane.up[0]])
            assert found == pytest.approx(expected, abs=1e-9)


def test_the_position_is_the_integral_of_the_direction() -> None:
    path = angles_path(COMPOUND_S, **COMPOUND)
    place = np.zeros(3)
    for start, end in pairwise(COMPOUND_S):
        s = np.linspace(start, end, 401)
        planes = path.planes(s)
        moved = cumulative_simpson(planes.normal, x=s, axis=0, initial=0.0)
        assert planes.origin_mm == pytest.approx(place + moved, abs=1e-8)
        place = place + moved[-1]


def test_turning_is_the_derivative_of_the_normal() -> None:
    path = angles_path(COMPOUND_S, **COMPOUND)
    s, h = np.array([5.0, 30.0, 50.0, 100.0]), 1e-4
    slope = (path.planes(s + h).normal - path.planes(s - h).normal) / (2.0 * h)
    assert path.planes(s).turning_per_mm == pytest.approx(slope, abs=1e-9)


def test_frames_are_square_and_right_handed_everywhere() -> None:
    assert_square_frames(angles_path(COMPOUND_S, **COMPOUND))


@pytest.mark.parametrize("around", [0.0, 90.0, 180.0, -90.0, 270.0, -270.0, 360.0, -360.0])
def test_nothing_happens_at_the_vertical_or_at_any_other_angle(around: float) -> None:
    pitch = around + np.array([-40.0, -10.0, 0.0, 15.0, 40.0])
    radius = 60.0
    path = angles_path(np.radians(pitch - pitch[0]) * radius, pitch=pitch)
    assert_square_frames(path)
    ends = path.origin_mm[[0, -1]]
    # the chord of an arc of 80 degrees, whichever way it looks
    assert np.linalg.norm(ends[1] - ends[0]) == pytest.approx(2.0 * radius * sin(radians(40.0)), rel=1e-12)
    assert path.right == pytest.approx(np.broadcast_to([1.0, 0.0, 0.0], (5, 3)), abs=1e-12)


def test_an_angle_and_the_same_angle_a_turn_on_are_one_direction() -> None:
    assert direction(30.0, -50.0) == pytest.approx(direction(30.0 - 360.0, 310.0), abs=1e-14)


def test_a_full_turn_comes_back_to_where_it_began() -> None:
    pitch = np.linspace(0.0, 360.0, 13)
    path = angles_path(np.radians(pitch) * 50.0, pitch=pitch)
    assert path.origin_mm[-1] == pytest.approx(np.zeros(3), abs=1e-10)


def test_stations_that_look_straight_back_are_refused() -> None:
    with pytest.raises(GeometryError, match="looks straight back"):
        angles_path([0.0, 10.0], pitch=[0.0, 180.0])


# Places given


def arc_places(radius: float, pitch_deg: np.ndarray) -> np.ndarray:
    a = np.radians(pitch_deg)
    return np.column_stack([np.zeros_like(a), radius * np.sin(a), radius * (np.cos(a) - 1.0)])


def through(places: np.ndarray, pitch: np.ndarray, distance: np.ndarray | None = None) -> Path:
    nothing = np.zeros(len(places))
    return Path.through_places(places, pitch, nothing, nothing, distance_mm=distance)


def test_places_on_an_arc_are_kept_and_its_length_is_found() -> None:
    radius, pitch = 60.0, np.linspace(0.0, 90.0, 7)
    places = arc_places(radius, pitch)
    path = through(places, pitch)
    assert path.planes(path.distance_mm).origin_mm == pytest.approx(places, abs=1e-12)
    # half way a cubic with tangents as long as the arc rises by r t sin(t/2) / 4 and not by r (1 - cos(t/2)): it
    # runs inside the arc by r t^4 / 384
    inside = radius * radians(15.0) ** 4 / 384.0
    assert path.length_mm == pytest.approx(radius * radians(90.0), rel=inside / radius)
    s = np.linspace(0.0, path.length_mm, 200)
    planes = path.planes(s)
    out = np.linalg.norm(planes.origin_mm - (0.0, 0.0, -radius), axis=1)
    assert out.min() == pytest.approx(radius - inside, abs=0.01 * inside)
    assert out.max() <= radius + 1e-9
    assert_square_frames(path)


def test_the_line_through_places_leaves_and_arrives_along_the_directions() -> None:
    places = np.array([[0.0, 0.0, 0.0], [3.0, 30.0, -2.0], [4.0, 55.0, -15.0]])
    path = through(places, np.array([0.0, 15.0, 50.0]))
    near = 1e-9
    for place, normal, s in zip(places, path.normal, path.distance_mm, strict=True):
        for side in (-near, near):
            if not 0.0 <= s + side <= path.length_mm:
                continue
            planes = path.planes([s + side])
            assert planes.origin_mm[0] == pytest.approx(place, abs=1e-6)
            along = planes.velocity[0] / np.linalg.norm(planes.velocity[0])
            assert along == pytest.approx(normal, abs=1e-6)


def test_velocity_is_the_derivative_of_the_place() -> None:
    path = through(np.array([[0.0, 0.0, 0.0], [3.0, 30.0, -2.0], [4.0, 55.0, -15.0]]), np.array([0.0, 15.0, 50.0]))
    s, h = np.array([4.0, 20.0, 40.0, 50.0]), 1e-4
    slope = (path.planes(s + h).origin_mm - path.planes(s - h).origin_mm) / (2.0 * h)
    assert path.planes(s).velocity == pytest.approx(slope, abs=1e-7)


def test_distances_that_agree_with_the_places_within_2_percent_are_kept() -> None:
    pitch = np.linspace(0.0, 90.0, 7)
    given = 1.015 * 60.0 * np.radians(pitch)
    path = through(arc_places(60.0, pitch), pitch, given)
    assert path.distance_mm == pytest.approx(given, rel=1e-15)


@pytest.mark.parametrize("scale", [0.97, 1.03])
def test_distances_that_disagree_by_more_are_refused_station_by_station(scale: float) -> None:
    pitch = np.linspace(0.0, 90.0, 4)
    own = 60.0 * np.radians(pitch)
    given = own.copy()
    given[2:] += (scale - 1.0) * (own[2] - own[1])
    with pytest.raises(GeometryError, match="along the path") as refused:
        through(arc_places(60.0, pitch), pitch, given)
    assert [f.station for f in refused.value.findings] == [2]
    assert f"{given[2] - given[1]:.2f} mm" in str(refused.value)
    assert refused.value.findings[0].field == "distance"


def test_two_stations_at_one_place_are_refused() -> None:
    places = np.array([[0.0, 0.0, 0.0], [0.0, 10.0, 0.0], [0.0, 10.0, 0.0]])
    with pytest.raises(GeometryError, match="same place"):
        through(places, np.zeros(3))


def test_the_frame_is_the_one_that_the_words_say() -> None:
    # positive pitch: turned down to the deck; positive yaw: to the right looking in
    assert direction(10.0, 0.0)[2] == pytest.approx(-sin(radians(10.0)))
    assert direction(0.0, 10.0)[0] == pytest.approx(sin(radians(10.0)))
    assert direction(45.0, 0.0)[2] / direction(45.0, 0.0)[1] == pytest.approx(-tan(radians(45.0)))
