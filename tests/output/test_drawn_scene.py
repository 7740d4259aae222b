"""A picture comes out at the size asked for, the same each time, and says what it shows."""

from __future__ import annotations

import io

import numpy as np
import pytest
from PIL import Image

from portgeom.output.drawn_scene import draw_scene, drawn_for_page, drawn_picture
from portgeom.output.figures import look
from portgeom.output.port_scene import port_scene
from portgeom.output.projection import VIEW_NAMES, VIEWS


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


def test_page_picture_shows_the_same_as_the_png(boss):
    scene = port_scene(boss.answers[0], "mm")
    page = drawn_for_page(scene, size=(900, 585))
    with (
        Image.open(io.BytesIO(page.data)) as small,
        Image.open(io.BytesIO(drawn_picture(scene, size=(900, 585)))) as whole,
    ):
        assert small.get_format_mimetype() == page.media_type
        difference = np.asarray(small.convert("RGB"), float) - np.asarray(whole.convert("RGB"), float)
    assert np.abs(difference).mean() < 2.0
    assert len(page.data) < 100_000
