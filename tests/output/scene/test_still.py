"""The still picture covers what the port's outline does, in the scale's colours, and its words stay in it."""

from __future__ import annotations

import numpy as np
import pytest
from shapely import Polygon, union_all

from portgeom.output.charts.sheet import Painting, Words
from portgeom.output.scene.port_scene import port_scene, wall_scene
from portgeom.output.scene.projection import VIEWS
from portgeom.output.scene.still import HEAD, ROOM, TALL, WIDE, still


@pytest.fixture(scope="module")
def scene(boss):
    return port_scene(boss.answers[0], "mm")


def painting(drawn):
    return next(m for m in drawn.marks if isinstance(m, Painting) and m.photo)


@pytest.mark.parametrize("view", ["roof", "side", "left"])
def test_it_covers_the_area_of_the_ports_outline(scene, view):
    at = VIEWS[view].project(scene.skin_mm[::4, ::4])[..., :2]
    beside = np.roll(at, -1, axis=1)
    cells = np.stack([at[:-1], at[1:], beside[1:], beside[:-1]], axis=2).reshape(-1, 4, 2)
    outline = union_all([p for p in map(Polygon, cells) if p.is_valid and p.area > 0.0])
    image = painting(still(scene, view=view))
    seen = (image.pixels.astype(int) < 250).any(axis=2).sum()
    pixel = (image.high[0] - image.low[0]) / image.pixels.shape[1]
    # the frame takes the lines that lie on the skin into account too
    flat = VIEWS[view].project(np.concatenate([scene.skin_mm.reshape(-1, 3), scene.line_mm]))[:, :2]
    scale = min(WIDE / (ROOM * np.ptp(flat[:, 0])), TALL / (ROOM * np.ptp(flat[:, 1])))
    assert seen * pixel**2 == pytest.approx(outline.area * scale**2, rel=0.04)


def test_the_deepest_dent_has_the_darkest_colour_of_the_scale(scene):
    image = painting(still(scene, view="roof"))
    top = scene.scale.ramp.rgb(np.array([scene.scale.high]))[0].astype(float)
    colour = image.pixels.reshape(-1, 3).astype(float)
    # in shade and light a colour keeps its hue: how red it is to how blue
    warm = colour[(colour[:, 0] > 60.0) & (colour[:, 0] > colour[:, 2] + 60.0)]
    assert (warm[:, 0] / (warm[:, 2] + 1.0)).max() > 0.5 * top[0] / (top[2] + 1.0)


def test_every_word_lies_in_the_picture_and_under_no_other_over_it(scene, drilled, cut):
    cutting = cut(drilled)[0]
    behind = wall_scene(drilled.answers[0], "mm", cutting.finished, cutting.finished_map(), ())
    for drawn in (still(scene), still(behind, view="left")):
        for words in (m for m in drawn.marks if isinstance(m, Words)):
            half = {"start": 0.0, "middle": 0.5, "end": 1.0}[words.anchor] * words.width
            assert words.at[0] - half >= -1.0, words.text
            assert words.at[0] - half + words.width <= WIDE + 25.0, words.text
        head = [m for m in drawn.marks if isinstance(m, Words) and m.at[1] < HEAD - 12.0]
        assert len(head) == 2


def test_it_is_the_same_each_time(scene):
    first, again = painting(still(scene)), painting(still(scene))
    np.testing.assert_array_equal(first.pixels, again.pixels)
