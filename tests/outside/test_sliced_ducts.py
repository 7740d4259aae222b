"""Meshes of ducts known in closed form, sliced: areas, path and volume after lofting again.

The bend is a round bore of radius r on a circular arc of radius R: area pi r^2, line R t, volume pi r^2 R t (Pappus).
The S-duct is two such arcs, the second turning back, with the radius of the diffuser of A. J. Wellborn, B. A. Reichert
and T. H. Okiishi, J. Propulsion and Power 10 (1994), doi 10.2514/3.23778, at a fifth of its size: sections square to
the line and centred on it, so the volume is the integral of pi r^2 along the line. A polygon of n corners inscribed in
a circle has sin(2 pi / n) / (2 pi / n) of its area, which at n = 250 is 0.0105 percent less.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from math import pi, radians
from pathlib import Path

import numpy as np
import pytest
import trimesh

from portgeom.capture.slicing.asked import Asked
from portgeom.capture.slicing.mesh import SlicedMesh, slice_mesh
from portgeom.geometry.solid import solid_of
from portgeom.job.faults import JobError
from portgeom.job.read import read_job
from portgeom.model.lofted import LoftedPort, loft_job
from portgeom.model.wanted import wanted_port
from portgeom.questions.shape.roof import Roof, roof

ROOT = Path(__file__).parents[2]
CORNERS, RINGS = 250, 201
"""100,000 triangles."""


@dataclass(frozen=True)
class Duct:
    """A round duct on a line in the plane x = 0: ``line(s)`` gives y, z and pitch (rad), ``radius(s)`` its radius."""

    length: float
    line: Callable[[np.ndarray], tuple[np.ndarray, np.ndarray, np.ndarray]]
    radius: Callable[[np.ndarray], np.ndarray]

    def rings(self, *, noise: float = 0.0, seed: int = 1) -> np.ndarray:
        s = np.linspace(0.0, self.length, RINGS)
        y, z, pitch = (v[:, None] for v in self.line(s))
        r = self.radius(s)[:, None] + noise * np.random.default_rng(seed).standard_normal((RINGS, CORNERS))
        round_it = np.linspace(0.0, 2.0 * pi, CORNERS, endpoint=False)
        up = r * np.sin(round_it)
        return np.stack([r * np.cos(round_it), y + up * np.sin(pitch), z + up * np.cos(pitch)], axis=-1)

    def off_line(self, places: np.ndarray) -> float:
        """Return how far places (n, 3) are from the line at most."""
        s = np.linspace(0.0, self.length, 40_001)
        y, z, _ = self.line(s)
        line = np.column_stack([y, z])
        nearest = [float(np.hypot(*(line - p[1:]).T).min()) for p in places]
        return float(np.hypot(nearest, places[:, 0]).max())

    def area_at(self, places: np.ndarray) -> np.ndarray:
        s = np.linspace(0.0, self.length, 40_001)
        y, z, _ = self.line(s)
        nearest = [s[np.argmin(np.hypot(y - p[1], z - p[2]))] for p in places]
        return pi * self.radius(np.array(nearest)) ** 2

    @property
    def volume(self) -> float:
        node, weight = np.polynomial.legendre.leggauss(40)
        r = self.radius(0.5 * self.length * (node + 1.0))
        return float(0.5 * self.length * weight @ (pi * r**2))


def bend() -> Duct:
    big, small = 60.0, 20.0
    return Duct(
        0.5 * pi * big,
        lambda s: (big * np.sin(s / big), big * (np.cos(s / big) - 1.0), s / big),
        lambda s: np.full_like(s, small),
    )


def s_duct() -> Duct:
    big, arc, inlet, outlet = 1021.0 / 5.0, pi / 6.0, 102.1 / 5.0, 125.7 / 5.0

    def line(s: np.ndarray) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
        pitch = np.minimum(s / big, 2.0 * arc - s / big)
        half = s <= big * arc
        y = np.where(half, big * np.sin(pitch), 2.0 * big * np.sin(arc) - big * np.sin(pitch))
        drop = big * (1.0 - np.cos(pitch))
        return y, np.where(half, -drop, drop - 2.0 * big * (1.0 - np.cos(arc))), pitch

    def radius(s: np.ndarray) -> np.ndarray:
        x = s / (2.0 * big * arc)
        return inlet + (outlet - inlet) * (3.0 * x**2 - 2.0 * x**3)

    return Duct(2.0 * big * arc, line, radius)


def tube(rings: np.ndarray, *, closed: bool) -> trimesh.Trimesh:
    m, n, _ = rings.shape
    k, j = np.meshgrid(np.arange(m - 1), np.arange(n), indexing="ij")
    a, b = n * k + j, n * k + (j + 1) % n
    faces = [
        np.stack([a, b + n, b], axis=-1).reshape(-1, 3),
        np.stack([a, a + n, b + n], axis=-1).reshape(-1, 3),
    ]
    points = rings.reshape(-1, 3)
    if closed:
        ends = rings[[0, -1]].mean(axis=1)
        here, after = np.arange(n), (np.arange(n) + 1) % n
        last = n * (m - 1)
        faces += [
            np.column_stack([here, after, np.full(n, m * n)]),
            np.column_stack([last + after, last + here, np.full(n, m * n + 1)]),
        ]
        points = np.concatenate([points, ends])
    return trimesh.Trimesh(points, np.concatenate(faces), process=False)


def sliced(mesh: trimesh.Trimesh, folder: Path, **asked: object) -> SlicedMesh:
    path = folder / "scan.ply"
    folder.mkdir(exist_ok=True)
    path.write_bytes(mesh.export(file_type="ply"))
    usual = {"mesh_units": "mm", "head_frame": True, "entry": (0.0, 0.0, 0.0), "into": (0.0, 1.0, 0.0)}
    return slice_mesh(Asked(mesh=path, folder=folder / "job", **{**usual, **asked}))


def places(done: SlicedMesh) -> np.ndarray:
    return np.array([s.place_mm for s in done.sections.stations])


def areas(done: SlicedMesh) -> np.ndarray:
    return np.array([s.traced.outline.area_mm2 for s in done.sections.stations])


def lofted_mm3(done: SlicedMesh) -> float:
    return float(loft_job(read_job(done.written.folder))[0].cast.surface.volume_mm3.sum())


@pytest.mark.parametrize("duct", [bend(), s_duct()], ids=["bend", "S-duct"])
@pytest.mark.parametrize("closed", [True, False], ids=["closed", "open"])
def test_a_duct_comes_back_with_its_areas_its_line_and_its_volume(tmp_path: Path, duct: Duct, closed: bool) -> None:
    mesh = tube(duct.rings(), closed=closed)
    assert len(mesh.faces) >= 100_000
    done = sliced(mesh, tmp_path)
    assert areas(done) == pytest.approx(duct.area_at(places(done)), rel=3e-3)
    assert duct.off_line(places(done)) < 0.2
    assert done.sections.stations[-1].distance_mm == pytest.approx(duct.length, abs=0.2)
    assert lofted_mm3(done) == pytest.approx(duct.volume, rel=5e-3)
    # what facets and thinning leave of it is on the low side and far smaller
    facets = 1.0 - np.sin(2.0 * pi / CORNERS) / (2.0 * pi / CORNERS)
    thinned = 2.0 / 3.0 * 0.005 * 2.0 / 20.0  # two thirds of the error, all round
    assert np.all(areas(done) / duct.area_at(places(done)) > 1.0 - 2.0 * (facets + thinned))


def bend_between_legs(bend_radius: float, leg: float = 50.0, small: float = 20.0) -> Duct:
    """Return a quarter bend with a straight leg before and after it, where the line's curvature jumps."""
    turn = 0.5 * pi

    def line(s: np.ndarray) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
        pitch = np.clip((s - leg) / bend_radius, 0.0, turn)
        y = np.minimum(s, leg) + bend_radius * np.sin(pitch)
        z = bend_radius * (np.cos(pitch) - 1.0) - np.maximum(s - leg - bend_radius * turn, 0.0)
        return y, z, pitch

    return Duct(2.0 * leg + bend_radius * turn, line, lambda s: np.full_like(s, small))


