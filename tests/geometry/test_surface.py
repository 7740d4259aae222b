"""Lofted surfaces: exact at stations, Pappus on bends, morphing sections, planes that cross."""

from __future__ import annotations

from itertools import pairwise
from math import cos, degrees, pi, radians, sin

import numpy as np
import numpy.typing as npt
import pytest
import shapely
import trimesh
from scipy.integrate import quad
from scipy.spatial.transform import Rotation

from portgeom.geometry.chart import Resolution, lay_chart
from portgeom.geometry.findings import Finding, GeometryError
from portgeom.geometry.outline import Outline
from portgeom.geometry.path import Path
from portgeom.geometry.shapes import CornerRadii, circle, ellipse, obround, rectangle
from portgeom.geometry.surface import Surface, crossings, loft
from portgeom.geometry.told_lengths import mm

Array = npt.NDArray[np.float64]
SHARP = CornerRadii(0.0, 0.0, 0.0, 0.0)
MIXED = rectangle(42.0, 50.0, CornerRadii(12.0, 9.5, 6.0, 3.0))


def lofted(path: Path, outlines: list[Outline], resolution: Resolution = Resolution()) -> Surface:  # noqa: B008
    chart = lay_chart(path, outlines, resolution=resolution)
    return loft(chart, path.distance_mm, outlines)


def bent(
    outline: Outline, radius: float, turn_deg: float, *, kind: str = "pitch", roll: float = 0.0, stations: int = 7
) -> Surface:
    turn = np.linspace(0.0, turn_deg, stations)
    nothing = np.zeros(stations)
    pitch, yaw = (turn, nothing) if kind == "pitch" else (nothing, turn)
    path = Path.from_angles(np.radians(turn) * radius, pitch, yaw, np.full(stations, roll))
    return lofted(path, [outline] * stations)


# Pappus


@pytest.mark.parametrize("outline", [circle(46.0), MIXED, obround(30.0, 52.0)], ids=["circle", "rectangle", "obround"])
@pytest.mark.parametrize(("across", "up"), [(0.0, 0.0), (6.0, -9.0), (-8.0, 11.0)], ids=["on", "inside", "outside"])
@pytest.mark.parametrize("kind", ["pitch", "yaw"])
def test_a_bend_of_any_section_has_the_volume_of_pappus(outline: Outline, across: float, up: float, kind: str) -> None:
    # pitch turns about a line below the path, yaw about a line to its right
    radius, turn = 60.0, radians(100.0)
    section = outline.moved(across, up)
    u, v = section.centroid_mm
    out = radius + v if kind == "pitch" else radius - u
    surface = bent(section, radius, degrees(turn), kind=kind)
    assert surface.volume_mm3.sum() == pytest.approx(section.area_mm2 * out * turn, rel=1e-4)


@pytest.mark.parametrize("roll", [30.0, -75.0, 180.0])
def test_a_rolled_section_on_a_bend_has_the_volume_of_pappus(roll: float) -> None:
    radius, turn, section = 60.0, radians(80.0), MIXED.moved(7.0, 5.0)
    u, v = section.centroid_mm
    up = u * sin(radians(roll)) + v * cos(radians(roll))
    surface = bent(section, radius, degrees(turn), roll=roll)
    assert surface.volume_mm3.sum() == pytest.approx(section.area_mm2 * (radius + up) * turn, rel=1e-4)


def test_a_bend_given_by_places_has_the_volume_of_pappus() -> None:
    radius, pitch = 60.0, np.linspace(0.0, 90.0, 7)
    a = np.radians(pitch)
    places = np.column_stack([np.zeros(7), radius * np.sin(a), radius * (np.cos(a) - 1.0)])
    path = Path.through_places(places, pitch, np.zeros(7), np.zeros(7))
    section = MIXED.moved(3.0, 8.0)
    exact = section.area_mm2 * (radius + section.centroid_mm[1]) * a[-1]
    assert lofted(path, [section] * 7).volume_mm3.sum() == pytest.approx(exact, rel=1e-4)


def test_an_arc_after_a_straight_is_no_worse_for_the_jump_of_its_turning() -> None:
    s, pitch = np.array([0.0, 40.0, 40.0 + 60.0 * pi / 6.0]), np.array([0.0, 0.0, 30.0])
    section = MIXED.moved(0.0, 9.0)
    surface = lofted(Path.from_angles(s, pitch, np.zeros(3), np.zeros(3)), [section] * 3)
    straight = section.area_mm2 * 40.0
    arc = section.area_mm2 * (60.0 + section.centroid_mm[1]) * pi / 6.0
    assert surface.volume_mm3 == pytest.approx([straight, arc], rel=1e-4)


