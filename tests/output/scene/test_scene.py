"""The scene is refused where it cannot be drawn, and true to geometry where it can."""

from __future__ import annotations

import io

import numpy as np
import pytest

from portgeom.output.scene import scene as scenes
from portgeom.output.scene.hazard_shapes import hazard_shapes
from portgeom.output.scene.opengl import OpenGL, OpenGLMissing, probe
from portgeom.output.scene.port_scene import port_scene, wall_scene
from portgeom.output.scene.scene import picture, rendered

NONE = OpenGL(False, "", "the library libEGL.so.1 or libOSMesa.so.8")


def test_picture_is_refused_without_opengl_and_nothing_is_written(boss, tmp_path):
    place = tmp_path / "view.png"
    with pytest.raises(OpenGLMissing, match="this machine lacks the library"):
        picture(port_scene(boss.answers[0], "mm"), place, opengl=NONE)
    assert list(tmp_path.iterdir()) == []


def test_roof_and_rest_are_all_cells_of_the_skin(boss):
    scene = port_scene(boss.answers[0], "mm")
    slabs, rays, _ = scene.skin_mm.shape
    on_roof = np.isfinite(scenes.corners(scene.value_mm)).all(axis=1)
    roof, rest = scenes.part_of(scene, on_roof), scenes.part_of(scene, ~on_roof)
    assert roof.n_cells + rest.n_cells == (slabs - 1) * rays
    assert np.isfinite(roof.point_data["value"]).all()


def test_rendered_silhouette_fills_the_picture_as_the_port_does(box):
    found = probe()
    if not found.usable:
        pytest.skip(f"no OpenGL here: {found.missing}")
    from PIL import Image

    made = rendered(port_scene(box.answers[0], "mm"), view="side", size=(600, 400), opengl=found)
    with Image.open(io.BytesIO(made)) as image:
        assert image.size == (600, 400)
        pixels = np.asarray(image.convert("RGB"))
    # 100 by 50 mm seen flat; half the picture's height is 1.35 x max(25, 50 / 1.5) mm
    per_mm = 200.0 / (1.35 * 50.0 / 1.5)
    middle = (pixels[:, 290:310].min(axis=2) < 240).mean(axis=1) > 0.9
    seen = middle[60:330]
    assert seen.sum() == pytest.approx(50.0 * per_mm, rel=0.04)


def test_rendered_walls_show_the_thin_spot_through_the_hole(drilled, cut):
    found = probe()
    if not found.usable:
        pytest.skip(f"no OpenGL here: {found.missing}")
    from PIL import Image

    cutting = cut(drilled)[0]
    shapes = hazard_shapes(cutting.hazards[:1], cutting.finished.surface, drilled.job.folder)
    scene = wall_scene(drilled.answers[0], "mm", cutting.finished, cutting.finished_map(), shapes)
    with Image.open(io.BytesIO(rendered(scene, size=(600, 400), opengl=found))) as image:
        above_the_bar = np.asarray(image.convert("RGB"), float)[:330]
    red, _, blue = np.moveaxis(above_the_bar, -1, 0)
    thin = (red > 1.6 * blue) & (red < 190.0)
    assert 20 < thin.sum() < 0.05 * thin.size
