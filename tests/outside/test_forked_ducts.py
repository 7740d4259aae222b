"""Ducts that fork, and a duct whose middle is not where the largest ball fits, sliced along lines known in closed form.

The fork is a round trunk of 10 mm radius along y whose axis divides at y = 60 into two legs of 7 mm radius, 25 degrees
to either side: areas 100 pi and 49 pi square to the axes. They are joined by a solid kernel (manifold3d), which is none
of the slicing's own code.

The centroid of a half disc of radius r lies 4 r / (3 pi) from its flat side (any table of centroids; E. Oberg et al.,
Machinery's Handbook), the middle of the largest circle in it r / 2. A line of centroids through a duct of that section
is therefore 0.0756 r off one of largest balls, which is how vessels are often given.
"""

from __future__ import annotations

from math import cos, pi, radians, sin
from pathlib import Path

import numpy as np
import pytest
import trimesh

from portgeom.capture.slicing.asked import Asked
from portgeom.capture.slicing.mesh import SlicedMesh, slice_mesh
from portgeom.job.faults import line
from portgeom.job.read import read_job
from portgeom.model.lofted import loft_job

TRUNK, LEG, FORK, LENGTH, LEAN = 10.0, 7.0, 60.0, 60.0, radians(25.0)
SIDES = 128


def rod(radius: float, start: tuple[float, float, float], end: tuple[float, float, float]) -> trimesh.Trimesh:
    return trimesh.creation.cylinder(radius=radius, segment=[start, end], sections=SIDES)


def fork_mesh() -> trimesh.Trimesh:
    ends = [(way * LENGTH * sin(LEAN), FORK + LENGTH * cos(LEAN), 0.0) for way in (-1.0, 1.0)]
    trunk = rod(TRUNK, (0.0, 0.0, 0.0), (0.0, FORK, 0.0))
    elbow = trimesh.creation.icosphere(4, radius=TRUNK)
    elbow.apply_translation([0.0, FORK, 0.0])
    return trimesh.boolean.union([trunk, elbow, *(rod(LEG, (0.0, FORK, 0.0), end) for end in ends)], engine="manifold")