def test_an_oblique_plane_counts_by_the_path_s_advance_along_its_normal() -> None:
    # a square tube along y, gauged in planes that lean 30 degrees: places straight, planes not square to them.
    # Three planes, all leaning alike, so the path's cubic leaves along them and comes back; volume is that
    # between two parallel planes: area in the plane times their distance.
    lean = radians(30.0)
    s = np.array([0.0, 30.0, 60.0])
    places = np.column_stack([np.zeros(3), s, np.zeros(3)])
    path = Path.through_places(places, np.full(3, 30.0), np.zeros(3), np.zeros(3))
    section = rectangle(40.0, 40.0 / cos(lean), SHARP)
    surface = lofted(path, [section] * 3)
    assert surface.volume_mm3.sum() == pytest.approx(40.0 * 40.0 / cos(lean) * 60.0 * cos(lean), rel=1e-9)


# Morphing sections, the truth by quadrature


def superellipse(a: float, b: float, n: float, count: int = 720) -> Array:
    t = np.linspace(0.0, 2.0 * pi, count, endpoint=False)
    reach = (np.abs(np.cos(t)) ** n + np.abs(np.sin(t)) ** n) ** (-1.0 / n)
    return np.column_stack([a * np.cos(t) * reach, b * np.sin(t) * reach])


def rounded(width: float, height: float, radius: float, up: float) -> Outline:
    return rectangle(width, height, CornerRadii(radius, radius, radius, radius)).moved(0.0, up)


def from_rectangle_to_circle(w: float) -> Outline:
    """Return a radiused rectangle 42 by 50 that has become a circle of 46 at w = 1, kinked up on the way."""
    ease = w * w * (3.0 - 2.0 * w)
    width, height = 42.0 + 4.0 * ease, 50.0 - 4.0 * ease
    radius = 9.5 + (23.0 - 9.5) * ease
    return rounded(width, height, radius, 3.0 * sin(pi * w))


@pytest.mark.parametrize("path_up", [0.0, 10.0], ids=["path in the middle", "path 10 mm below it"])
def test_rectangle_to_circle_on_a_bend_is_within_3e_3_from_11_stations(path_up: float) -> None:
    radius, turn = 60.0, radians(90.0)

    def rate(w: float) -> float:  # A (1 - k . c) by the closed forms of the section
        outline = from_rectangle_to_circle(w).moved(0.0, path_up)
        return outline.area_mm2 * (1.0 + outline.centroid_mm[1] / radius)

    exact = radius * turn * quad(rate, 0.0, 1.0)[0]
    w = np.linspace(0.0, 1.0, 11)
    path = Path.from_angles(radius * turn * w, np.degrees(turn) * w, np.zeros(11), np.zeros(11))
    surface = lofted(path, [from_rectangle_to_circle(k).moved(0.0, path_up) for k in w])
    assert surface.volume_mm3.sum() == pytest.approx(exact, rel=3e-3)
    between = 0.5 * (w[:-1] + w[1:])
    area = [surface.area_mm2[surface.chart.slab_at(radius * turn * k)] for k in between]
    assert area == pytest.approx([from_rectangle_to_circle(k).area_mm2 for k in between], rel=5e-3)


def test_more_stations_of_a_morphing_section_bring_the_volume_nearer_at_second_order() -> None:
    exact = 100.0 * quad(lambda w: from_rectangle_to_circle(w).area_mm2, 0.0, 1.0)[0]
    errors = []
    for count in (6, 11, 21):
        w = np.linspace(0.0, 1.0, count)
        path = Path.from_angles(100.0 * w, *(np.zeros((3, count))))
        surface = lofted(path, [from_rectangle_to_circle(k) for k in w], Resolution(slab_mm=0.5, rays=1024))
        errors.append(abs(surface.volume_mm3.sum() / exact - 1.0))
    # rectangles whose corners move cannot do better than second order
    assert errors[0] / errors[1] > 3.0
    assert errors[1] / errors[2] > 3.0


