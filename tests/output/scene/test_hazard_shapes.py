"""Shapes of what lies behind the walls are the hazards' own, no further from the port than a picture needs."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from portgeom.geometry.distance import DRILL_POINT_DEG, cylinder_distance_mm
from portgeom.job.values import Hazard, WallReading
from portgeom.output.scene.hazard_shapes import MARGIN_MM, MOST_TRIANGLES, ROUND, hazard_shapes, place_mm
from portgeom.questions.walls.behind import behind

UP = np.array([0.0, 0.0, 1.0])


def shapes_of(asked, *hazards, folder=Path()):
    answer = asked.answers[0]
    job = replace(asked.job, hazards=hazards, folder=folder)
    return hazard_shapes(behind(job, answer.port), answer.stage.surface, folder)


def hole(start, end, **more):
    ends = {"start_mm": np.array(start, float), "end_mm": np.array(end, float)}
    return Hazard("hole", "cylinder", diameter_mm=10.0, **ends, **more)


def volume_mm3(shape):
    a, b, c = np.moveaxis(shape.vertices_mm[shape.triangles], 1, 0)
    return float(np.einsum("ij,ij->i", a, np.cross(b, c)).sum()) / 6.0


def test_hole_lies_on_its_cylinder_and_is_closed_outward(box):
    (shape,) = shapes_of(box, hole((0.0, 50.0, 28.0), (3.0, 52.0, 34.0)))
    axis = np.array([0.0, 50.0, 28.0]), np.array([3.0, 52.0, 34.0])
    rim = shape.vertices_mm[cylinder_distance_mm(shape.vertices_mm, *axis, 10.0) > -1e-9]
    assert len(rim) >= 2 * ROUND
    # a prism of ROUND sides
    base = 0.5 * ROUND * 5.0**2 * np.sin(2.0 * np.pi / ROUND)
    assert volume_mm3(shape) == pytest.approx(base * np.linalg.norm(axis[1] - axis[0]), rel=1e-9)
    assert len(shape.rims) == 2


def test_drill_point_is_a_cone_of_118_degrees(box):
    start, end = (0.0, 50.0, 32.0), (0.0, 50.0, 27.0)
    plain, drilled = (shapes_of(box, hole(start, end, drill_point=p))[0] for p in (False, True))
    depth = 5.0 / np.tan(np.radians(0.5 * DRILL_POINT_DEG))
    assert plain.vertices_mm[:, 2].min() - drilled.vertices_mm[:, 2].min() == pytest.approx(depth)


def test_hole_through_the_head_is_drawn_near_the_port_only_and_without_a_rim_where_it_goes_on(box):
    (shape,) = shapes_of(box, hole((30.0, 50.0, -500.0), (30.0, 50.0, 500.0)))
    # the box of the port is 50 high
    assert np.ptp(shape.vertices_mm[:, 2]) == pytest.approx(50.0 + 2.0 * (MARGIN_MM + 5.0))
    assert shape.rims == ()


def test_hole_far_away_is_not_drawn(box):
    assert shapes_of(box, hole((500.0, 50.0, 0.0), (500.0, 50.0, 50.0))) == ()


def test_face_is_a_flat_sheet_over_what_is_near_it(box):
    face = Hazard("face", "plane", point_mm=np.array([7.0, 300.0, 30.0]), normal=-3.0 * UP)
    (shape,) = shapes_of(box, face)
    np.testing.assert_allclose(shape.vertices_mm[:, 2], 30.0)
    np.testing.assert_allclose(shape.vertices_mm.min(axis=0)[:2], [-20.0, 0.0], atol=1e-9)
    np.testing.assert_allclose(shape.vertices_mm.max(axis=0)[:2], [20.0, 100.0], atol=1e-9)
    assert shape.sheet
    a, b, c = np.moveaxis(shape.vertices_mm[shape.triangles], 1, 0)
    assert 0.5 * np.linalg.norm(np.cross(b - a, c - a), axis=1).sum() == pytest.approx(40.0 * 100.0)


def test_face_far_away_is_not_drawn(box):
    assert shapes_of(box, Hazard("face", "plane", point_mm=np.array([0.0, 0.0, 99.0]), normal=UP)) == ()


@pytest.fixture
def ball(tmp_path):
    trimesh = pytest.importorskip("trimesh")
    mesh = trimesh.creation.icosphere(subdivisions=5, radius=12.0)
    mesh.apply_translation((0.0, 50.0, 42.0))
    mesh.export(tmp_path / "water.stl")
    return Hazard("water", "mesh", file="water.stl"), tmp_path


def test_fine_mesh_is_drawn_coarser_and_stays_where_it_is(box, ball):
    hazard, folder = ball
    (shape,) = shapes_of(box, hazard, folder=folder)
    assert 100 < len(shape.triangles) <= MOST_TRIANGLES < 20 * 4**5
    away = np.linalg.norm(shape.vertices_mm[np.unique(shape.triangles)] - (0.0, 50.0, 42.0), axis=1)
    # no corner moves by more than a cell's diagonal
    assert away == pytest.approx(12.0, abs=np.sqrt(3.0) * 1.0)
    # still outward: the part drawn has a positive volume seen from within
    a, b, c = np.moveaxis(shape.vertices_mm[shape.triangles] - (0.0, 50.0, 42.0), 1, 0)
    assert (np.einsum("ij,ij->i", a, np.cross(b, c)) > 0.0).mean() > 0.99


def test_readings_are_marked_where_they_were_taken(box):
    readings = (WallReading(40.0, 90.0, 6.0), WallReading(60.0, 0.0, 5.0))
    gauge = Hazard("gauge", "readings", file="g.csv", readings=readings)
    (shape,) = shapes_of(box, gauge)
    middles = shape.vertices_mm.reshape(2, 6, 3).mean(axis=1)
    # 40 wide and 50 high about the path
    np.testing.assert_allclose(middles[0], [20.0, 40.0, 0.0], atol=0.8)
    np.testing.assert_allclose(middles[1], [0.0, 60.0, 25.0], atol=0.8)


def test_place_on_a_surface_goes_by_clock(box):
    surface = box.answers[0].stage.surface
    for clock, x, z in ((0.0, 0.0, 25.0), (90.0, 20.0, 0.0), (180.0, 0.0, -25.0), (270.0, -20.0, 0.0)):
        np.testing.assert_allclose(place_mm(surface, 30.0, clock), [x, 30.0, z], atol=0.8)