@pytest.fixture(scope="module")
def fork(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("fork") / "fork.stl"
    fork_mesh().export(path)
    return path


def sliced(mesh: Path, folder: Path, **asked: object) -> SlicedMesh:
    usual = {"mesh_units": "mm", "head_frame": True, "entry": (0.0, 0.0, 0.0), "into": (0.0, 1.0, 0.0)}
    return slice_mesh(Asked(mesh=mesh, folder=folder / "job", **{**usual, **asked}))


def said(done: SlicedMesh) -> str:
    return "\n".join(line(note) for note in done.notes)


def test_where_a_passage_divides_the_line_ends_and_the_branches_are_told(fork: Path, tmp_path: Path) -> None:
    done = sliced(fork, tmp_path)
    assert "there the passage divides, into" in said(done)
    assert "go on along one of them with --towards and a point in it, as --towards " in said(done)
    given = said(done).rpartition("as --towards ")[2].splitlines()[0]
    x, y, z = (float(word) for word in given.split(","))
    # the crotch is where the inner walls of the legs meet, on the axis
    crotch = FORK + LEG / sin(LEAN)
    assert y == pytest.approx(crotch, abs=0.42 * 2.0 * TRUNK)
    assert (abs(x), z) == pytest.approx(((y - FORK) * sin(LEAN) / cos(LEAN), 0.0), abs=0.5)
    last = done.sections.stations[-1]
    assert FORK < last.place_mm[1] < crotch
    # what is offered is what works
    again = sliced(fork, tmp_path / "again", towards=(x, y, z))
    assert again.sections.stations[-1].place_mm[1] > FORK + 0.9 * LENGTH * cos(LEAN)


@pytest.mark.parametrize("way", [-1.0, 1.0])
def test_a_branch_that_is_named_is_followed_to_its_end(fork: Path, tmp_path: Path, way: float) -> None:
    end = np.array([way * LENGTH * sin(LEAN), FORK + LENGTH * cos(LEAN), 0.0])
    done = sliced(fork, tmp_path, towards=tuple(end))
    assert "was followed, being the nearest to the point given" in said(done)
    axis = np.array([way * sin(LEAN), cos(LEAN), 0.0])
    facets = sin(2.0 * pi / SIDES) / (2.0 * pi / SIDES)
    for station in done.sections.stations:
        area, place = station.traced.outline.area_mm2, station.place_mm
        along = float((place - [0.0, FORK, 0.0]) @ axis)
        if place[1] < FORK - 1.25 * 2.0 * TRUNK:
            assert area == pytest.approx(pi * TRUNK**2 * facets, rel=3e-3)
            assert np.hypot(place[0], place[2]) < 0.2
        if along > LEG / np.tan(LEAN) + 2.0 * LEG:
            assert area == pytest.approx(pi * LEG**2 * facets, rel=4e-3)
            assert np.linalg.norm(place - [0.0, FORK, 0.0] - along * axis) < 0.2
    assert done.sections.stations[-1].place_mm == pytest.approx(end, abs=0.2)
    assert loft_job(read_job(done.written.folder))[0].cast.surface.volume_mm3.min() > 0.0


def half_disc_bend(radius: float, bend: float, rings: int = 161, arc: int = 120) -> trimesh.Trimesh:
    """Return a bend downwards of ``bend`` mm, about its centroids, with the flat side of its section to the left."""
    around = np.linspace(-0.5 * pi, 0.5 * pi, arc)
    centroid = 4.0 * radius / (3.0 * pi)
    flat = np.linspace(radius, -radius, 40)[1:-1]
    u = np.concatenate([radius * np.cos(around), 0.0 * flat]) - centroid
    v = np.concatenate([radius * np.sin(around), flat])
    turn = np.linspace(0.0, radians(75.0), rings)[:, None]
    points = np.stack(
        [0.0 * turn + u, bend * np.sin(turn) + v * np.sin(turn), bend * (np.cos(turn) - 1.0) + v * np.cos(turn)], -1
    )
    n = len(u)
    k, j = np.meshgrid(np.arange(rings - 1), np.arange(n), indexing="ij")
    a, b = n * k + j, n * k + (j + 1) % n
    faces = np.concatenate([np.stack([a, b + n, b], -1).reshape(-1, 3), np.stack([a, a + n, b + n], -1).reshape(-1, 3)])
    return trimesh.Trimesh(points.reshape(-1, 3), faces, process=False)


def test_the_line_runs_through_centroids_and_not_where_the_largest_ball_fits(tmp_path: Path) -> None:
    radius, bend = 20.0, 90.0
    path = tmp_path / "half.ply"
    path.write_bytes(half_disc_bend(radius, bend).export(file_type="ply"))
    done = sliced(path, tmp_path)
    places = np.array([s.place_mm for s in done.sections.stations])
    off = np.hypot(np.hypot(places[:, 1], places[:, 2] + bend) - bend, places[:, 0])
    assert off.max() < 0.2
    ball = (0.5 - 4.0 / (3.0 * pi)) * radius
    assert np.abs(places[:, 0] - ball).min() > 1.3


def test_a_point_towards_nothing_still_names_the_nearest_branch_and_one_given_without_a_fork_changes_nothing(
    tmp_path: Path,
) -> None:
    mesh = tmp_path / "rod.stl"
    rod(TRUNK, (0.0, 0.0, 0.0), (0.0, 60.0, 0.0)).export(mesh)
    plain, told = sliced(mesh, tmp_path / "a"), sliced(mesh, tmp_path / "b", towards=(0.0, 500.0, 0.0))
    assert [s.distance_mm for s in plain.sections.stations] == [s.distance_mm for s in told.sections.stations]


def test_a_closed_round_end_is_left_out_and_told(tmp_path: Path) -> None:
    ball = trimesh.creation.icosphere(5, radius=TRUNK)
    ball.apply_translation([0.0, 60.0, 0.0])
    mesh = tmp_path / "dome.stl"
    trimesh.boolean.union([rod(TRUNK, (0.0, 0.0, 0.0), (0.0, 60.0, 0.0)), ball], engine="manifold").export(mesh)
    done = sliced(mesh, tmp_path)
    areas = np.array([s.traced.outline.area_mm2 for s in done.sections.stations])
    assert areas.min() > 0.7 * pi * TRUNK**2 * 0.99
    assert 60.0 < done.sections.stations[-1].place_mm[1] < 60.0 + TRUNK * np.sqrt(0.3) * 1.05
    assert "where it closes like a dome before that, it is left out" in said(done)