@pytest.mark.parametrize(("share", "noise"), [(0.6, 0.0), (0.75, 0.0), (0.75, 0.05), (1.5, 0.0)])
def test_the_line_keeps_to_a_tight_bend_where_it_meets_straight_legs(
    tmp_path: Path, share: float, noise: float
) -> None:
    """``share`` is the bend's radius over the bore's diameter; R/D 1 is a short-radius elbow."""
    duct = bend_between_legs(share * 40.0)
    done = sliced(tube(duct.rings(noise=noise), closed=False), tmp_path)
    assert duct.off_line(places(done)) < 0.1
    assert done.sections.stations[-1].distance_mm == pytest.approx(duct.length, abs=0.1)
    assert lofted_mm3(done) == pytest.approx(duct.volume, rel=1e-3)


@pytest.mark.parametrize("duct", [bend(), s_duct()], ids=["bend", "S-duct"])
def test_noise_adds_hardly_a_station(tmp_path: Path, duct: Duct) -> None:
    counts = []
    for k, noise in enumerate((0.0, 0.05, 0.2)):
        mesh = tube(duct.rings(noise=noise, seed=3), closed=False)
        counts.append(len(sliced(mesh, tmp_path / str(k)).sections.stations))
    assert max(counts) <= counts[0] + 2


