"""The drawn picture holds true to geometry: its silhouette, and which side of the metal is seen."""

from __future__ import annotations

import numpy as np
import pytest
from matplotlib.colors import to_rgb

from portgeom.output.charts.chart_style import STYLE
from portgeom.output.charts.figures import look, new_figure
from portgeom.output.charts.wall_scale import THIN
from portgeom.output.scene.hazard_shapes import hazard_shapes
from portgeom.output.scene.painted import hidden, painted
from portgeom.output.scene.port_scene import port_scene, wall_scene
from portgeom.output.scene.projection import VIEWS
from portgeom.questions.states import state_after

MM_PER_PIXEL = 0.25


def pixels(pieces):
    """Return the picture (rows, columns, 3) of painted pieces alone, at a known scale."""
    from matplotlib.collections import PolyCollection

    low, high = pieces.quads_mm.min(axis=(0, 1)) - 2.0, pieces.quads_mm.max(axis=(0, 1)) + 2.0
    wide, tall = np.ceil((high - low) / MM_PER_PIXEL)
    with look():
        figure = new_figure(wide / 100.0, tall / 100.0)
        axes = figure.add_axes((0.0, 0.0, 1.0, 1.0))
        axes.set_axis_off()
        axes.set_xlim(low[0], low[0] + wide * MM_PER_PIXEL)
        axes.set_ylim(low[1], low[1] + tall * MM_PER_PIXEL)
        axes.add_collection(
            PolyCollection(pieces.quads_mm, facecolors=pieces.colours, edgecolors=pieces.colours, linewidths=0.2),
            autolim=False,
        )
        figure.set_dpi(100)
        figure.canvas.draw()
        return np.asarray(figure.canvas.buffer_rgba())[..., :3]


def silhouette_mm2(picture):
    return float((picture.min(axis=2) < 250).sum()) * MM_PER_PIXEL**2


@pytest.mark.parametrize("view", ["roof", "side", "seat"])
def test_silhouette_of_a_box_is_its_projected_area(box, view):
    # a convex body casts the sum over the faces that are seen: 40 x 50 x 100
    out = np.abs(VIEWS[view].axes()[2])
    area = out @ (50.0 * 100.0, 40.0 * 50.0, 40.0 * 100.0)
    pieces = painted(port_scene(box.answers[0], "mm"), VIEWS[view], lines=False)
    assert silhouette_mm2(pixels(pieces)) == pytest.approx(area, rel=0.02)


def test_silhouette_of_a_bend_from_the_side_is_a_sector_of_a_ring(bend):
    # a quarter turn of a 50 mm high section round 80 mm
    area = np.pi / 2.0 * 80.0 * 50.0
    pieces = painted(port_scene(bend.answers[0], "mm"), VIEWS["side"], lines=False)
    assert silhouette_mm2(pixels(pieces)) == pytest.approx(area, rel=0.02)


def test_near_wall_hides_the_inner_side_of_the_far_one(box):
    pieces = painted(port_scene(box.answers[0], "mm"), VIEWS["side"], lines=False)
    holding = (pieces.quads_mm.min(axis=1) <= (50.3, 0.3)).all(axis=1)
    holding &= (pieces.quads_mm.max(axis=1) >= (50.3, 0.3)).all(axis=1)
    # the wall faces whoever looks: all of the light is on it
    (seen,) = pieces.colours[holding, :3]
    assert seen.sum() > 0.9 * sum(to_rgb(STYLE.casting))


def test_peak_under_the_roof_is_seen_from_above_and_not_from_below(boss):
    scene = port_scene(boss.answers[0], "mm")
    assert not hidden(scene, VIEWS["roof"], scene.pin.place_mm)
    assert hidden(scene, VIEWS["seat"], scene.pin.place_mm)


def test_roof_is_coloured_by_height_and_the_rest_is_casting(boss):
    scene = port_scene(boss.answers[0], "mm")
    above = scene.skin_mm[..., 2] > 0.0
    assert np.isfinite(scene.value_mm).any()
    assert not np.isfinite(scene.value_mm[~above]).any()
    assert np.nanmax(scene.value_mm) == pytest.approx(boss.answers[0].roof.peak.proud_mm, rel=0.05)


