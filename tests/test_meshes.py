"""The reference meshes: made again to the byte, closed, and of the volume their formulas give."""

from __future__ import annotations

import subprocess
import sys
from math import pi
from pathlib import Path

import numpy as np
import pytest
import trimesh

from portgeom.geometry.surface import Surface
from portgeom.job.read import read_job
from portgeom.model.lofted import loft_job

MESHES = Path(__file__).parents[1] / "meshes"
JOB = MESHES.parent / "examples" / "workshop-pair"
SCRIPTS = {
    "analytic-bend.ply": "make_analytic_bend.py",
    "s-duct.ply": "make_s_duct.py",
    "workshop-scan.ply": "make_workshop_scan.py",
}
MOST_BYTES = 400_000
FLOAT32 = float(np.finfo(np.float32).eps)


def load(name: str) -> trimesh.Trimesh:
    # process=False: nothing is merged or dropped, so what is asserted holds of the file itself
    return trimesh.load_mesh(MESHES / name, process=False)


@pytest.mark.parametrize("name", SCRIPTS)
def test_its_script_makes_the_same_bytes_again(name: str, tmp_path: Path) -> None:
    again = tmp_path / name
    subprocess.run([sys.executable, MESHES / SCRIPTS[name], again], check=True)
    assert again.read_bytes() == (MESHES / name).read_bytes()


@pytest.mark.parametrize("name", SCRIPTS)
def test_it_is_small_enough_to_keep_in_the_repository(name: str) -> None:
    assert (MESHES / name).stat().st_size < MOST_BYTES


@pytest.mark.parametrize("name", ["analytic-bend.ply", "s-duct.ply"])
def test_a_closed_mesh_is_a_volume_with_normals_outwards(name: str) -> None:
    mesh = load(name)
    assert mesh.is_watertight
    assert mesh.is_winding_consistent
    assert mesh.volume > 0.0
    assert mesh.euler_number == 2


def test_the_bend_has_the_volume_of_pappus_less_its_chords() -> None:
    # Pappus: pi r^2 along the centroid's arc. A polygon of n corners holds sin(x)/x of its circle,
    # x = 2 pi/n, and flat walls between rings 2 degrees apart sin(y)/y of the arc, y = 2 degrees.
    x, y = 2.0 * pi / 96, pi / 2.0 / 45
    whole = pi * 20.0**2 * 60.0 * pi / 2.0
    assert load("analytic-bend.ply").volume == pytest.approx(whole * np.sin(x) / x * np.sin(y) / y, rel=4.0 * FLOAT32)


def test_the_bend_lies_in_the_head_frame() -> None:
    low, high = load("analytic-bend.ply").bounds
    assert low == pytest.approx([-20.0, 0.0, -60.0], abs=80.0 * FLOAT32)
    assert high == pytest.approx([20.0, 80.0, 20.0], abs=80.0 * FLOAT32)


def test_the_s_duct_has_the_volume_of_its_formula_less_its_chords() -> None:
    r1, k = 102.1, 125.7 / 102.1 - 1.0
    mean_square = 1.0 + k + 13.0 / 35.0 * k**2  # of r / r1 along the line
    whole = pi * r1**2 * 1021.0 * (pi / 3.0) * mean_square
    x, y, h = 2.0 * pi / 64, pi / 180.0, 1.0 / 60.0
    short = 1.0 - load("s-duct.ply").volume / (whole * np.sin(x) / x)
    # Rings a degree apart cut y^2/6 off the arcs. Straight walls between them replace r^2 by less, in all
    # h^2/6 times the integral of r'^2 (by parts, r' being zero at both ends): 36/30 k^2 r1^2.
    assert short == pytest.approx(y**2 / 6.0 + h**2 / 6.0 * 1.2 * k**2 / mean_square, rel=0.01)


