"""Metal behind walls of straight, round and bent ports against closed forms."""

from __future__ import annotations

from dataclasses import replace
from math import cos, pi, radians, sin, sqrt

import fluids
import numpy as np
import pytest
import trimesh
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.spatial.transform import Rotation

from portgeom.geometry.shapes import circle
from portgeom.job.values import Hazard
from portgeom.questions.walls.behind import behind
from portgeom.questions.walls.walls import wall_map, walls

WALL = 0.02  # what a wall has to be exact to
SLAB = 0.5


def plane(point, normal, **more) -> Hazard:
    return Hazard("rail face", "plane", point_mm=np.array(point, float), normal=np.array(normal, float), **more)


def test_a_hole_standing_over_the_roof_is_as_far_as_its_bottom(hazarded, hole) -> None:
    wall = hazarded(hole((3.3, 30.2, 19.0), (3.3, 30.2, 60.0))).only()
    assert wall.least.wall_mm == pytest.approx(4.0, abs=1e-9)
    assert abs(wall.least.distance_mm - 30.2) <= 5.5  # anywhere under its flat bottom
    assert wall.verdict == "enough"


def test_a_hole_lying_across_the_roof_is_as_far_as_its_side(hazarded, hole) -> None:
    wall = hazarded(hole((-40.0, 41.3, 15.0 + 5.5 + 2.7), (40.0, 41.3, 15.0 + 5.5 + 2.7))).only()
    assert wall.least.wall_mm == pytest.approx(2.7, abs=WALL / 10)
    assert wall.least.distance_mm == pytest.approx(41.3, abs=0.1)
    assert wall.verdict == "thin"


@pytest.mark.parametrize("lean", [10.0, 30.0, 62.0])
def test_an_inclined_hole_is_as_far_as_the_lowest_point_of_its_rim(hazarded, hole, lean: float) -> None:
    along = np.array([0.0, sin(radians(lean)), cos(radians(lean))])
    start = np.array([1.7, 33.1, 26.0])
    wall = hazarded(hole(start, start + 40.0 * along)).only()
    assert wall.least.wall_mm == pytest.approx(26.0 - 5.5 * sin(radians(lean)) - 15.0, abs=WALL / 10)
    assert wall.least.distance_mm == pytest.approx(33.1 + 5.5 * cos(radians(lean)), abs=0.2)


def test_a_hole_leaning_along_a_side_wall_is_as_far_as_its_axis_less_its_radius(hazarded, hole) -> None:
    # axis parallel to the wall: the same distance all along it
    wall = hazarded(hole((28.2, 20.0, -30.0), (28.2, 60.0, 30.0), 12.0)).only()
    assert wall.least.wall_mm == pytest.approx(28.2 - 6.0 - 20.0, abs=WALL / 10)
    assert 45.0 < wall.least.clock_deg < 135.0


def test_a_hole_beside_a_round_port_is_found_at_its_clock_position(hazarded, hole) -> None:
    clock = 152.0
    across, up = 32.0 * sin(radians(clock)), 32.0 * cos(radians(clock))
    wall = hazarded(hole((across, 50.0, up), (across, 51.0, up), 12.0), outline=circle(30.0)).only()
    assert wall.least.wall_mm == pytest.approx(32.0 - 6.0 - 15.0, abs=WALL / 10)
    assert wall.least.clock_deg == pytest.approx(clock, abs=0.5)
    assert wall.least.distance_mm == pytest.approx(50.5, abs=0.5 + SLAB)


def test_a_hole_through_the_middle_of_a_bend_is_as_far_as_the_bends_inside(hazarded, hole) -> None:
    pitch = np.linspace(0.0, 90.0, 10)
    axis = hole((-50.0, 0.0, -60.0), (50.0, 0.0, -60.0), 40.0)
    wall = hazarded(axis, outline=circle(30.0), distance=np.radians(pitch) * 60.0, pitch=pitch).only()
    assert wall.least.wall_mm == pytest.approx(60.0 - 15.0 - 20.0, abs=WALL)
    assert wall.least.clock_deg == pytest.approx(180.0, abs=1.0)