def damaged(duct: Duct, seed: int) -> trimesh.Trimesh:
    """Return a scan of a duct as bad as they come: noise, holes, flips, doubles, empty triangles and debris."""
    random = np.random.default_rng(seed)
    mesh = tube(duct.rings(noise=0.05, seed=seed), closed=False)
    points, faces = mesh.vertices, np.array(mesh.faces)
    middle = mesh.triangles_center
    keep = np.ones(len(faces), dtype=bool)
    for centre in middle[random.integers(0, len(faces), 12)]:
        keep &= np.linalg.norm(middle - centre, axis=1) > random.uniform(1.0, 5.0)
    faces = faces[keep]
    turned = random.random(len(faces)) < 0.1
    faces[turned] = faces[turned, ::-1]
    doubled = faces[random.integers(0, len(faces), 2000)]
    empty = faces[random.integers(0, len(faces), 500)][:, [0, 1, 1]]
    parts = [faces, doubled, empty]
    for _ in range(10):
        ball = trimesh.creation.icosphere(2, radius=random.uniform(0.5, 3.0))
        parts.append(np.asarray(ball.faces) + len(points))
        at = points[random.integers(0, len(points))] + random.normal(0.0, 6.0, 3)
        points = np.concatenate([points, ball.vertices + at])
    faces = random.permutation(np.concatenate(parts))
    return trimesh.Trimesh(points, faces, process=False)


@pytest.mark.parametrize(
    ("duct", "seed"),
    [(bend(), 1), (bend(), 6), (s_duct(), 2)],
    ids=["bend", "bend with a bite out of its end", "S-duct"],
)
def test_a_bad_scan_still_gives_every_section_and_tells_what_was_mended(tmp_path: Path, duct: Duct, seed: int) -> None:
    done = sliced(damaged(duct, seed), tmp_path)
    assert areas(done) == pytest.approx(duct.area_at(places(done)), rel=3e-3)
    assert duct.off_line(places(done)) < 0.2
    assert done.sections.stations[-1].distance_mm == pytest.approx(duct.length, abs=0.05)
    assert lofted_mm3(done) == pytest.approx(duct.volume, rel=2e-3)
    said = " ".join(f"{n.field} {n.found}" for n in done.notes)
    for word in (
        "2000 triangles there twice",
        "500 triangles of no area",
        "open edges",
        "winding is mixed",
        "pieces",
    ):
        assert word in said
    gaps = [s for s in done.sections.stations if any(g.width_mm >= 0.05 for g in s.section.gaps)]
    for station in gaps:
        assert f"plane at {station.distance_mm:.2f} mm" in said


