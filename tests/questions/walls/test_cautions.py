"""What is told besides the verdict: hardly any metal, opened holes, threads, wander, wrong places, bad meshes."""

from __future__ import annotations

import numpy as np
import pytest
import trimesh

from portgeom.job.values import Hazard
from portgeom.questions.walls.cautions import cautions


def kinds(made, surface=None) -> list[str]:
    return [c.kind for c in cautions(made.walls(surface))]


@pytest.mark.parametrize(
    ("density", "wall", "told"), [(7.2, 0.9, True), (7.2, 1.1, False), (2.7, 1.4, True), (2.7, 1.6, False)]
)
def test_under_1_mm_of_iron_or_1_5_of_aluminium_is_told(hazarded, hole, density, wall, told) -> None:
    # the job's own limit is lower still: what is sound in the material is told whatever it says
    made = hazarded(hole((0, 30, 15.0 + wall), (0, 30, 60)), min_wall=0.5, density=density)
    assert kinds(made) == (["hardly any metal"] if told else [])


def test_a_cut_over_an_opened_hole_is_told_from_where_to_where(hazarded, hole) -> None:
    made = hazarded(hole((0, 30, 12), (0, 30, 60), open_allowed=True))
    (caution,) = cautions(made.walls())
    assert caution.kind == "interrupted cut"
    assert caution.stretch.from_mm == pytest.approx(24.5, abs=0.5)
    assert caution.stretch.to_mm == pytest.approx(35.5, abs=0.5)


def test_a_thread_broken_into_is_told(hazarded, hole) -> None:
    made = hazarded(hole((0, 30, 45), (0, 30, 10), thread_to_mm=32.0))
    assert kinds(made) == ["interrupted cut", "thread left"]


@pytest.mark.parametrize(("wall", "told"), [(2.9, []), (3.1, ["wander"]), (3.9, ["wander"]), (4.1, [])])
def test_a_side_wall_within_1_mm_of_its_limit_is_told(hazarded, hole, wall, told) -> None:
    assert kinds(hazarded(hole((26.0 + wall, 30, -30), (26.0 + wall, 30, 30), 12.0))) == told


def test_a_roof_within_1_mm_of_its_limit_is_not_wander(hazarded, hole) -> None:
    assert kinds(hazarded(hole((0, 30, 18.5), (0, 30, 60)))) == []


def test_a_hazard_in_the_passage_is_told_as_a_wrong_place(hazarded, hole) -> None:
    assert kinds(hazarded(hole((0, 30, 0), (0, 32, 1), 3.0))) == ["in the passage"]


def test_a_mesh_that_is_open_or_inside_out_is_told(hazarded, tmp_path) -> None:
    box = trimesh.creation.box(extents=(20.0, 20.0, 4.0))
    box.apply_translation([0.0, 30.0, 22.0])
    holed = trimesh.Trimesh(box.vertices, box.faces[:-1], process=False)
    turned = trimesh.Trimesh(box.vertices, box.faces[:, ::-1], process=False)
    holed.export(tmp_path / "holed.stl")
    turned.export(tmp_path / "turned.stl")
    files = (Hazard(name, "mesh", file=f"{name}.stl") for name in ("holed", "turned"))
    made = hazarded(*files, folder=tmp_path)
    assert kinds(made) == ["no inside", "turned"]
    holed_wall, turned_wall = made.walls().walls
    assert holed_wall.least.wall_mm == pytest.approx(5.0, abs=1e-5)  # an STL holds single precision
    assert turned_wall.least.wall_mm == pytest.approx(5.0, abs=1e-5)
    assert np.isnan(holed_wall.open_area_mm2)
