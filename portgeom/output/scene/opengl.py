"""Can this machine draw in three dimensions without a window, and if not, what does it lack?

Where a library of the system is missing, drawing does not raise: it ends the whole process. So it is tried
in a child process, once.
"""

from __future__ import annotations

import ctypes
import os
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from functools import cache

VARIABLE = "VTK_DEFAULT_OPENGL_WINDOW"
"""Environment variable by which VTK is told how to open a window it does not show."""

WAYS: tuple[tuple[str, str], ...] = (
    ("vtkEGLRenderWindow", "libEGL.so.1"),
    ("vtkOSOpenGLRenderWindow", "libOSMesa.so.8"),
)
"""Ways to draw without a display where windows come from X: VTK's class and the library that it loads."""

TRIAL = (
    "import sys, vtkmodules.vtkRenderingOpenGL2 as opengl\n"
    "from vtkmodules.vtkRenderingCore import vtkRenderWindow\n"
    "window = getattr(opengl, sys.argv[1])() if len(sys.argv) > 1 else vtkRenderWindow()\n"
    "window.SetOffScreenRendering(1)\n"
    "window.SetSize(8, 8)\n"
    "window.Render()\n"
    "sys.exit(not window.SupportsOpenGL())\n"
)

TRIAL_SECONDS = 60.0
"""A trial that takes longer than this has hung."""

DEBIAN_PACKAGES = ("libegl1", "libgl1-mesa-dri")
"""What brings off-screen drawing to Debian and its relatives."""


@dataclass(frozen=True, slots=True)
class OpenGL:
    """What a trial found.

    Attributes
    ----------
    usable : bool
        Whether pictures can be drawn without a window.
    window_class : str
        VTK's class to draw with; "" where its own choice works.
    missing : str
        What is missing, in words; "" where nothing is.
    """

    usable: bool
    window_class: str
    missing: str


class OpenGLMissing(RuntimeError):  # noqa: N818  it names what is missing
    """This machine cannot draw in three dimensions. The message says what would mend it."""


@cache
def probe() -> OpenGL:
    """Return whether pictures can be drawn off screen here, as found by a child process that tried."""
    if sys.platform in ("win32", "darwin"):
        if _drew():
            return OpenGL(True, "", "")
        return OpenGL(False, "", "a graphics driver with OpenGL 3.2 or later")
    lacking = []
    for window_class, library in WAYS:
        if not _loads(library):
            lacking.append(library)
        elif _drew(window_class):
            return OpenGL(True, window_class, "")
    if len(lacking) == len(WAYS):
        return OpenGL(False, "", f"the library {' or '.join(lacking)}")
    return OpenGL(False, "", "an OpenGL driver behind the library that is there")


def how_to_bring_it(found: OpenGL) -> str:
    """Return what a person can do where off-screen drawing is missing."""
    told = f"3D pictures need OpenGL, and this machine lacks {found.missing}."
    if sys.platform in ("win32", "darwin"):
        return f"{told} Install the maker's driver for the graphics card, then try again."
    packages = " ".join(DEBIAN_PACKAGES)
    return (
        f"{told} On Debian and its relatives two packages bring it: {packages} "
        f"(apt-get install --no-install-recommends {packages}). The report needs neither."
    )


@contextmanager
def off_screen(found: OpenGL) -> Iterator[None]:
    """Draw off screen within this, with the class that worked; raise OpenGLMissing where none did.

    The choice is told to VTK for as long as this lasts only, since with it set no window would open.
    """
    if not found.usable:
        raise OpenGLMissing(how_to_bring_it(found))
    before = os.environ.get(VARIABLE)
    if found.window_class and before is None:
        os.environ[VARIABLE] = found.window_class
    try:
        yield
    finally:
        if before is None:
            os.environ.pop(VARIABLE, None)


def has_display() -> bool:
    """Return whether there is a screen to open a window on."""
    if sys.platform in ("win32", "darwin"):
        return True
    return bool(os.environ.get("DISPLAY") or os.environ.get("WAYLAND_DISPLAY"))


def window_opens() -> bool:
    """Return whether an ordinary window can be drawn in, as found by a child process that tried."""
    return has_display() and _drew()


def _loads(library: str) -> bool:
    try:
        ctypes.CDLL(library)
    except OSError:
        return False
    return True


def _drew(*window_class: str) -> bool:
    """Return whether a child process drew and lived."""
    with tempfile.TemporaryDirectory() as folder:
        try:
            child = subprocess.run(
                [sys.executable, "-c", TRIAL, *window_class],
                cwd=folder,
                stdin=subprocess.DEVNULL,
                stdout=subprocess.DEVNULL,
                stderr=subprocess.DEVNULL,
                timeout=TRIAL_SECONDS,
                check=False,
            )
        except (OSError, subprocess.TimeoutExpired):
            return False
    return child.returncode == 0