def test_a_compound_bend_has_the_volume_of_an_independent_mesh() -> None:
    # Frames by the library's rotations, sections by formula, a mesh by trimesh: pitch, yaw and roll all change.
    pitch, yaw = np.array([0.0, 10.0, 35.0, 60.0, 85.0]), np.array([0.0, 12.0, 20.0, 10.0, 0.0])
    roll, s = np.array([0.0, 5.0, 0.0, -8.0, 0.0]), np.array([0.0, 25.0, 50.0, 75.0, 100.0])
    path = Path.from_angles(s, pitch, yaw, roll)
    semi = np.column_stack([np.linspace(20.0, 24.0, 5), np.linspace(25.0, 22.0, 5)])
    surface = lofted(path, [ellipse(2.0 * a, 2.0 * b).moved(2.0, 4.0) for a, b in semi])

    axes = np.stack([path.right, path.normal, path.up], axis=1)
    rings, place, fine = [], np.zeros(3), 60
    t = np.linspace(0.0, 2.0 * pi, 360, endpoint=False)
    for i, ((s0, s1), (first, second)) in enumerate(zip(pairwise(s), pairwise(semi), strict=True)):
        cross = np.cross(path.normal[i], path.normal[i + 1])
        vector = cross / np.linalg.norm(cross) * np.arccos(path.normal[i] @ path.normal[i + 1])
        left = Rotation.align_vectors(axes[i + 1], Rotation.from_rotvec(vector).apply(axes[i]))[0].as_rotvec()
        left_angle = float(left @ path.normal[i + 1])
        step = (s1 - s0) / fine
        for k in range(fine + (i == 3)):
            w = k / fine
            frame = Rotation.from_rotvec(w * vector).apply(axes[i])
            frame = Rotation.from_rotvec(w * left_angle * frame[1]).apply(frame)
            a, b = first + w * (second - first)
            rings.append(place + np.outer(2.0 + a * np.cos(t), frame[0]) + np.outer(4.0 + b * np.sin(t), frame[2]))
            if k < fine:
                half = Rotation.from_rotvec((w + 0.5 / fine) * vector).apply(axes[i])[1]
                place = place + step * half
    m, n = len(rings), len(t)
    i, k = np.meshgrid(np.arange(m - 1), np.arange(n), indexing="ij")
    c, d = i * n + k, i * n + (k + 1) % n
    side = np.concatenate([np.stack([c, c + n, d + n], -1).reshape(-1, 3), np.stack([c, d + n, d], -1).reshape(-1, 3)])
    end = (m - 1) * n
    caps = [cap for j in range(1, n - 1) for cap in ((0, j, j + 1), (end, end + j + 1, end + j))]
    whole = trimesh.Trimesh(np.concatenate(rings), np.concatenate([side, caps]), process=False)
    assert whole.is_volume
    assert surface.volume_mm3.sum() == pytest.approx(abs(whole.volume), rel=2e-4)


# At the stations


STATIONS = [
    Outline.polygon(superellipse(21.0, 25.0, 3.0)),
    MIXED.moved(2.0, 1.0),
    Outline.polygon([(-18.0, -22.0), (20.0, -20.0), (22.0, 5.0), (8.0, 24.0), (-10.0, 26.0), (-21.0, 8.0)]),
    obround(50.0, 36.0).moved(-2.0, -3.0),
    circle(44.0),
]


def test_a_station_keeps_the_measures_of_its_outline_to_the_last_digits() -> None:
    s = np.array([0.0, 20.0, 45.0, 60.0, 90.0])
    surface = lofted(Path.from_angles(s, np.linspace(0.0, 60.0, 5), np.zeros(5), np.zeros(5)), STATIONS)
    slab = surface.chart.knot_slab
    assert surface.area_mm2[slab] == pytest.approx([o.area_mm2 for o in STATIONS], rel=1e-13)
    assert surface.perimeter_mm[slab] == pytest.approx([o.perimeter_mm for o in STATIONS], rel=1e-13)
    assert surface.centroid_mm[slab] == pytest.approx(np.array([o.centroid_mm for o in STATIONS]), abs=1e-12)


def test_a_station_s_points_lie_on_its_outline() -> None:
    s = np.array([0.0, 20.0, 45.0, 60.0, 90.0])
    surface = lofted(Path.from_angles(s, *np.zeros((3, 5))), STATIONS)
    for outline, slab in zip(STATIONS, surface.chart.knot_slab, strict=True):
        off = shapely.distance(shapely.points(surface.points_mm[slab]), shapely.LinearRing(outline.points_mm))
        assert off.max() < 1e-9


def test_stations_are_slabs_and_no_slab_is_longer_than_asked() -> None:
    s = np.array([0.0, 7.3, 7.9, 45.0])
    chart = lay_chart(Path.from_angles(s, *np.zeros((3, 4))), STATIONS[:4], resolution=Resolution(slab_mm=0.7))
    assert np.array_equal(chart.distance_mm[chart.knot_slab], s)
    assert np.diff(chart.distance_mm).max() <= 0.7 * (1.0 + 1e-12)
    assert (np.diff(chart.distance_mm) > 0.0).all()


def test_more_knots_that_fall_on_a_station_add_none() -> None:
    path = Path.from_angles([0.0, 10.0, 30.0], *np.zeros((3, 3)))
    chart = lay_chart(path, STATIONS[:3], more_knots_mm=[10.0, 10.0 + 1e-10, 15.0, -4.0, 99.0, 15.0])
    assert chart.knots_mm.tolist() == [0.0, 10.0, 15.0, 30.0]


# Flow area


