"""What does a port look like in three dimensions, in a window that turns or as a picture?

Everything is in the head frame, in mm: x to the right looking in, y into the port, z up from the deck.
"""

from __future__ import annotations

import io
from collections.abc import Callable, Iterable, Iterator, Sequence
from pathlib import Path as FilePath
from typing import TYPE_CHECKING, Any, TypeAlias

import numpy as np

from portgeom.geometry.arrays import F64, Bool
from portgeom.job.units import length_from_mm
from portgeom.output.charts.chart_style import STYLE, Style
from portgeom.output.files.whole_file import write_whole
from portgeom.output.scene.drawn_scene import round_box
from portgeom.output.scene.opengl import OpenGL, off_screen, probe
from portgeom.output.scene.painted import GLASS, GLASS_SHEET
from portgeom.output.scene.port_scene import PortScene, Ring
from portgeom.output.scene.projection import VIEWS, View, ViewName
from portgeom.output.words.names import short

if TYPE_CHECKING:
    import pyvista

Plotter: TypeAlias = Any
"""A pyvista.Plotter: its decorators hide the types of the methods used here."""

LINE_RADIUS_MM = 0.6
THROUGH = 0.45
"""How much of the casting colour stays where the passage is shown translucent."""

SOFT_AMBIENT = 0.45
"""Light from everywhere, where colours have to be read off in the shade too."""


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
    return next(rendered_views(scene, [VIEWS[view]], size=size, opengl=opengl))


def rendered_views(
    scene: PortScene,
    views: Sequence[View],
    *,
    size: tuple[int, int] = (1200, 800),
    opengl: OpenGL | None = None,
    round_about: bool = False,
    in_turn: Callable[[Sequence[View]], Iterable[View]] = iter,
) -> Iterator[bytes]:
    """Yield a PNG of a port for each view; raises OpenGLMissing where that is not possible.

    ``round_about`` gives all of them the scale that the port has from all sides round it; ``in_turn`` goes through
    the views, for whoever shows how far it is.
    """
    from PIL import Image

    with off_screen(opengl or probe()):
        plotter = plotter_of(scene, views[0], hidden=True, size=size)
        try:
            for view in in_turn(views):
                look_from(plotter, scene, view, round_about=round_about)
                pixels = plotter.screenshot(None, return_img=True)
                out = io.BytesIO()
                Image.fromarray(np.asarray(pixels)).save(out, format="PNG")
                yield out.getvalue()
        finally:
            plotter.close()


def plotter_of(
    scene: PortScene, view: View, *, hidden: bool, size: tuple[int, int], words: bool = True, style: Style = STYLE
) -> Plotter:  # fmt: skip
    """Return a plotter with a scene in it; without ``words`` the bodies and lines alone."""
    import pyvista

    plotter: Plotter = pyvista.Plotter(off_screen=hidden, window_size=list(size))
    plotter.set_background(style.paper)
    coloured: Bool = np.asarray(np.isfinite(corners(scene.value_mm)).all(axis=1))
    # what lies behind the walls is seen through, so the passage is not
    through = THROUGH if not scene.shapes else 1.0
    if not coloured.all():
        plain = part_of(scene, ~coloured)
        plotter.add_mesh(
            plain, color=style.casting, opacity=through, smooth_shading=True, name="passage", **_light(scene)
        )
    if coloured.any():
        _add_coloured(plotter, scene, coloured, bar=words)
    if scene.rings:
        plotter.add_mesh(rings_of(scene, scene.rings), color=style.ink, line_width=1.5, name="rings")
    if len(scene.line_mm):
        plotter.add_mesh(line_of(scene.line_mm), color=style.wanted, name="line")
    _add_shapes(plotter, scene, style, words=words)
    if words:
        _add_words(plotter, scene, style)
    look_from(plotter, scene, view)
    return plotter


def line_of(points_mm: F64) -> pyvista.PolyData:
    """Return the wanted line as a thin tube."""
    import pyvista

    return pyvista.lines_from_points(points_mm).tube(radius=LINE_RADIUS_MM)


def rings_of(scene: PortScene, rings: Sequence[Ring]) -> pyvista.PolyData:
    """Return some of a scene's sections as lines."""
    import pyvista

    if not rings:
        return pyvista.PolyData(scene.skin_mm[0, :1])
    points = np.concatenate([np.concatenate([ring.points_mm, ring.points_mm[:1]]) for ring in rings])
    counts = [len(ring.points_mm) + 1 for ring in rings]
    starts = np.cumsum([0, *counts[:-1]])
    cells = [np.concatenate([[n], start + np.arange(n)]) for n, start in zip(counts, starts, strict=True)]
    return pyvista.PolyData(points, lines=np.concatenate(cells))


def corners(grid: F64) -> F64:
    """Return the four corner values of every cell of a skin."""
    beside = np.roll(grid, -1, axis=1)
    return np.stack([grid[:-1], grid[1:], beside[1:], beside[:-1]], axis=2).reshape(-1, 4)


def part_of(scene: PortScene, chosen: Bool) -> pyvista.PolyData:
    """Return the chosen cells of the skin as a mesh of their own."""
    import pyvista

    slabs, rays, _ = scene.skin_mm.shape
    index = corners(np.arange(slabs * rays, dtype=np.float64).reshape(slabs, rays)).astype(np.int64)[chosen]
    used, compact = np.unique(index, return_inverse=True)
    faces = np.column_stack([np.full(len(index), 4), compact.reshape(-1, 4)])
    mesh = pyvista.PolyData(scene.skin_mm.reshape(-1, 3)[used], faces.ravel())
    mesh.point_data["value"] = scene.value_mm.ravel()[used] * length_from_mm(1.0, scene.units)
    return mesh