def test_a_plane_where_nothing_can_be_closed_is_named_and_nothing_is_written(tmp_path: Path) -> None:
    duct = bend()
    mesh = tube(duct.rings(), closed=False)
    turn = np.arctan2(mesh.triangles_center[:, 1], mesh.triangles_center[:, 2] + 60.0)
    outer = np.hypot(mesh.triangles_center[:, 1], mesh.triangles_center[:, 2] + 60.0) > 60.0
    torn = (np.abs(turn - radians(45.0)) < radians(4.0)) & outer
    mesh.update_faces(~torn)
    line = tmp_path / "line.csv"
    y, z, _ = duct.line(np.linspace(0.0, duct.length, 50))
    line.write_text("x,y,z\n" + "".join(f"0,{a:.6f},{b:.6f}\n" for a, b in zip(y, z, strict=True)), encoding="utf-8")
    at = tuple(np.linspace(0.0, duct.length, 13))
    with pytest.raises(JobError, match="plane at") as error:
        sliced(mesh, tmp_path, path_file=line, entry=None, into=None, stations=at)
    assert [f.field for f in error.value.faults] == [f"plane at {at[6]:.2f} mm"]
    assert "percent of its length" in error.value.faults[0].found
    assert not (tmp_path / "job").exists()
    rest = sliced(mesh, tmp_path, path_file=line, entry=None, into=None, stations=at[:6] + at[7:])
    assert areas(rest) == pytest.approx(pi * 20.0**2, rel=3e-3)


@pytest.fixture(scope="module")
def pair() -> dict[str, LoftedPort]:
    return {p.port.name: p for p in loft_job(read_job(ROOT / "examples" / "workshop-pair"))}


def bridged_roof(port: LoftedPort) -> Roof:
    limits = read_job(ROOT / "examples" / "workshop-pair").limits
    return roof(port, port.cast, wanted_port(port, None, limits=limits), limits)


@pytest.mark.parametrize("how", ["path as it was", "path found"])
def test_the_example_port_meshed_and_sliced_again_keeps_its_volume_and_its_boss(
    tmp_path: Path, pair: dict[str, LoftedPort], how: str
) -> None:
    port = pair["2"]
    solid = solid_of(port.cast.surface)
    asked: dict[str, object] = {
        "entry": (94.0, 0.0, 60.0),
        "into": (0.0, np.cos(radians(3.0)), -np.sin(radians(3.0))),
    }
    if how == "path as it was":
        asked = {"like": ROOT / "examples" / "workshop-pair", "entry": None, "into": None}
    done = sliced(trimesh.Trimesh(solid.vertices_mm, solid.faces, process=False), tmp_path, port="2", **asked)
    again = loft_job(read_job(done.written.folder))[0]
    assert float(again.cast.surface.volume_mm3.sum()) == pytest.approx(
        float(port.cast.surface.volume_mm3.sum()), rel=3e-3
    )
    before, after = bridged_roof(port), bridged_roof(again)
    assert after.peak.proud_mm == pytest.approx(before.peak.proud_mm, abs=0.1)
    assert after.peak.distance_mm == pytest.approx(before.peak.distance_mm, abs=1.5)


def test_the_scan_of_the_example_lands_on_the_same_answers(tmp_path: Path, pair: dict[str, LoftedPort]) -> None:
    """Its noise is 0.05 mm, it stops short of both ends, and it has four holes."""
    asked = Asked(
        mesh=ROOT / "meshes" / "workshop-scan.ply",
        mesh_units="mm",
        folder=tmp_path / "job",
        head_frame=True,
        like=ROOT / "examples" / "workshop-pair",
        port="2",
    )
    done = slice_mesh(asked)
    again, port = loft_job(read_job(done.written.folder))[0], pair["2"]
    measured = np.array([r.outline.area_mm2 for r in port.cast.stage.sections.rows])
    assert areas(done) == pytest.approx(measured, rel=5e-3)
    volumes = [float(p.cast.surface.volume_mm3.sum()) for p in (again, port)]
    assert volumes[0] == pytest.approx(volumes[1], rel=3e-3)
    before, after = bridged_roof(port), bridged_roof(again)
    assert after.peak.proud_mm == pytest.approx(before.peak.proud_mm, abs=0.2)  # four times the noise
    assert len(after.bulges) == len(before.bulges) == 1
    assert after.bulges[0].volume_mm3 == pytest.approx(before.bulges[0].volume_mm3, rel=0.1)
    assert sum("the mesh is not whole there" in n.found for n in done.notes) == 2
    kept = read_job(ROOT / "examples" / "workshop-sliced").ports[0].stages[0].sections.rows
    assert [r.distance_mm for r in kept] == [s.distance_mm for s in done.sections.stations]
    # the last digit may fall the other way on another machine
    assert areas(done) == pytest.approx([r.outline.area_mm2 for r in kept], rel=1e-5)