def test_wanted_line_runs_over_the_boss_by_its_height(boss):
    scene = port_scene(boss.answers[0], "mm")
    gap = np.linalg.norm(scene.line_mm - scene.crown_mm, axis=1)
    assert gap.max() == pytest.approx(6.0, abs=0.1)
    assert scene.line_mm[int(np.argmax(gap)), 1] == pytest.approx(50.0, abs=1.0)


@pytest.fixture(scope="module")
def walled(drilled, cut):
    cutting = cut(drilled)[0]
    shapes = hazard_shapes(cutting.hazards[:1], cutting.finished.surface, drilled.job.folder)
    return wall_scene(drilled.answers[0], "mm", cutting.finished, cutting.finished_map(), shapes)


def test_a_hole_over_the_roof_adds_its_own_silhouette(walled):
    pieces = painted(walled, VIEWS["side"])
    # seen from the side: a box 100 by 50, and 7 mm of an 11 mm hole that is drawn to 10 mm and its radius over the roof
    low, high = walled.shapes[0].vertices_mm[:, 2].min(), walled.shapes[0].vertices_mm[:, 2].max()
    picture = pixels(pieces)
    assert silhouette_mm2(picture) == pytest.approx(100.0 * 50.0 + 11.0 * (high - low), rel=0.02)


def test_hole_is_glass_and_its_near_side_only(walled):
    pieces = painted(walled, VIEWS["roof"])
    glass = pieces.colours[pieces.glass]
    assert len(glass) > 0
    assert (glass[:, 3] < 0.5).all()
    assert len(glass) < len(walled.shapes[0].triangles)
    assert not painted(walled, VIEWS["roof"], lines=False).glass.any()


def test_thin_walls_are_dark_where_the_hole_is_and_pale_elsewhere(walled):
    def shade(u, v):
        """Return the colour of the picture at a place of it, in mm."""
        pieces = painted(walled, VIEWS["roof"], lines=False)
        low = pieces.quads_mm.min(axis=1) <= (u, v)
        high = pieces.quads_mm.max(axis=1) >= (u, v)
        return pieces.colours[np.flatnonzero((low & high).all(axis=1))[-1], :3]

    view = VIEWS["roof"]
    under, aside = (view.project(np.array(p))[:2] for p in ((0.0, 50.0, 25.0), (0.0, 10.0, 25.0)))
    assert shade(*under).sum() < 0.6 * shade(*aside).sum()
    # red over blue: the hue that the scale has under the limit
    assert shade(*under)[0] > 2.0 * shade(*under)[2]


def test_shade_does_not_make_a_thick_wall_look_thin(walled):
    pieces = painted(walled, VIEWS["side"], lines=False)
    outer = pieces.colours[-200:, :3]
    assert (outer.sum(axis=1) > sum(to_rgb(THIN))).all()


def test_inner_side_is_painted_only_where_one_looks_in(box):
    scene = port_scene(box.answers[0], "mm")
    inside = painted(scene, VIEWS["entry"], lines=False)
    beside = painted(scene, VIEWS["side"], lines=False)
    # looking in along a straight duct all of its inner side is in line with the mouth, from beside none of it
    assert len(inside.quads_mm) > 0
    assert len(beside.quads_mm) < 0.75 * 79 * 120


def test_roof_after_the_cut_has_the_colour_of_the_line(boss):
    answer = boss.answers[0]
    scene = port_scene(answer, "mm", state_after(boss.job, answer, (), "target"))
    assert np.nanmax(np.abs(scene.value_mm)) < 0.05
    # the scale is that of the port as cast, so that the two pictures compare
    assert scene.scale == port_scene(answer, "mm").scale
    colours, norm = scene.scale.colours()
    np.testing.assert_allclose(colours(norm(0.0))[:3], to_rgb(STYLE.neutral), atol=0.02)