def test_flow_area_is_the_plane_s_area_times_the_cosine_to_the_curve_of_centroids() -> None:
    # a round tube that climbs 20 degrees, cut by planes square to y: ellipses longer upwards by 1/cos
    climb, s = radians(20.0), np.linspace(0.0, 60.0, 5)
    outlines = [ellipse(40.0, 40.0 / cos(climb)).moved(0.0, y * np.tan(climb)) for y in s]
    surface = lofted(Path.from_angles(s, *np.zeros((3, 5))), outlines)
    assert surface.flow_area_mm2 == pytest.approx(np.full(len(surface.flow_area_mm2), pi * 20.0**2), rel=1e-6)


def test_flow_area_on_a_bend_off_the_centroid_is_the_plane_s() -> None:
    surface = bent(circle(40.0).moved(5.0, -7.0), 60.0, 90.0)
    assert surface.flow_area_mm2 == pytest.approx(np.full(len(surface.flow_area_mm2), pi * 20.0**2), rel=1e-4)


# Refusals


def crossings_of(surface: Surface) -> tuple[Finding, ...]:
    return crossings(surface.chart, surface.rho_mm)


def fold(turn: float, step: float = 12.0, height: float = 50.0) -> Surface:
    pitch = np.array([0.0, 0.0, turn, turn])
    path = Path.from_angles(step * np.arange(4.0), pitch, np.zeros(4), np.zeros(4))
    return lofted(path, [rectangle(40.0, height, SHARP)] * 4)


def test_planes_that_cross_inside_are_told_with_the_turn_and_the_offset_that_would_not() -> None:
    # the bend's radius is 12 / 33 degrees = 20.83 mm and the floor lies 25 mm below the path: 4.17 mm too far.
    # They just meet at 12 / 25 rad = 27.50 degrees.
    (finding,) = crossings_of(fold(33.0))
    assert finding.station == 2
    assert finding.field == "pitch"
    assert "turn 33.0 degrees" in finding.found
    assert "at most 27.5 degrees" in finding.mend
    assert f"at least {mm(4.2)} nearer" in finding.mend


def test_the_turn_that_is_offered_is_accepted_and_a_tenth_more_is_not() -> None:
    assert not crossings_of(fold(27.5))
    assert crossings_of(fold(27.6))


def test_the_offset_that_is_offered_is_accepted() -> None:
    pitch = np.array([0.0, 0.0, 33.0, 33.0])
    path = Path.from_angles(12.0 * np.arange(4.0), pitch, np.zeros(4), np.zeros(4))
    assert not crossings_of(lofted(path, [rectangle(40.0, 50.0, SHARP).moved(0.0, 4.2)] * 4))
    assert crossings_of(lofted(path, [rectangle(40.0, 50.0, SHARP).moved(0.0, 4.1)] * 4))


def test_planes_that_cross_to_the_side_are_told_too() -> None:
    yaw = np.array([0.0, 0.0, -60.0])
    path = Path.from_angles([0.0, 12.0, 24.0], np.zeros(3), yaw, np.zeros(3))
    (finding,) = crossings_of(lofted(path, [circle(40.0)] * 3))
    # 12 mm over the 20 mm of reach, in degrees, to the tenth below
    assert f"at most {np.floor(10.0 * degrees(12.0 / 20.0)) / 10.0:.1f} degrees" in finding.mend


def test_a_gentle_bend_crosses_nowhere() -> None:
    assert not crossings_of(bent(MIXED, 60.0, 90.0))


def test_every_section_that_misses_the_middle_or_is_undercut_is_told_at_once() -> None:
    pocket = [(3.0, 25.0), (3.0, 27.0), (9.0, 27.0), (9.0, 31.0)]
    keyed = [(-20.0, -25.0), (20.0, -25.0), (20.0, 25.0), *pocket, *[(-u, v) for u, v in pocket[::-1]], (-20.0, 25.0)]
    outlines = [MIXED, circle(30.0).moved(60.0, 0.0), MIXED, Outline.polygon(keyed)]
    path = Path.from_angles([0.0, 20.0, 40.0, 60.0], *np.zeros((3, 4)))
    chart = lay_chart(path, [MIXED] * 4)
    with pytest.raises(GeometryError) as refused:
        loft(chart, path.distance_mm, outlines)
    first, second = refused.value.findings
    assert (first.station, second.station) == (1, 3)
    assert "does not reach round the middle" in first.found
    # two pockets of 6 by 4 behind a neck, seen by rays 0.7 mm apart
    told = float(second.found.split("undercut: ")[1].split(" percent")[0])
    assert told == pytest.approx(100.0 * 2.0 * 6.0 * 4.0 / outlines[3].area_mm2, rel=2.0 * 0.7 / 12.0)
