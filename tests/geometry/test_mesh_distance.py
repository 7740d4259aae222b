"""Distances to meshes against closed forms of boxes, spheres and tubes, and an independent library."""

from __future__ import annotations

from math import cos, pi

import numpy as np
import pytest
import trimesh

from portgeom.geometry.distance import cylinder_distance_mm
from portgeom.geometry.mesh_distance import mesh_distance

EXACT = 1e-9


def scattered(count: int, low, high, *, seed: int = 7) -> np.ndarray:
    return np.random.default_rng(seed).uniform(low, high, size=(count, 3))


def test_a_box_is_exact_to_faces_edges_and_corners_on_both_sides() -> None:
    box = trimesh.creation.box(extents=(40.0, 20.0, 10.0))
    asked = scattered(3000, -30.0, 30.0)
    over = np.abs(asked) - np.array([20.0, 10.0, 5.0])
    closed_form = np.linalg.norm(np.maximum(over, 0.0), axis=1) + np.minimum(over.max(axis=1), 0.0)
    found = mesh_distance(box.vertices, box.faces, closed=True).distance_mm(asked)
    assert found == pytest.approx(closed_form, abs=EXACT)


def test_a_sphere_of_facets_lies_within_its_chords() -> None:
    ball = trimesh.creation.icosphere(subdivisions=4, radius=12.0)
    asked = scattered(1500, -18.0, 18.0)
    away = mesh_distance(ball.vertices, ball.faces, closed=True).distance_mm(asked)
    away -= np.linalg.norm(asked, axis=1) - 12.0
    sag = 12.0 - np.linalg.norm(ball.triangles_center, axis=1).min()
    assert away.min() > -EXACT  # facets are chords: the mesh is inside the sphere, so never nearer from outside
    assert away.max() <= sag + EXACT


def test_a_tube_of_facets_agrees_with_the_same_hole_within_its_chords() -> None:
    sections = 64
    start, end = np.array([3.0, -2.0, 1.0]), np.array([10.0, 20.0, 30.0])
    hole = trimesh.creation.cylinder(radius=5.5, segment=[start, end], sections=sections)
    asked = scattered(1500, [-8, -12, -8], [20, 30, 40])
    found = mesh_distance(hole.vertices, hole.faces, closed=True).distance_mm(asked)
    off = found - cylinder_distance_mm(asked, start, end, 11.0)
    assert off.min() > -EXACT
    assert off.max() <= 5.5 * (1.0 - cos(pi / sections)) + EXACT


def test_inside_is_told_in_a_hollow_ring_where_the_middle_is_outside() -> None:
    ring = trimesh.creation.annulus(r_min=20.0, r_max=30.0, height=24.0, sections=128)
    asked = scattered(2000, -34.0, 34.0)
    out, along = np.hypot(asked[:, 0], asked[:, 1]), np.abs(asked[:, 2])
    chord = 30.0 * (1.0 - cos(pi / 128))
    clear = np.minimum(np.abs(np.stack([out - 20.0, out - 30.0])).min(axis=0), np.abs(along - 12.0)) > chord
    inside = (out > 20.0) & (out < 30.0) & (along < 12.0)
    found = mesh_distance(ring.vertices, ring.faces, closed=True).distance_mm(asked)
    assert ((found < 0.0) == inside)[clear].all()


def test_an_open_mesh_has_no_inside() -> None:
    box = trimesh.creation.box(extents=(10.0, 10.0, 10.0))
    found = mesh_distance(box.vertices, box.faces[:-2], closed=False).distance_mm(scattered(200, -4.0, 4.0))
    assert (found > 0.0).all()


def test_triangles_of_very_different_sizes_agree_with_an_independent_library() -> None:
    # from 0.05 to 80 mm, slivers among them, against every triangle in turn
    rng = np.random.default_rng(11)
    size = 10.0 ** rng.uniform(-1.3, 1.9, size=(60, 1, 1))
    soup = rng.normal(size=(60, 1, 3)) * 20.0 + size * rng.normal(size=(60, 3, 3)) * [[[1.0, 0.02, 0.3]]]
    asked = scattered(300, -60.0, 60.0)
    nearest = np.full(len(asked), np.inf)
    for triangle in soup:
        repeated = np.broadcast_to(triangle, (len(asked), 3, 3))
        there = trimesh.triangles.closest_point(repeated, asked)
        nearest = np.minimum(nearest, np.linalg.norm(there - asked, axis=1))
    found = mesh_distance(soup.reshape(-1, 3), np.arange(180).reshape(60, 3), closed=False).distance_mm(asked)
    assert found == pytest.approx(nearest, abs=1e-7)


def test_a_triangle_without_area_is_no_trouble() -> None:
    corners = np.array([[0.0, 0.0, 0.0], [10.0, 0.0, 0.0], [5.0, 0.0, 0.0], [0.0, 10.0, 0.0]])
    faces = np.array([[0, 1, 2], [0, 1, 3]])
    found = mesh_distance(corners, faces, closed=False).distance_mm(np.array([[5.0, -3.0, 4.0]]))
    assert found == pytest.approx([5.0], abs=EXACT)
