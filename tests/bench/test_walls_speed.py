"""How long walls take: eight ports after three passes, against cells, and against a mesh of 50,000 triangles.

Run by hand: ``pytest -o addopts=--import-mode=importlib tests/bench/test_walls_speed.py -s``.
"""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from time import perf_counter

import numpy as np
import pytest
import trimesh

from portgeom.geometry.chart import Resolution
from portgeom.geometry.moments import Moments
from portgeom.geometry.shapes import CornerRadii, rectangle
from portgeom.geometry.surface import Surface, with_distances
from portgeom.job.values import Hazard, Job, Port, SectionTable, Stage, StationRow
from portgeom.model.lofted import LoftedPort, loft_job
from portgeom.questions.walls.behind import behind
from portgeom.questions.walls.walls import walls

BOX = rectangle(40.0, 30.0, CornerRadii(8.0, 8.0, 8.0, 8.0))
TRIANGLES = 50_000


def made(hazards: tuple[Hazard, ...], folder: Path = Path(), *, slab_mm: float = 0.5) -> tuple[Job, LoftedPort]:
    rows = tuple(StationRow(str(k), k, s, 0.0, 0.0, None, None, "", BOX) for k, s in ((1, 0.0), (2, 110.0)))
    port = Port("1", "intake", (Stage("as cast", SectionTable("c.csv", rows)),), position_mm=np.zeros(3))
    job = Job(folder, "t", "mm", "grey iron", 7.2, (port,), hazards=hazards, min_wall_mm=3.0)
    return job, loft_job(job, resolution=Resolution(slab_mm=slab_mm))[0]


def raised(port: LoftedPort, by_mm: float, from_mm: float, to_mm: float) -> Surface:
    chart, surface = port.chart, port.cast.surface
    rho = surface.rho_mm.copy()
    rho[(chart.distance_mm >= from_mm) & (chart.distance_mm <= to_mm), chart.rays.up] += by_mm
    return with_distances(surface, rho, Moments(np.zeros(len(rho)), np.zeros((len(rho), 2))))


def holes() -> tuple[Hazard, ...]:
    def hole(name: str, start, end, diameter: float) -> Hazard:
        return Hazard(name, "cylinder", start_mm=np.array(start), end_mm=np.array(end), diameter_mm=diameter)

    return (
        hole("bolt", [0.0, 40.0, 20.0], [0.0, 40.0, 60.0], 11.0),
        hole("pushrod", [30.0, 45.0, -40.0], [28.0, 45.0, 40.0], 12.0),
        hole("spring seat", [0.0, 85.0, 24.0], [0.0, 84.0, 32.0], 34.0),
        Hazard("rail", "plane", point_mm=np.array([0.0, 0.0, 33.0]), normal=np.array([0.0, 0.0, 1.0])),
    )


def least_seconds(call: Callable[[], object], times: int = 3) -> float:
    spent = []
    for _ in range(times):
        start = perf_counter()
        call()
        spent.append(perf_counter() - start)
    return min(spent)


def jacket(folder: Path) -> trimesh.Trimesh:
    """Water all round the port for 60 mm of it, 2 mm behind its corners, in 50,000 triangles."""
    water = trimesh.creation.torus(30.0, 6.0, major_sections=250, minor_sections=100)
    water.apply_transform(trimesh.transformations.rotation_matrix(0.5 * np.pi, [1.0, 0.0, 0.0]))
    water.apply_scale([1.0, 5.0, 1.0])
    water.apply_translation([0.0, 55.0, 0.0])
    water.export(folder / "water.ply")
    return water


def test_eight_ports_after_three_passes_take_less_than_three_seconds() -> None:
    job, port = made(holes())
    stages = [raised(port, by, 20.0, 60.0) for by in (1.0, 2.0, 2.5)]

    def every_pass() -> None:
        hazards = behind(job, port)
        last = walls(port, port.cast.surface, "as cast", hazards)
        for k, surface in enumerate(stages, 1):
            last = walls(port, surface, f"after pass {k}", hazards, earlier=last)

    spent = 8 * least_seconds(every_pass)
    print(f"\neight ports, as cast and after three passes, four hazards: {spent:.2f} s")
    assert spent < 3.0


def test_the_time_grows_no_faster_than_the_cells() -> None:
    spent, cells = [], []
    for slab in (1.0, 0.5, 0.25):
        job, port = made(holes(), slab_mm=slab)
        hazards = behind(job, port)
        spent.append(least_seconds(lambda p=port, h=hazards: walls(p, p.cast.surface, "as cast", h)))
        cells.append(port.cast.surface.rho_mm.size)
    print("\n", [f"{c} cells {1000.0 * s:.1f} ms" for c, s in zip(cells, spent, strict=True)])
    assert spent[-1] / spent[0] < 1.3 * cells[-1] / cells[0]


def test_a_mesh_is_asked_at_least_five_times_faster_than_by_every_cell(tmp_path: Path) -> None:
    pytest.importorskip("rtree")
    mesh = jacket(tmp_path)
    assert len(mesh.faces) == TRIANGLES
    job, port = made((Hazard("water", "mesh", file="water.ply"),), tmp_path)
    start = perf_counter()
    hazards = behind(job, port)
    ready = perf_counter() - start
    surface = port.cast.surface
    spent = least_seconds(lambda: walls(port, surface, "as cast", hazards))
    now = walls(port, surface, "as cast", hazards)
    deeper = raised(port, 0.5, 40.0, 60.0)
    again = least_seconds(lambda: walls(port, deeper, "after", hazards, earlier=now))
    # every cell would take minutes: one in forty, evenly spread, times forty
    nodes = port.chart.planes.world_mm(surface.points_mm).reshape(-1, 3)
    sample = nodes[::40]
    mesh.triangles_tree  # noqa: B018 - built once, not timed
    plain = least_seconds(lambda: trimesh.proximity.closest_point(mesh, sample), 1) * len(nodes) / len(sample)
    print(
        f"\n{len(mesh.faces)} triangles, {len(nodes)} cells: ready in {ready:.2f} s, walls {spent:.3f} s, after a cut "
        f"{again:.3f} s, every cell plainly {plain:.1f} s: {plain / (ready + spent):.0f} times"
    )
    assert plain > 5.0 * (ready + spent)
    _, away, _ = trimesh.proximity.closest_point(mesh, sample)
    assert now.walls[0].least.wall_mm <= away.min() + 1e-6
