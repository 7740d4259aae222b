"""Planes through meshes, against closed forms and a general mesh library."""

from __future__ import annotations

import numpy as np
import pytest
import trimesh

from portgeom.capture.slicing.cut import cut, plane_at
from portgeom.capture.slicing.index import MeshIndex, indexed
from portgeom.geometry.moments import polygon_moments

NEAR = 1e-7


def index_of(mesh: trimesh.Trimesh) -> MeshIndex:
    return indexed(np.array(mesh.vertices), np.array(mesh.faces, dtype=np.intp))


def test_a_box_cut_square_is_its_rectangle_in_the_planes_own_axes() -> None:
    box = index_of(trimesh.creation.box(extents=(10.0, 40.0, 6.0)))
    plane = plane_at(np.array([1.0, 3.0, 0.5]), np.array([0.0, 1.0, 0.0]), np.array([0.0, 0.0, 1.0]))
    (line,) = cut(box, plane, near_mm=NEAR).lines
    assert line.closed
    assert line.points_mm.min(axis=0) == pytest.approx([-6.0, -3.5])
    assert line.points_mm.max(axis=0) == pytest.approx([4.0, 2.5])
    assert line.length_mm == pytest.approx(2.0 * (10.0 + 6.0))


@pytest.mark.parametrize("seed", range(6))
def test_areas_agree_with_a_mesh_library_whichever_way_the_plane_stands(seed: int) -> None:
    random = np.random.default_rng(seed)
    ring = trimesh.creation.torus(30.0, 9.0, 96, 48)
    ring.vertices += random.normal(0.0, 0.02, ring.vertices.shape)
    normal, origin = random.normal(size=3), random.normal(0.0, 5.0, 3)
    plane = plane_at(origin, normal, random.normal(size=3))
    lines = cut(index_of(ring), plane, near_mm=NEAR).lines
    areas = [abs(float(polygon_moments(line.points_mm).area_mm2)) for line in lines]
    path = ring.section(plane_normal=plane.normal, plane_origin=origin)
    flat, _ = path.to_2D()
    expected = [abs(float(polygon_moments(np.asarray(loop)[:-1]).area_mm2)) for loop in flat.discrete]
    assert all(line.closed for line in lines)
    assert sorted(areas) == pytest.approx(sorted(expected), rel=1e-9)


def test_the_boxes_leave_out_no_triangle_that_a_plane_meets() -> None:
    random = np.random.default_rng(7)
    ball = trimesh.creation.icosphere(5, radius=20.0)
    order = random.permutation(len(ball.faces))
    index = indexed(np.array(ball.vertices), np.array(ball.faces[order], dtype=np.intp))
    for _ in range(20):
        normal, origin = random.normal(size=3), random.uniform(-18.0, 18.0, 3)
        normal /= np.linalg.norm(normal)
        height = (ball.vertices @ normal - origin @ normal)[ball.faces]
        met = (height.min(axis=1) <= 0.0) & (height.max(axis=1) >= 0.0)
        near = index.near(origin, normal)
        assert {tuple(sorted(f)) for f in ball.faces[met].tolist()} <= {tuple(sorted(f)) for f in near.tolist()}
        assert len(near) < 0.5 * len(ball.faces)


def test_a_plane_on_a_ring_of_corners_says_how_many_lie_on_it_and_is_still_closed() -> None:
    tube = trimesh.creation.cylinder(radius=10.0, height=40.0, sections=32)
    tube = tube.subdivide()  # a ring of corners half way up
    plane = plane_at(np.zeros(3), np.array([0.0, 0.0, 1.0]), np.array([0.0, 1.0, 0.0]))
    met = cut(index_of(tube), plane, near_mm=NEAR)
    assert met.on_plane == 64
    assert [line.closed for line in met.lines] == [True]


def test_doubled_triangles_do_not_double_the_line() -> None:
    ball = trimesh.creation.icosphere(3, radius=10.0)
    twice = indexed(np.array(ball.vertices), np.repeat(np.array(ball.faces, dtype=np.intp), 2, axis=0))
    plane = plane_at(np.array([0.1, 0.2, 3.0]), np.array([0.1, 0.0, 1.0]), np.array([0.0, 1.0, 0.0]))
    (line,) = cut(twice, plane, near_mm=NEAR).lines
    (once,) = cut(index_of(ball), plane, near_mm=NEAR).lines
    assert line.closed
    assert line.length_mm == pytest.approx(once.length_mm)


def test_which_way_the_triangles_face_is_told() -> None:
    ball = trimesh.creation.icosphere(3, radius=10.0)
    plane = plane_at(np.array([0.1, 0.2, 3.0]), np.array([0.1, 0.0, 1.0]), np.array([0.0, 1.0, 0.0]))
    (out,) = cut(index_of(ball), plane, near_mm=NEAR).lines
    ball.faces = ball.faces[:, ::-1]
    (inward,) = cut(index_of(ball), plane, near_mm=NEAR).lines
    signed = [float(polygon_moments(x.points_mm).area_mm2) for x in (out, inward)]
    right = [x.outward_share if a > 0.0 else 1.0 - x.outward_share for x, a in zip((out, inward), signed, strict=True)]
    assert right == pytest.approx([1.0, 0.0])


def test_a_plane_past_the_mesh_meets_nothing() -> None:
    box = index_of(trimesh.creation.box(extents=(10.0, 10.0, 10.0)))
    plane = plane_at(np.array([0.0, 0.0, 5.1]), np.array([0.0, 0.0, 1.0]), np.array([0.0, 1.0, 0.0]))
    assert cut(box, plane, near_mm=NEAR).lines == ()
