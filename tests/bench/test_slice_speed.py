"""How long slicing takes: a million triangles and 60 planes, against a general mesh library in the same run.

Run by hand: ``pytest -o addopts=--import-mode=importlib tests/bench/test_slice_speed.py -s``.
"""

from __future__ import annotations

import tracemalloc
from collections.abc import Callable
from math import pi
from time import process_time

import numpy as np
import pytest
import trimesh

from portgeom.capture.meshes.join import joined
from portgeom.capture.meshes.values import Facets, ScanMesh
from portgeom.capture.slicing.cut import Plane, plane_at
from portgeom.capture.slicing.frame import HeadFrame
from portgeom.capture.slicing.index import indexed
from portgeom.capture.slicing.line import TrackLine
from portgeom.capture.slicing.march import march
from portgeom.capture.slicing.mouth import mouth_at
from portgeom.capture.slicing.scan import Wish, sliced
from portgeom.capture.slicing.section import Expected, GapLimits, Section, section
from portgeom.job.faults import Gathered

BIG, SMALL, LEG = 45.0, 20.0, 30.0
LENGTH = 2.0 * LEG + 0.5 * pi * BIG
PLANES = 60
MOST_SECONDS, TIMES_FASTER, TIMES_MEMORY = 1.0, 3.0, 4.0
UP = np.array([0.0, 0.0, 1.0])


def line(s: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Return places and directions (n, 3) along two legs with a bend between."""
    a = np.clip((s - LEG) / BIG, 0.0, 0.5 * pi)
    y = np.minimum(s, LEG) + BIG * np.sin(a)
    z = BIG * (np.cos(a) - 1.0) - np.maximum(s - LEG - 0.5 * pi * BIG, 0.0)
    return np.column_stack([0.0 * s, y, z]), np.column_stack([0.0 * s, np.cos(a), -np.sin(a)])


@pytest.fixture(scope="module")
def scan() -> ScanMesh:
    """Return a bent pipe of a million triangles in no order at all, as some programs leave them."""
    m = n = 708
    places, way = line(np.linspace(0.0, LENGTH, m))
    up = np.cross(np.array([1.0, 0.0, 0.0]), way)
    a = np.linspace(0.0, 2.0 * pi, n, endpoint=False)
    off = np.cos(a)[None, :, None] * np.array([1.0, 0.0, 0.0]) + np.sin(a)[None, :, None] * up[:, None]
    points = (places[:, None] + SMALL * off).reshape(-1, 3)
    k, j = np.meshgrid(np.arange(m - 1), np.arange(n), indexing="ij")
    p, q = n * k + j, n * k + (j + 1) % n
    faces = np.concatenate([np.stack([p, p + n, q], -1), np.stack([q, p + n, q + n], -1)]).reshape(-1, 3)
    mesh = joined(Facets(points, np.random.default_rng(1).permutation(faces)), 1.0)
    assert len(mesh.faces) > 1_000_000
    return mesh


def planes() -> list[Plane]:
    places, way = line((np.arange(PLANES) + 0.5) / PLANES * LENGTH)
    return [plane_at(p, d, np.cross(np.array([1.0, 0.0, 0.0]), d)) for p, d in zip(places, way, strict=True)]


def sections(mesh: ScanMesh) -> list[Section]:
    index = indexed(mesh.vertices_mm, mesh.faces)
    return [section(index, plane, Expected(np.zeros(2))) for plane in planes()]


def least_seconds(call: Callable[[], object], times: int = 3) -> float:
    spent = []
    for _ in range(times):
        start = process_time()
        call()
        spent.append(process_time() - start)
    return min(spent)


def test_60_planes_take_less_than_a_second_and_a_third_of_a_mesh_librarys_time(scan: ScanMesh) -> None:
    other = trimesh.Trimesh(scan.vertices_mm, scan.faces, process=False)
    own = least_seconds(lambda: sections(scan))
    theirs = least_seconds(
        lambda: [other.section(plane_normal=p.normal, plane_origin=p.origin_mm).discrete for p in planes()],
        times=1,
    )
    print(f"\n{len(scan.faces)} triangles, {PLANES} planes: {own:.2f} s; trimesh section {theirs:.2f} s")
    found = [s.loop.area_mm2 for s in sections(scan)]
    assert found == pytest.approx([pi * SMALL**2] * PLANES, rel=1e-3)
    assert own < MOST_SECONDS
    assert theirs > TIMES_FASTER * own


def test_finding_the_path_and_writing_outlines_too(scan: ScanMesh) -> None:
    def whole() -> int:
        index = indexed(scan.vertices_mm, scan.faces)
        start = mouth_at(index, plane_at(np.zeros(3), np.array([0.0, 1.0, 0.0]), UP), GapLimits())
        track = march(index, start, (), GapLimits()).track
        at = tuple(np.linspace(0.0, track.length_mm, PLANES))
        frame = HeadFrame.same()
        return len(sliced(index, TrackLine.of(track, frame), frame, Wish(at_mm=at), Gathered(), "").stations)

    spent = least_seconds(whole)
    print(f"\npath found, {PLANES} sections and their outlines: {spent:.2f} s")
    assert whole() == PLANES


def test_memory_stays_below_four_times_the_meshs_arrays(scan: ScanMesh) -> None:
    arrays = scan.vertices_mm.nbytes + scan.faces.nbytes
    tracemalloc.start()
    sections(scan)
    peak = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    print(f"\nmesh {arrays / 1e6:.0f} MB, peak with it {(peak + arrays) / 1e6:.0f} MB")
    assert peak + arrays < TIMES_MEMORY * arrays
