"""A machine without OpenGL is found out in a child process, and told what would mend it."""

from __future__ import annotations

import os
import sys

import pytest

from portgeom.output.scene import opengl
from portgeom.output.scene.opengl import OpenGL, OpenGLMissing, how_to_bring_it, off_screen, probe

NONE = OpenGL(False, "", "the library libEGL.so.1 or libOSMesa.so.8")


@pytest.fixture
def on_linux(monkeypatch):
    monkeypatch.setattr(sys, "platform", "linux")


@pytest.mark.usefixtures("on_linux")
def test_missing_libraries_are_named(monkeypatch):
    monkeypatch.setattr(opengl, "WAYS", (("vtkEGLRenderWindow", "libnowhere.so.1"), ("vtkOther", "libnone.so.2")))
    found = probe.__wrapped__()
    assert found == OpenGL(False, "", "the library libnowhere.so.1 or libnone.so.2")


@pytest.mark.usefixtures("on_linux")
@pytest.mark.parametrize("trial", ["import os; os.abort()", "import sys; sys.exit(1)", "raise ImportError"])
def test_a_child_that_dies_means_no_and_harms_nobody(monkeypatch, trial):
    monkeypatch.setattr(opengl, "TRIAL", trial)
    monkeypatch.setattr(opengl, "_loads", lambda _: True)
    assert probe.__wrapped__() == OpenGL(False, "", "an OpenGL driver behind the library that is there")


@pytest.mark.usefixtures("on_linux")
def test_a_child_that_hangs_means_no(monkeypatch):
    monkeypatch.setattr(opengl, "TRIAL", "import time; time.sleep(30)")
    monkeypatch.setattr(opengl, "TRIAL_SECONDS", 0.2)
    monkeypatch.setattr(opengl, "_loads", lambda _: True)
    assert not probe.__wrapped__().usable


@pytest.mark.usefixtures("on_linux")
def test_the_first_way_that_draws_is_taken(monkeypatch):
    monkeypatch.setattr(opengl, "TRIAL", "import sys; sys.exit(sys.argv[1] != 'vtkOSOpenGLRenderWindow')")
    monkeypatch.setattr(opengl, "_loads", lambda _: True)
    assert probe.__wrapped__() == OpenGL(True, "vtkOSOpenGLRenderWindow", "")


def test_no_class_is_needed_where_windows_do_not_come_from_x(monkeypatch):
    monkeypatch.setattr(sys, "platform", "win32")
    monkeypatch.setattr(opengl, "TRIAL", "import sys; sys.exit(len(sys.argv) > 1)")
    assert probe.__wrapped__() == OpenGL(True, "", "")


@pytest.mark.usefixtures("on_linux")
def test_mend_names_the_two_debian_packages():
    assert "libegl1 libgl1-mesa-dri" in how_to_bring_it(NONE)


@pytest.mark.usefixtures("on_linux")
def test_drawing_without_opengl_is_refused_before_anything_is_drawn():
    with pytest.raises(OpenGLMissing, match="libegl1 libgl1-mesa-dri"), off_screen(NONE):
        pytest.fail("drew")


def test_class_is_told_only_while_drawing_off_screen(monkeypatch):
    monkeypatch.delenv(opengl.VARIABLE, raising=False)
    with off_screen(OpenGL(True, "vtkEGLRenderWindow", "")):
        assert os.environ[opengl.VARIABLE] == "vtkEGLRenderWindow"
    assert opengl.VARIABLE not in os.environ


def test_a_class_that_the_person_chose_is_kept(monkeypatch):
    monkeypatch.setenv(opengl.VARIABLE, "mine")
    with off_screen(OpenGL(True, "vtkEGLRenderWindow", "")):
        assert os.environ[opengl.VARIABLE] == "mine"
    assert os.environ[opengl.VARIABLE] == "mine"


@pytest.mark.usefixtures("on_linux")
def test_no_screen_no_window(monkeypatch):
    monkeypatch.delenv("DISPLAY", raising=False)
    monkeypatch.delenv("WAYLAND_DISPLAY", raising=False)
    assert not opengl.window_opens()