@pytest.mark.parametrize("sign", [1.0, -1.0])
def test_a_plane_is_exact_whichever_way_its_normal_is_given(hazarded, sign: float) -> None:
    wall = hazarded(plane((9.0, 9.0, 18.2), sign * np.array([0.0, 0.0, 2.0]))).only()
    assert wall.least.wall_mm == pytest.approx(3.2, abs=1e-9)


def test_an_inclined_plane_is_nearest_at_the_end_it_leans_to(hazarded) -> None:
    # z = 20 - 0.05 y over the roof at z 15, nearest at y 80: (20 - 4 - 15) / sqrt(1 + 0.05^2)
    wall = hazarded(plane((0.0, 0.0, 20.0), (0.0, 0.05, 1.0))).only()
    assert wall.least.wall_mm == pytest.approx(1.0 / sqrt(1.0 + 0.05**2), abs=1e-9)
    assert wall.least.distance_mm == pytest.approx(80.0)


def test_a_port_off_the_middle_of_a_pipe_leaves_the_pipes_wall_less_the_offset(hazarded, tmp_path) -> None:
    # ASME B36.10, 4 inch schedule 40, by way of fluids: wall = (outer - inner) / 2 = 6.02 mm
    _, inner, outer, thick = (1000.0 * x for x in fluids.nearest_pipe(NPS=4, schedule="40"))
    sections, off = 256, 2.0
    jacket = trimesh.creation.annulus(r_min=outer / 2.0, r_max=outer, height=120.0, sections=sections)
    jacket.apply_transform(trimesh.transformations.rotation_matrix(pi / 2.0, [1.0, 0.0, 0.0]))
    jacket.apply_translation([off * sin(0.7), 40.0, off * cos(0.7)])
    jacket.export(tmp_path / "jacket.ply")
    water = Hazard("water", "mesh", file="jacket.ply")
    wall = hazarded(water, outline=circle(inner), folder=tmp_path).only()
    sag = outer / 2.0 * (1.0 - cos(pi / sections))
    assert -sag - WALL / 10 <= wall.least.wall_mm - (thick - off) <= WALL / 10
    assert wall.least.clock_deg == pytest.approx(180.0 + np.degrees(0.7), abs=2.0)


def test_a_mesh_of_a_hole_agrees_with_the_hole_within_its_chords(hazarded, hole, tmp_path) -> None:
    sections, start, end = 48, (-30.0, 20.0, 26.0), (30.0, 60.0, 25.0)
    trimesh.creation.cylinder(radius=5.5, segment=[start, end], sections=sections).export(tmp_path / "hole.stl")
    exact = hazarded(hole(start, end), min_wall=6.0).only()
    meshed = hazarded(Hazard("hole", "mesh", file="hole.stl"), min_wall=6.0, folder=tmp_path).only()
    sag = 5.5 * (1.0 - cos(pi / sections))
    assert -WALL <= meshed.least.wall_mm - exact.least.wall_mm <= sag + WALL
    assert meshed.thin_area_mm2 == pytest.approx(exact.thin_area_mm2, rel=0.02)


def test_an_upright_hole_broken_into_from_below_is_open_over_its_mouth(hazarded, hole) -> None:
    wall = hazarded(hole((1.3, 33.7, 11.0), (1.3, 33.7, 60.0))).only()
    assert wall.open_area_mm2 == pytest.approx(pi * 5.5**2, rel=0.01)  # five percent would do
    assert wall.verdict == "open"
    assert wall.least.wall_mm == pytest.approx(-4.0, abs=1e-6)  # up the hole by 4 from its bottom
    assert wall.opened.from_mm == pytest.approx(33.7 - 5.5, abs=SLAB)
    assert wall.opened.to_mm == pytest.approx(33.7 + 5.5, abs=SLAB)
    assert wall.alarms


def test_a_hole_that_may_be_opened_is_told_as_open_but_raises_no_alarm(hazarded, hole) -> None:
    wall = hazarded(hole((1.3, 33.7, 11.0), (1.3, 33.7, 60.0), open_allowed=True)).only()
    assert (wall.verdict, wall.alarms) == ("open", False)