def test_the_s_duct_closes_on_the_figures_printed_with_it() -> None:
    # Wellborn, Reichert and Okiishi 1994: area ratio 1.52, offset 1.34 and length 5.24 inlet diameters
    mesh = load("s-duct.ply")
    rings = mesh.vertices[:-2].reshape(61, 64, 3)
    centre = rings.mean(axis=1)
    diameter = np.linalg.norm(rings - centre[:, None], axis=2).mean(axis=1) * 2.0
    assert (diameter[-1] / diameter[0]) ** 2 == pytest.approx(1.52, abs=0.005)
    assert (centre[0] - centre[-1])[2] / diameter[0] == pytest.approx(1.34, abs=0.005)
    length = np.linalg.norm(np.diff(centre, axis=0), axis=1).sum() / diameter[0]
    assert length == pytest.approx(5.24, abs=0.005)


def open_edges(mesh: trimesh.Trimesh) -> np.ndarray:
    """Return (k, 2), the edges that only one triangle has."""
    return mesh.edges[trimesh.grouping.group_rows(mesh.edges_sorted, require_count=1)]


def port_2() -> Surface:
    return next(p for p in loft_job(read_job(JOB)) if p.port.name == "2").cast.surface


def test_the_scan_is_one_sheet_open_at_both_ends_with_four_holes() -> None:
    mesh = load("workshop-scan.ply")
    assert mesh.is_winding_consistent
    assert mesh.body_count == 1
    rims = trimesh.graph.connected_components(open_edges(mesh))
    assert len(rims) == 2 + 4


def test_the_scan_closed_by_fans_holds_the_port_s_volume_with_normals_outwards() -> None:
    mesh = load("workshop-scan.ply")
    edges, points, faces = open_edges(mesh), [mesh.vertices], [mesh.faces]
    for number, rim in enumerate(trimesh.graph.connected_components(edges)):
        here = edges[np.isin(edges[:, 0], rim)]
        points.append(mesh.vertices[rim].mean(axis=0)[None])
        faces.append(np.column_stack([here[:, ::-1], np.full(len(here), len(mesh.vertices) + number)]))
    closed = trimesh.Trimesh(np.concatenate(points), np.concatenate(faces), process=False)
    assert closed.is_watertight
    # the port less about 1 mm at the face and 1 to 3 mm at the throat; triangles 2.6 mm long cut at most
    # 0.08 mm off an 11 mm corner, under 0.5 percent in all
    whole = float(port_2().volume_mm3.sum())
    assert whole - 1967.0 * 1.5 - 1661.0 * 3.5 - 0.005 * whole < closed.volume < whole


def test_the_scan_s_points_lie_about_the_port_s_surface_with_the_noise_it_states() -> None:
    from scipy.spatial import cKDTree

    surface = port_2()
    grid = surface.chart.planes.world_mm(surface.points_mm)
    normal = np.cross(np.gradient(grid, axis=1), np.gradient(grid, axis=0)).reshape(-1, 3)
    normal /= np.linalg.norm(normal, axis=1, keepdims=True)
    seen = load("workshop-scan.ply").vertices
    _, nearest = cKDTree(grid.reshape(-1, 3)).query(seen)
    off = np.einsum("ij,ij->i", seen - grid.reshape(-1, 3)[nearest], normal[nearest])
    # Of n normal errors the mean scatters by sd / sqrt(n) and the sd by sd / sqrt(2 n): four of each. A
    # point is up to half a grid step, 0.4 mm, from its nearest: 0.4^2 / 2 / 11 mm of sagitta at a corner.
    sd, n, sagitta = 0.05, len(seen), 0.4**2 / 2.0 / 11.0
    assert abs(off.mean()) < 4.0 * sd / np.sqrt(n) + sagitta
    assert abs(off.std() - sd) < 4.0 * sd / np.sqrt(2.0 * n) + sagitta


def test_the_scan_is_finer_over_the_boss() -> None:
    mesh = load("workshop-scan.ply")
    into_port = mesh.triangles_center[:, 1]
    boss = (into_port > 30.0) & (into_port < 55.0)
    entry = into_port < 20.0
    assert np.median(mesh.area_faces[entry]) > 3.0 * np.median(mesh.area_faces[boss])
