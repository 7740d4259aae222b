"""Which loop is the passage, what is refused, and how a plane through a ring of corners is moved."""

from __future__ import annotations

from math import pi

import numpy as np
import pytest
import trimesh

from portgeom.capture.clock import clock_words
from portgeom.capture.slicing.cut import Plane, plane_at
from portgeom.capture.slicing.index import MeshIndex, indexed
from portgeom.capture.slicing.section import Expected, GapLimits, NoSection, section

UP = np.array([0.0, 0.0, 1.0])
IN = np.array([0.0, 1.0, 0.0])
NONE = np.zeros(2)


def pipe(radius: float, middle=(0.0, 0.0), length: float = 60.0, rings: int = 31) -> trimesh.Trimesh:
    """Return an open pipe along y with rings of 96 corners every 2 mm, the first at y = 0."""
    a = np.linspace(0.0, 2.0 * pi, 96, endpoint=False)
    y = np.linspace(0.0, length, rings)
    points = np.stack(
        [
            np.broadcast_to(middle[0] + radius * np.cos(a), (rings, 96)),
            np.broadcast_to(y[:, None], (rings, 96)),
            np.broadcast_to(middle[1] + radius * np.sin(a), (rings, 96)),
        ],
        axis=-1,
    ).reshape(-1, 3)
    k, j = np.meshgrid(np.arange(rings - 1), np.arange(96), indexing="ij")
    p, q = 96 * k + j, 96 * k + (j + 1) % 96
    faces = np.concatenate([np.stack([p, q, p + 96], -1), np.stack([q, q + 96, p + 96], -1)]).reshape(-1, 3)
    return trimesh.Trimesh(points, faces, process=False)


def index_of(*parts: trimesh.Trimesh) -> MeshIndex:
    whole = trimesh.util.concatenate(parts)
    return indexed(np.array(whole.vertices), np.array(whole.faces, dtype=np.intp))


def at(y: float, x: float = 0.0, z: float = 0.0) -> Plane:
    return plane_at(np.array([x, y, z]), IN, UP)


def polygon(radius: float) -> float:
    return 0.5 * 96 * radius**2 * np.sin(2.0 * pi / 96)


@pytest.mark.parametrize("y", [0.0, 20.0, 60.0])
def test_a_plane_through_a_ring_of_corners_is_moved_by_a_micron_and_says_so(y: float) -> None:
    found = section(index_of(pipe(20.0)), at(y), Expected(NONE))
    assert abs(found.moved_mm) == pytest.approx(0.001)
    assert found.loop.area_mm2 == pytest.approx(polygon(20.0))
    assert found.plane.origin_mm[1] == y


def test_a_plane_between_rings_is_not_moved() -> None:
    assert section(index_of(pipe(20.0)), at(20.7), Expected(NONE)).moved_mm == 0.0


def test_of_two_pipes_the_one_that_continues_the_section_before_is_taken() -> None:
    two = index_of(pipe(20.0), pipe(14.0, middle=(50.0, 0.0)))
    for x, radius in ((2.0, 20.0), (49.0, 14.0)):
        found = section(two, at(31.0, x), Expected(NONE, pi * radius**2))
        assert found.loop.area_mm2 == pytest.approx(polygon(radius))


def test_of_an_inner_and_an_outer_wall_the_one_of_the_area_before_is_taken() -> None:
    walls = index_of(pipe(20.0), pipe(24.0))
    for radius in (20.0, 24.0):
        found = section(walls, at(31.0), Expected(NONE, 0.98 * pi * radius**2))
        assert found.loop.area_mm2 == pytest.approx(polygon(radius))


def test_with_nothing_known_the_innermost_wall_round_the_place_is_taken() -> None:
    walls = index_of(pipe(20.0), pipe(24.0), pipe(3.0, middle=(40.0, 0.0)))
    assert section(walls, at(31.0), Expected(NONE)).loop.area_mm2 == pytest.approx(polygon(20.0))


def test_what_lies_inside_is_left_out_and_told() -> None:
    found = section(index_of(pipe(20.0), pipe(3.0, middle=(8.0, 0.0))), at(31.0), Expected(NONE, pi * 20.0**2))
    assert found.inside == pytest.approx((polygon(3.0),))


def test_a_plane_that_misses_says_so() -> None:
    with pytest.raises(NoSection, match="meets nothing of the mesh"):
        section(index_of(pipe(20.0)), at(61.0), Expected(NONE))


def test_a_loop_of_another_size_does_not_continue() -> None:
    with pytest.raises(NoSection, match=r"its loop does not continue the section before: 100\.0 mm2 was looked for"):
        section(index_of(pipe(20.0)), at(31.0), Expected(NONE, 100.0))


def with_slot(share: float) -> MeshIndex:
    """Return a pipe with a slot along its roof over a share of its wall."""
    whole = pipe(20.0)
    angle = np.arctan2(whole.triangles_center[:, 0], whole.triangles_center[:, 2])
    return index_of(trimesh.Trimesh(whole.vertices, whole.faces[np.abs(angle) > share * pi], process=False))


def test_a_narrow_slot_is_closed_and_its_place_told() -> None:
    found = section(with_slot(0.1), at(31.0), Expected(NONE))
    (gap,) = found.gaps
    assert clock_words(gap.middle_mm) == "12 o'clock"
    assert gap.width_mm == pytest.approx(2.0 * 20.0 * np.sin(0.1 * pi), rel=0.15)  # whole triangles go
    assert found.loop.area_mm2 == pytest.approx(pi * 20.0**2, rel=2e-3)


def test_a_wide_slot_is_refused_with_its_width_and_place() -> None:
    with pytest.raises(NoSection, match=r"open over 2\d\.\d\d mm, \d\d percent of its length, at 12 o'clock"):
        section(with_slot(0.2), at(31.0), Expected(NONE))
    wide = GapLimits(widest=0.3, together=0.3)
    assert section(with_slot(0.2), at(31.0), Expected(NONE), wide).gaps[0].width_mm > 20.0


@pytest.mark.parametrize(
    ("off", "words"),
    [((0, 1), "12 o'clock"), ((1, 0), "3 o'clock"), ((0, -1), "6 o'clock"), ((-1, 1), "half past 10")],
)
def test_the_clock_is_read_looking_in(off: tuple[float, float], words: str) -> None:
    assert clock_words(np.array(off, dtype=float)) == words