def letters(plotter: Plotter, size: int) -> int:
    """Return a size of letters that suits a picture, given the size for one of 1200 by 800 pixels."""
    wide, tall = plotter.window_size
    return max(5, round(size * min(wide / 1200.0, tall / 800.0)))


def _light(scene: PortScene) -> dict[str, float]:
    return {"ambient": SOFT_AMBIENT, "diffuse": 1.0 - SOFT_AMBIENT} if scene.soft else {}


def _add_coloured(plotter: Plotter, scene: PortScene, coloured: Bool, *, bar: bool) -> None:
    colours, _ = scene.scale.colours()
    scale = scene.scale
    plotter.add_mesh(
        part_of(scene, coloured),
        scalars="value",
        cmap=colours,
        clim=(scale.low, scale.high),
        smooth_shading=True,
        name="coloured",
        show_scalar_bar=bar,
        **_light(scene),
        scalar_bar_args={
            "title": f"{scene.scale_words}\nleft end {scale.low_words}; right end {scale.high_words}\n",
            "n_labels": len(scale.marks),
            "fmt": "{:g}",
            "color": STYLE.ink,
            "position_x": 0.2,
            "position_y": 0.03,
            "width": 0.6,
            "height": 0.1,
            "title_font_size": letters(plotter, 16),
            "label_font_size": letters(plotter, 14),
        },
    )


def _add_shapes(plotter: Plotter, scene: PortScene, style: Style, *, words: bool) -> None:
    """Add what lies behind the walls, to be seen through, and its names."""
    import pyvista

    for k, shape in enumerate(scene.shapes):
        mesh = pyvista.PolyData.from_regular_faces(shape.vertices_mm, shape.triangles.tolist())
        glass = GLASS_SHEET if shape.sheet else GLASS
        plotter.add_mesh(mesh, color=style.hidden, opacity=glass, name=f"behind {k}")
        for n, rim in enumerate(shape.rims):
            plotter.add_mesh(
                pyvista.lines_from_points(rim), color=style.ink, line_width=2.0, name=f"behind {k} rim {n}"
            )
    if scene.shapes and words:
        tops = np.array([s.vertices_mm[int(np.argmax(s.vertices_mm[:, 2]))] for s in scene.shapes])
        plotter.add_point_labels(
            tops,
            [short(s.name, 24) for s in scene.shapes],
            font_size=letters(plotter, 13),
            bold=True,
            shape=None,
            show_points=False,
            always_visible=True,
            text_color=style.hidden,
            name="behind names",
        )


def _add_words(plotter: Plotter, scene: PortScene, style: Style) -> None:
    plotter.add_text(
        short(scene.title, 70), position="upper_left", font_size=letters(plotter, 11), color=style.ink, name="title"
    )
    add_ring_names(plotter, scene, scene.rings, style)
    if scene.pin is not None:
        words = short(scene.pin.words, 70)
        plotter.add_text(
            words, position="upper_right", font_size=letters(plotter, 9), color=style.ink, name="pin words"
        )
        plotter.add_points(
            scene.pin.place_mm[None], color=style.ink, point_size=11, render_points_as_spheres=True, name="pin"
        )
    plotter.add_axes(xlabel="right", ylabel="in", zlabel="up", color=style.ink)


def add_ring_names(plotter: Plotter, scene: PortScene, rings: Sequence[Ring], style: Style = STYLE) -> None:
    """Write the names of some of a scene's sections at their crowns, in place of those written before."""
    if not rings:
        plotter.remove_actor("ring names-labels", render=False)
        return
    tops = np.array([r.points_mm[int(np.argmax(r.points_mm[:, 2]))] for r in rings])
    plotter.add_point_labels(
        tops,
        [short(r.station) for r in rings],
        font_size=letters(plotter, 13),
        shape=None,
        show_points=False,
        always_visible=True,
        text_color=style.ink,
        name="ring names",
        render=False,
    )


def look_from(plotter: Plotter, scene: PortScene, view: View, *, round_about: bool = False) -> None:
    """Turn a plotter's camera so that the whole scene is seen from one side, at one scale however near a part is."""
    right, up, out = view.axes()
    every = np.concatenate([scene.skin_mm.reshape(-1, 3), *(shape.vertices_mm for shape in scene.shapes)])
    middle = 0.5 * (every.min(axis=0) + every.max(axis=0))
    reach = float(np.ptp(every, axis=0).max())
    plotter.enable_parallel_projection()
    plotter.camera_position = [middle + 3.0 * reach * out, middle, up]
    plotter.reset_camera()
    flat = (every - middle) @ np.stack([right, up], axis=1)
    wide, tall = np.abs(flat).max(axis=0)
    if round_about:
        low, high = round_box(scene, view)
        wide, tall = 0.5 * (high - low)
    aspect = plotter.window_size[0] / plotter.window_size[1]
    room = 1.55 if scene.shapes or round_about else 1.35
    plotter.camera.parallel_scale = room * max(float(tall), float(wide) / aspect)