def test_the_thin_area_under_a_flat_bottom_is_its_disc_and_a_rim_round_it(hazarded, hole) -> None:
    # 2 below the bottom, a limit of 3 is broken out to sqrt(3^2 - 2^2) beyond its edge
    wall = hazarded(hole((0.4, 40.1, 17.0), (0.4, 40.1, 60.0))).only()
    assert wall.thin_area_mm2 == pytest.approx(pi * (5.5 + sqrt(5.0)) ** 2, rel=0.005)
    assert wall.open_area_mm2 == 0.0


def test_thin_area_is_on_the_surface_itself_and_not_in_plan(hazarded) -> None:
    # a plane parallel to the right wall, 2 behind it: all of the straight wall, 14 high and 80 long, and the
    # corners as far as 3 from it: an arc of radius 8 that falls back by 1, arccos(7/8), twice
    wall = hazarded(plane((22.0, 0.0, 0.0), (1.0, 0.0, 0.0))).only()
    assert wall.thin_area_mm2 == pytest.approx(80.0 * (14.0 + 2.0 * 8.0 * np.arccos(7.0 / 8.0)), rel=0.01)


def test_what_the_casting_may_shift_is_taken_off_the_wall(hazarded, hole) -> None:
    wall = hazarded(hole((0.0, 30.0, 19.0), (0.0, 30.0, 60.0), casting_tolerance_mm=1.5)).only()
    assert wall.least.wall_mm == pytest.approx(2.5, abs=1e-9)
    assert wall.verdict == "thin"


def test_a_hazards_own_limit_goes_before_the_jobs(hazarded, hole) -> None:
    standing = hole((0.0, 30.0, 17.5), (0.0, 30.0, 60.0), min_wall_mm=2.0)
    assert hazarded(standing).only().verdict == "enough"
    assert hazarded(replace(standing, min_wall_mm=None)).only().verdict == "thin"


def test_without_any_limit_a_wall_is_told_but_not_judged(hazarded, hole) -> None:
    wall = hazarded(hole((0.0, 30.0, 17.5), (0.0, 30.0, 60.0)), min_wall=None).only()
    assert wall.verdict == "not known"
    assert wall.least.wall_mm == pytest.approx(2.5, abs=1e-9)
    assert np.isnan(wall.thin_area_mm2)


def test_a_hazard_of_another_port_is_not_asked(hazarded, hole) -> None:
    assert hazarded(hole((0.0, 30.0, 17.5), (0.0, 30.0, 60.0), ports=("2",))).walls().walls == ()


@pytest.mark.parametrize("end", [(1.0, 35.0, 4.0), (1.0, 30.3, 0.0)])
def test_a_hole_that_lies_in_the_passage_is_open_though_no_wall_meets_it(hazarded, hole, end) -> None:
    wall = hazarded(hole((1.0, 30.0, 0.0), end, 2.0)).only()
    assert wall.inside
    assert wall.verdict == "open"
    assert wall.least.wall_mm < 0.0


def test_thread_is_left_from_the_start_to_where_the_port_breaks_in(hazarded, hole) -> None:
    # tapped from z 45 down to z 13, the roof is at z 15
    wall = hazarded(hole((0.0, 30.0, 45.0), (0.0, 30.0, 10.0), 10.0, thread_to_mm=32.0)).only()
    assert wall.thread.length_mm == 32.0
    assert wall.thread.left_mm == pytest.approx(30.0, abs=1e-6)
    assert wall.thread.wall_mm == pytest.approx(-2.0, abs=1e-6)


def test_thread_that_ends_short_of_the_port_stays_whole_when_the_hole_is_opened(hazarded, hole) -> None:
    wall = hazarded(hole((0.0, 30.0, 45.0), (0.0, 30.0, 10.0), 10.0, thread_to_mm=25.0)).only()
    assert wall.verdict == "open"
    assert wall.thread.left_mm == 25.0
    assert wall.thread.wall_mm == pytest.approx(5.0, abs=WALL)  # from z 15 to z 20


