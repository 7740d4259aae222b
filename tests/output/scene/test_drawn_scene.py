"""A picture comes out at the size asked for, the same each time, and says what it shows."""

from __future__ import annotations

import io

import pytest
from PIL import Image

from portgeom.output.charts.figures import look
from portgeom.output.scene.drawn_scene import draw_scene, drawn_picture
from portgeom.output.scene.hazard_shapes import hazard_shapes
from portgeom.output.scene.port_scene import port_scene, wall_scene
from portgeom.output.scene.projection import VIEW_NAMES, VIEWS
from portgeom.questions.walls.behind import behind
from portgeom.questions.walls.walls import wall_map, walls


@pytest.mark.parametrize(("view", "size"), [("roof", (900, 585)), ("side", (640, 480)), ("seat", (400, 700))])
def test_picture_has_the_size_asked_for(boss, view, size):
    made = drawn_picture(port_scene(boss.answers[0], "mm"), view=view, size=size)
    with Image.open(io.BytesIO(made)) as image:
        assert (image.format, image.size) == ("PNG", size)


def test_same_scene_makes_the_same_bytes(boss):
    scene = port_scene(boss.answers[0], "mm")
    assert drawn_picture(scene, size=(450, 300)) == drawn_picture(scene, size=(450, 300))


@pytest.mark.parametrize("view", VIEW_NAMES)
def test_picture_says_what_it_shows_in_every_view(pair, view):
    with look():
        figure = draw_scene(port_scene(pair.answers[1], "mm"), VIEWS[view])
    words = [t.get_text() for axes in figure.axes for t in axes.texts] + [t.get_text() for t in figure.texts]
    assert "Port 2, as cast" in words
    assert any(VIEWS[view].words in w for w in words)
    assert any("above the line: metal to take off" in w and w.startswith("roof peak: 6.0 mm") for w in words)


def test_station_names_stay_apart(pair):
    with look():
        figure = draw_scene(port_scene(pair.answers[1], "mm"), VIEWS["side"])
        figure.canvas.draw()
    names = {r.station for r in port_scene(pair.answers[1], "mm").rings}
    boxes = [t.get_window_extent() for t in figure.axes[0].texts if t.get_text() in names]
    assert len(boxes) >= 10
    assert not any(a.overlaps(b) for k, a in enumerate(boxes) for b in boxes[:k])


@pytest.fixture(scope="module")
def walled(pair):
    answer = pair.answers[1]
    hazards, surface = behind(pair.job, answer.port), answer.removal.after
    found = walls(answer.port, surface, "target", hazards)
    return wall_scene(answer, "mm", found, wall_map(surface, hazards), hazard_shapes(hazards, surface, pair.job.folder))


def test_picture_of_walls_says_what_its_colours_mean_and_which_wall_is_thinnest(walled):
    with look():
        figure = draw_scene(walled, VIEWS["roof"])
    words = [t.get_text() for axes in figure.axes for t in axes.texts] + [t.get_text() for t in figure.texts]
    words += [axes.get_xlabel() for axes in figure.axes]
    assert "Port 2, target" in words
    assert any(w.startswith("thinnest wall: 1.7 mm to bolt hole") for w in words)
    assert "metal left behind the wall, mm; the colour turns at the limit, 3 mm" in words
    assert {"open", "15 or more, or nothing named"} <= set(words)


@pytest.mark.parametrize("view", ["roof", "left", "side"])
def test_names_of_what_lies_behind_stay_apart_from_each_other_and_from_stations(walled, view):
    with look():
        figure = draw_scene(walled, VIEWS[view])
        figure.canvas.draw()
    names = {s.name for s in walled.shapes}
    stations = {r.station for r in walled.rings}
    told = [t for t in figure.axes[0].texts if t.get_text() in names]
    others = [t for t in figure.axes[0].texts if t.get_text() in stations]
    assert {t.get_text() for t in told} == names
    boxes = [t.get_window_extent() for t in told]
    assert not any(a.overlaps(b) for k, a in enumerate(boxes) for b in boxes[:k])
    assert not any(a.overlaps(t.get_window_extent()) for a in boxes for t in others)
