"""The drawn picture holds true to geometry: its silhouette, and which side of the metal is seen."""

from __future__ import annotations

import numpy as np
import pytest

from portgeom.output.figures import look, new_figure
from portgeom.output.painted import hidden, painted
from portgeom.output.port_scene import port_scene
from portgeom.output.projection import VIEWS

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


def test_outer_side_of_the_near_wall_hides_the_inner_side_of_the_far_one(box):
    pieces = painted(port_scene(box.answers[0], "mm"), VIEWS["side"], lines=False)
    holding = (pieces.quads_mm.min(axis=1) <= (50.3, 0.3)).all(axis=1)
    holding &= (pieces.quads_mm.max(axis=1) >= (50.3, 0.3)).all(axis=1)
    first, last = np.flatnonzero(holding)[[0, -1]]
    # lit from the front, the outer side is the brighter
    assert pieces.colours[last, :3].sum() > pieces.colours[first, :3].sum()


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