def test_a_wall_after_cutting_is_less_by_the_cut(hazarded, hole) -> None:
    made = hazarded(hole((0.0, 30.0, 20.0), (0.0, 30.0, 60.0)))
    (wall,) = made.walls(made.raised(3.0)).walls
    assert wall.least.wall_mm == pytest.approx(2.0, abs=1e-9)


@pytest.mark.parametrize("cut", [(20.0, 40.0), (60.0, 70.0)])
def test_asking_again_only_what_moved_gives_the_same_answer(hazarded, hole, cut) -> None:
    made = hazarded(hole((0.0, 30.0, 20.0), (4.0, 30.0, 60.0)), plane((0.0, 0.0, 24.0), (0.0, 0.1, 1.0)))
    after = made.raised(2.5, from_mm=cut[0], to_mm=cut[1])
    fresh, again = made.walls(after), made.walls(after, earlier=made.walls())
    for a, b in zip(fresh.walls, again.walls, strict=True):
        assert b.least.wall_mm == pytest.approx(a.least.wall_mm, abs=1e-9)
        assert b.thin_area_mm2 == pytest.approx(a.thin_area_mm2, abs=1e-9)
        assert b.verdict == a.verdict


def test_a_hazard_that_no_cut_came_near_is_hardly_asked_again(hazarded, hole) -> None:
    made = hazarded(hole((0.0, 30.0, 20.0), (4.0, 30.0, 60.0)))
    (ready,) = behind(made.job, made.port)
    count = 0

    def counting(points):
        nonlocal count
        count += len(points)
        return ready.wall_mm(points)

    counted = [replace(ready, wall_mm=counting)]
    first = walls(made.port, made.surface, "as cast", counted)
    whole, count = count, 0
    walls(made.port, made.raised(1.0, from_mm=60.0, to_mm=70.0), "after", counted, earlier=first)
    assert count < 0.05 * whole


def test_the_map_holds_the_least_of_all_hazards_and_which_it_is(hazarded, hole) -> None:
    made = hazarded(plane((0.0, 0.0, 22.0), (0.0, 0.0, 1.0)), hole((0.0, 30.0, 19.0), (0.0, 30.0, 60.0)))
    found = wall_map(made.surface, behind(made.job, made.port), to_mm=10.0)
    up = made.port.chart.rays.up
    middle = (up.start + up.stop) // 2
    at = made.port.chart.slab_at
    assert found.wall_mm[at(30.0), middle] == pytest.approx(4.0, abs=1e-6)
    assert found.nearest[at(30.0), middle] == 1
    assert found.wall_mm[at(70.0), middle] == pytest.approx(7.0, abs=1e-6)
    assert found.nearest[at(70.0), middle] == 0
    floor = (made.port.chart.rays.down.start + made.port.chart.rays.down.stop) // 2
    assert np.isinf(found.wall_mm[:, floor]).all()
    assert (found.nearest[:, floor] == -1).all()


@settings(max_examples=12, deadline=None)
@given(
    shift=st.tuples(*[st.floats(-300.0, 300.0)] * 3),
    yaw=st.floats(-170.0, 170.0),
)
def test_moving_the_head_moves_no_wall(hazarded, hole, shift, yaw) -> None:
    # yaw turns to the right looking in: clockwise seen from above
    turn = Rotation.from_euler("z", -yaw, degrees=True)
    ends = np.array([(5.0, 25.0, 19.5), (9.0, 30.0, 60.0)])
    point, normal = np.array([0.0, 0.0, 21.0]), np.array([0.02, 0.04, 1.0])
    there = turn.apply(ends) + shift
    still = hazarded(hole(*ends), plane(point, normal), min_wall=4.6)
    moved = hazarded(
        hole(*there),
        plane(turn.apply(point) + shift, turn.apply(normal)),
        min_wall=4.6,
        position=shift,
        yaw=yaw,
    )
    for a, b in zip(still.walls().walls, moved.walls().walls, strict=True):
        assert b.least.wall_mm == pytest.approx(a.least.wall_mm, abs=1e-4)
        assert b.thin_area_mm2 == pytest.approx(a.thin_area_mm2, rel=2e-3, abs=0.05)
        assert b.verdict == a.verdict
