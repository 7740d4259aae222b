"""Stop depths over planes and holes against closed forms, and never past one."""

from __future__ import annotations

from dataclasses import replace
from math import sqrt
from pathlib import Path

import numpy as np
import pytest
import trimesh
from hypothesis import given, settings
from hypothesis import strategies as st

from portgeom.job.values import Hazard, WallReading
from portgeom.questions.walls.behind import behind
from portgeom.questions.walls.stop import CLOSE_MM, stop_depth_mm

UP = np.array([[0.0, 0.0, 1.0]])
CLOSE = 2.0 * CLOSE_MM


def stop(made, point, direction=UP[0], **options) -> float:
    hazards = behind(made.job, made.port)
    return float(stop_depth_mm(np.array([point], float), np.array([direction], float), hazards, **options)[0])


def level(z: float, **more) -> Hazard:
    return Hazard("rail", "plane", point_mm=np.array([0.0, 0.0, z]), normal=np.array([0.0, 0.0, 1.0]), **more)


def test_under_a_plane_the_stop_is_the_wall_less_the_limit(hazarded) -> None:
    assert stop(hazarded(level(23.0)), (0.0, 30.0, 15.0)) == pytest.approx(5.0, abs=CLOSE)


def test_a_slanting_cut_towards_a_plane_may_go_further(hazarded) -> None:
    # 60 degrees from the plane's normal: twice as far, whatever the direction's length
    assert stop(hazarded(level(23.0)), (0.0, 30.0, 15.0), (sqrt(3.0) * 7, 0.0, 7.0)) == pytest.approx(10.0, abs=CLOSE)


def test_the_limit_can_be_given_and_is_else_the_hazards_the_jobs_or_what_the_material_needs(hazarded) -> None:
    at = (0.0, 30.0, 15.0)
    assert stop(hazarded(level(23.0)), at, min_wall_mm=2.0) == pytest.approx(6.0, abs=CLOSE)
    assert stop(hazarded(level(23.0, min_wall_mm=1.0)), at) == pytest.approx(7.0, abs=CLOSE)
    assert stop(hazarded(level(23.0), min_wall=None), at) == pytest.approx(7.0, abs=CLOSE)  # iron 1.0
    assert stop(hazarded(level(23.0), min_wall=None, density=2.7), at) == pytest.approx(6.5, abs=CLOSE)  # 1.5


@pytest.mark.parametrize("beside", [0.0, 3.0, 5.4, 6.5, 8.0, 8.4])
def test_beside_an_upright_hole_the_stop_is_round_its_rim(hazarded, hole, beside: float) -> None:
    # bottom at z 24, radius 5.5: out to 3 beyond the rim the limit is a quarter circle round it
    made = hazarded(hole((0.0, 30.0, 24.0), (0.0, 30.0, 80.0)))
    out = max(0.0, beside - 5.5)
    expected = 24.0 - sqrt(3.0**2 - out**2) - 15.0
    found = stop(made, (beside, 30.0, 15.0))
    assert expected - 0.02 <= found <= expected


def test_past_a_hole_by_more_than_the_limit_nothing_stops_the_cut(hazarded, hole) -> None:
    assert stop(hazarded(hole((0.0, 30.0, 24.0), (0.0, 30.0, 80.0))), (8.6, 30.0, 15.0)) == np.inf


def test_where_the_wall_is_thin_already_the_stop_is_nought(hazarded) -> None:
    assert stop(hazarded(level(17.0)), (0.0, 30.0, 15.0)) == 0.0


def test_a_hazard_that_may_be_opened_sets_no_stop(hazarded) -> None:
    assert stop(hazarded(level(17.0, open_allowed=True)), (0.0, 30.0, 15.0)) == np.inf


def test_the_nearest_of_several_hazards_stops_the_cut(hazarded, hole) -> None:
    made = hazarded(level(30.0), hole((0.0, 30.0, 22.0), (0.0, 30.0, 80.0)))
    hazards = behind(made.job, made.port)
    points = np.array([[0.0, 30.0, 15.0], [0.0, 60.0, 15.0]])
    assert stop_depth_mm(points, np.repeat(UP, 2, axis=0), hazards) == pytest.approx([4.0, 12.0], abs=CLOSE)


def test_a_reading_stops_a_cut_by_its_thickness_and_nothing_does_where_none_is_near(hazarded) -> None:
    gauge = Hazard("gauge", "readings", file="g.csv", readings=(WallReading(30.0, 0.0, 7.5),))
    made = hazarded(gauge)
    assert stop(made, (0.0, 30.0, 15.0)) == pytest.approx(4.5, abs=CLOSE)
    assert stop(made, (0.0, 30.0, 16.0)) == pytest.approx(3.5, abs=CLOSE)  # 1 is cut already
    assert stop(made, (0.0, 60.0, 15.0)) == np.inf


@settings(max_examples=40, deadline=None)
@given(st.floats(-15.0, 15.0), st.floats(5.0, 75.0), st.tuples(*[st.floats(-1.0, 1.0)] * 2))
def test_no_place_on_the_way_to_a_stop_is_nearer_than_the_limit(hazarded, hole, x, y, slope) -> None:
    made = hazarded(hole((2.0, 30.0, 20.0), (9.0, 45.0, 50.0), drill_point=True))
    (ready,) = behind(made.job, made.port)
    point, direction = np.array([x, y, 15.0]), np.array([*slope, 1.0])
    found = stop(made, point, direction)
    ahead = direction / np.linalg.norm(direction)
    way = point + np.linspace(0.0, min(found, 25.0), 60)[:, None] * ahead
    walls = ready.wall_mm(way)
    if walls[0] >= 3.0:
        assert walls.min() >= 3.0 - 1e-9
    else:
        assert found == 0.0


@pytest.mark.parametrize("ball", [0.0, 5.0])
def test_a_mesh_stops_a_cut_where_it_does_when_asked_itself_at_every_step(
    hazarded, tmp_path: Path, ball: float
) -> None:
    # a block that the cuts start below, beside and within: what is quick cannot tell the last from outside
    block = trimesh.creation.box((12.0, 20.0, 10.0))
    block.apply_translation((0.0, 30.0, 26.0))
    block.export(tmp_path / "block.stl")
    made = hazarded(Hazard("water", "mesh", file="block.stl"), folder=tmp_path)
    ready = behind(made.job, made.port)[0].nearer(ball)
    rng = np.random.default_rng(3)
    points = rng.uniform((-16.0, 10.0, 8.0), (16.0, 50.0, 30.0), size=(400, 3))
    ways = rng.normal(size=(400, 3)) + (0.0, 0.0, 1.0)
    itself = stop_depth_mm(points, ways, [replace(ready, at_least_mm=None)])
    found = stop_depth_mm(points, ways, [ready])
    within = (np.abs(points - (0.0, 30.0, 26.0)) < (6.0, 10.0, 5.0)).all(axis=1)
    assert within.sum() > 10
    assert (found[within] == 0.0).all()
    assert np.isinf(found).any()
    np.testing.assert_allclose(found, itself, atol=CLOSE)
