"""What does a port look like in three dimensions, in a window that turns or as a picture?

Everything is in the head frame, in mm: x to the right looking in, y into the port, z up from the deck.
"""

from __future__ import annotations

import io
from pathlib import Path as FilePath
from typing import TYPE_CHECKING, Any, TypeAlias

import numpy as np

from portgeom.geometry.arrays import F64, Bool
from portgeom.job.units import length_from_mm
from portgeom.output.chart_style import STYLE, Style
from portgeom.output.names import short
from portgeom.output.opengl import OpenGL, OpenGLMissing, off_screen, probe, window_opens
from portgeom.output.port_scene import PortScene
from portgeom.output.projection import VIEWS, ViewName
from portgeom.output.shown import Shown
from portgeom.output.whole_file import write_whole

if TYPE_CHECKING:
    import pyvista

Plotter: TypeAlias = Any
"""A pyvista.Plotter: its decorators hide the types of the methods used here."""

LINE_RADIUS_MM = 0.6
THROUGH = 0.45
"""How much of the casting colour stays where the passage is shown translucent."""


def show_window(scene: PortScene, *, view: ViewName = "roof") -> None:
    """Show a port in a window until the person closes it.

    Raises
    ------
    OpenGLMissing
        Where there is no screen, or no window can be drawn in.
    """
    if not window_opens():
        raise OpenGLMissing(
            "No window can be opened here: there is no screen, or no OpenGL to draw with. "
            "Ask for a picture instead with --out view.png."
        )
    _plotter(scene, view, hidden=False, size=(1200, 800)).show()


def picture(
    scene: PortScene,
    path: FilePath,
    *,
    view: ViewName = "roof",
    size: tuple[int, int] = (1200, 800),
    opengl: OpenGL | None = None,
    force: bool = False,
) -> None:
    """Write a PNG of a port, ``size`` pixels wide and high, drawn off screen.

    Raises
    ------
    OpenGLMissing
        Saying what would bring it; ``opengl`` is what :func:`probe` found, and is probed if left out.
    FileExistsError
        If the file is there and ``force`` is not given.
    """
    write_whole(path, rendered(scene, view=view, size=size, opengl=opengl), force=force)


def rendered(
    scene: PortScene,
    *,
    view: ViewName = "roof",
    size: tuple[int, int] = (1200, 800),
    opengl: OpenGL | None = None,
) -> bytes:
    """Return a PNG of a port, drawn off screen; raises OpenGLMissing where that is not possible."""
    from PIL import Image

    with off_screen(opengl or probe()):
        plotter = _plotter(scene, view, hidden=True, size=size)
        try:
            pixels = plotter.screenshot(None, return_img=True)
        finally:
            plotter.close()
    out = io.BytesIO()
    Image.fromarray(np.asarray(pixels)).save(out, format="PNG")
    return out.getvalue()


def _plotter(scene: PortScene, view: ViewName, *, hidden: bool, size: tuple[int, int], style: Style = STYLE) -> Plotter:
    import pyvista

    plotter: Plotter = pyvista.Plotter(off_screen=hidden, window_size=list(size))
    plotter.set_background(style.paper)
    on_roof: Bool = np.asarray(np.isfinite(_corners(scene.proud_mm)).all(axis=1))
    plotter.add_mesh(_part(scene, ~on_roof), color=style.casting, opacity=THROUGH, smooth_shading=True, name="passage")
    _add_roof(plotter, scene, on_roof)
    for ring in scene.rings:
        closed = np.concatenate([ring.points_mm, ring.points_mm[:1]])
        plotter.add_mesh(pyvista.lines_from_points(closed), color=style.ink, line_width=1.5)
    line = pyvista.lines_from_points(scene.line_mm).tube(radius=LINE_RADIUS_MM)
    plotter.add_mesh(line, color=style.wanted, name="line")
    _add_words(plotter, scene, style)
    _look(plotter, scene, view)
    return plotter


def _corners(grid: F64) -> F64:
    """Return the four corner values of every cell of a skin."""
    beside = np.roll(grid, -1, axis=1)
    return np.stack([grid[:-1], grid[1:], beside[1:], beside[:-1]], axis=2).reshape(-1, 4)


def _part(scene: PortScene, chosen: Bool) -> pyvista.PolyData:
    """Return the chosen cells of the skin as a mesh of their own."""
    import pyvista

    slabs, rays, _ = scene.skin_mm.shape
    index = _corners(np.arange(slabs * rays, dtype=np.float64).reshape(slabs, rays)).astype(np.int64)[chosen]
    used, compact = np.unique(index, return_inverse=True)
    mesh = pyvista.PolyData.from_regular_faces(scene.skin_mm.reshape(-1, 3)[used], compact.reshape(-1, 4).tolist())
    mesh.point_data["proud"] = scene.proud_mm.ravel()[used] * length_from_mm(1.0, scene.units)
    return mesh


def _add_roof(plotter: Plotter, scene: PortScene, on_roof: Bool) -> None:
    colours, _ = scene.scale.colours()
    scale = scene.scale
    past = "below 0: already past the line" if scale.low < 0.0 else "0: at the line"
    plotter.add_mesh(
        _part(scene, on_roof),
        scalars="proud",
        cmap=colours,
        clim=(scale.low, scale.high),
        smooth_shading=True,
        name="roof",
        scalar_bar_args={
            "title": f"roof: {scale.words} (above 0: metal to take off; {past})\n",
            "n_labels": len(scale.marks),
            "fmt": "{:g}",
            "color": STYLE.ink,
            "position_x": 0.2,
            "position_y": 0.03,
            "width": 0.6,
            "height": 0.1,
            "title_font_size": 16,
            "label_font_size": 14,
        },
    )


def _add_words(plotter: Plotter, scene: PortScene, style: Style) -> None:
    plotter.add_text(short(scene.title, 70), position="upper_left", font_size=11, color=style.ink)
    tops = np.array([r.points_mm[int(np.argmax(r.points_mm[:, 2]))] for r in scene.rings])
    plotter.add_point_labels(
        tops,
        [short(r.station) for r in scene.rings],
        font_size=13,
        shape=None,
        show_points=False,
        always_visible=True,
        text_color=style.ink,
    )
    words = f"roof peak: {Shown(scene.units).proud(scene.peak_proud_mm)}"
    plotter.add_text(words, position="upper_right", font_size=9, color=style.ink)
    plotter.add_points(scene.peak_mm[None], color=style.ink, point_size=11, render_points_as_spheres=True, name="peak")
    plotter.add_axes(xlabel="right", ylabel="in", zlabel="up", color=style.ink)


def _look(plotter: Plotter, scene: PortScene, view: ViewName) -> None:
    way = VIEWS[view]
    right, up, out = way.axes()
    middle = 0.5 * (scene.skin_mm.min(axis=(0, 1)) + scene.skin_mm.max(axis=(0, 1)))
    reach = float(np.ptp(scene.skin_mm.reshape(-1, 3), axis=0).max())
    plotter.enable_parallel_projection()
    plotter.camera_position = [middle + 3.0 * reach * out, middle, up]
    plotter.reset_camera()
    flat = (scene.skin_mm.reshape(-1, 3) - middle) @ np.stack([right, up], axis=1)
    wide, tall = np.abs(flat).max(axis=0)
    aspect = plotter.window_size[0] / plotter.window_size[1]
    plotter.camera.parallel_scale = 1.35 * max(float(tall), float(wide) / aspect)
