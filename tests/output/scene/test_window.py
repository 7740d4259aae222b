"""What the sliders and keys of the window do, off screen: pixels against the area of what should be seen."""

from __future__ import annotations

import numpy as np
import pytest

from portgeom.output.scene import window
from portgeom.output.scene.opengl import OpenGLMissing, off_screen, probe
from portgeom.output.scene.port_scene import port_scene
from portgeom.output.scene.projection import VIEWS
from portgeom.output.scene.window import KEYS, VIEW_KEYS, Shows, Steering, add_controls, named, show_window
from portgeom.questions.states import states

SIZE = (600, 400)
LINES_MM2 = 70.0
"""Lines stand half their width over the edges: some 0.4 mm of 170."""


def shows_of(asked, cut) -> Shows:  # type: ignore[no-untyped-def]
    answer = asked.answers[0]
    every = states(asked.job, answer, cut(asked)[0].hazards)
    return Shows(
        tuple(s.name for s in every),
        lambda k: port_scene(answer, "mm", every[k]),
        answer.port.chart.distance_mm,
        lambda s: f"{s:.1f} mm",
    )


@pytest.fixture
def drawing():  # type: ignore[no-untyped-def]
    found = probe()
    if not found.usable:
        pytest.skip(f"no OpenGL here: {found.missing}")
    with off_screen(found):
        yield


@pytest.fixture
def steering(drilled, cut, drawing):  # type: ignore[no-untyped-def]
    made = Steering(shows_of(drilled, cut), view=VIEWS["side"], hidden=True, size=SIZE, words=False)
    yield made
    made.plotter.close()


def seen_mm2(steering: Steering) -> float:
    """Return the area of what is seen, by counting pixels: half the picture's height is the camera's scale."""
    pixels = np.asarray(steering.plotter.screenshot(None, return_img=True), float)
    per_mm = 0.5 * SIZE[1] / steering.plotter.camera.parallel_scale
    return float((pixels.min(axis=2) < 250.0).sum()) / per_mm**2


def test_states_are_named_in_cutting_order(drilled, cut) -> None:  # type: ignore[no-untyped-def]
    names = shows_of(drilled, cut).names
    assert names == ("as cast", "after grooves", "after level", "after blend", "target")
    assert [named(names, n) for n in (None, "level", "target")] == [0, 2, 4]


def test_cut_open_there_is_as_much_to_see_as_lies_behind_the_plane(steering: Steering) -> None:
    # a straight duct 100 mm long and 50 mm tall, seen flat from its side: 50 mm2 for each mm that is left
    assert seen_mm2(steering) == pytest.approx(100.0 * 50.0, rel=0.02)
    for s in (20.0, 50.0, 80.0):
        steering.cut_at(s)
        assert seen_mm2(steering) == pytest.approx(
            (100.0 - s) * 50.6, abs=LINES_MM2
        )  # the wanted line stands 0.6 over it


def test_the_other_side_of_the_cut_is_the_rest(steering: Steering) -> None:
    steering.cut_at(30.0)
    behind = seen_mm2(steering)
    steering.other_side()
    before = seen_mm2(steering)
    assert before == pytest.approx(30.0 * 50.0, abs=LINES_MM2)
    assert behind + before == pytest.approx(100.0 * 50.0, abs=2.0 * LINES_MM2)
    steering.cut_at(0.0)
    assert seen_mm2(steering) == pytest.approx(100.0 * 50.0, rel=0.02)


def test_the_cut_stays_on_the_port(steering: Steering) -> None:
    steering.cut_at(1000.0)
    assert steering.cut_mm == 100.0
    steering.step_cut(-4.0)
    assert steering.cut_mm == 96.0
    steering.cut_at(-5.0)
    assert steering.cut_mm == 0.0


def test_pass_after_pass_less_of_the_roof_is_proud(steering: Steering) -> None:
    steering.look("roof")

    def proud() -> int:
        red, green, blue = np.moveaxis(np.asarray(steering.plotter.screenshot(None, return_img=True), float), -1, 0)
        return int(((red > 2.2 * blue) & (red > green) & (red > 60.0)).sum())

    first = proud()
    steering.step_pass(2)
    assert steering.index == 2
    level = proud()
    steering.show_pass(99.0)
    assert steering.index == 4
    assert first > level > proud() == 0
    steering.step_pass(-99)
    assert steering.index == 0
    assert proud() == first


def test_sliders_follow_the_keys_and_say_where(drilled, cut, drawing) -> None:  # type: ignore[no-untyped-def]
    shows = shows_of(drilled, cut)
    steering = Steering(shows, view=VIEWS["roof"], hidden=True, size=SIZE)
    try:
        sliders = [w.GetRepresentation() for w in add_controls(steering, shows)]
        assert [(s.GetMinimumValue(), s.GetMaximumValue()) for s in sliders] == [(0.0, 4.0), (0.0, 100.0)]
        steering.step_pass(1)
        steering.step_cut(42.0)
        assert [s.GetValue() for s in sliders] == [1.0, 42.0]
        said = steering.plotter.actors["title"].GetText(2)  # VTK's number for the upper left corner
        assert "after grooves" in said
        assert "cut open at 42.0 mm" in said
        listed = steering.plotter.actors["keys"].input
        for key, what in KEYS:
            assert (what in listed) == (key != "h")  # nothing behind the walls is drawn in this view
        assert len({k for k, _ in VIEW_KEYS}) == len(VIEWS)
        before = np.asarray(steering.plotter.screenshot(None, return_img=True), float)
        steering.cut_at(0.0)
        steering.show_pass(0)
        assert np.abs(np.asarray(steering.plotter.screenshot(None, return_img=True), float) - before).mean() > 0.5
    finally:
        steering.plotter.close()


def test_window_is_refused_without_a_screen(drilled, cut, monkeypatch) -> None:  # type: ignore[no-untyped-def]
    monkeypatch.setattr(window, "window_opens", lambda: False)
    with pytest.raises(OpenGLMissing, match=r"--out view\.png"):
        show_window(shows_of(drilled, cut))
