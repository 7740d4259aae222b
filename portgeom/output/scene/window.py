"""What does a person steer in the window: which pass, where it is cut open, what is shown, from where it is seen?

The sliders and the keys call the same functions, which can be called without a window too.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np

from portgeom.geometry.arrays import F64, Bool
from portgeom.output.charts.chart_style import STYLE
from portgeom.output.scene.opengl import OpenGLMissing, window_opens
from portgeom.output.scene.port_scene import PortScene, Ring
from portgeom.output.scene.projection import VIEWS, View, ViewName
from portgeom.output.scene.scene import (
    Plotter,
    add_ring_names,
    corners,
    letters,
    line_of,
    look_from,
    part_of,
    plotter_of,
    rings_of,
)
from portgeom.output.words.names import short

KEYS: tuple[tuple[str, str], ...] = (
    ("n  b", "next, previous pass"),
    (".  ,", "cut further in, further out"),
    ("x", "the other side of the cut"),
    ("h", "what lies behind the walls"),
    ("F2 to F6", "from roof, left, entry, side, seat"),
    ("q", "close"),
)
"""Keys and what they do, as listed in the window."""

VIEW_KEYS: tuple[tuple[str, ViewName], ...] = (
    ("F2", "roof"),
    ("F3", "left"),
    ("F4", "entry"),
    ("F5", "side"),
    ("F6", "seat"),
)
ROOM = 1.15
"""The port is shown so much smaller, for the controls beside it."""

STEP_MM = 2.0
"""How far a key moves the cut."""


@dataclass(frozen=True, slots=True)
class Shows:
    """What a window can show of one port.

    Attributes
    ----------
    names : tuple of str
        As cast, after each pass, target.
    scene : callable
        Given a number of those, its scene; asked only for what is looked at.
    distance_mm : (m,) float
        Along the path, of every slab of the scenes' skins.
    place : callable
        Given a distance, what is said of the place.
    """

    names: tuple[str, ...]
    scene: Callable[[int], PortScene]
    distance_mm: F64
    place: Callable[[float], str]


class Steering:
    """Steers a plotter that shows one port."""

    def __init__(self, shows: Shows, *, view: View, hidden: bool, size: tuple[int, int], words: bool = True) -> None:
        self._shows, self._words = shows, words
        self._scenes: dict[int, PortScene] = {}
        self.index = 0
        self.cut_mm = float(shows.distance_mm[0])
        self.inner_side = True
        self.shapes_seen = True
        self.followers: list[Callable[[], None]] = []
        self.plotter: Plotter = plotter_of(self.scene, view, hidden=hidden, size=size, words=words)

    @property
    def scene(self) -> PortScene:
        """Return what is shown now."""
        if self.index not in self._scenes:
            self._scenes[self.index] = self._shows.scene(self.index)
        return self._scenes[self.index]

    def show_pass(self, index: float) -> None:
        """Show the port as cast (0), after a pass, or at its target (the last)."""
        chosen = int(np.clip(round(index), 0, len(self._shows.names) - 1))
        if chosen != self.index:
            self.index = chosen
            self._redraw()

    def step_pass(self, step: int) -> None:
        """Show the next or the previous pass."""
        self.show_pass(self.index + step)

    def cut_at(self, distance_mm: float) -> None:
        """Cut the port open at a distance along its path; at its very start it is whole."""
        s = self._shows.distance_mm
        self.cut_mm = float(np.clip(distance_mm, s[0], s[-1]))
        self._redraw()

    def step_cut(self, step_mm: float) -> None:
        """Move the cut."""
        self.cut_at(self.cut_mm + step_mm)

    def other_side(self) -> None:
        """Show the part before the cut in place of that behind it, or again the other."""
        self.inner_side = not self.inner_side
        self._redraw()

    def toggle_shapes(self) -> None:
        """Show or hide what lies behind the walls."""
        self.shapes_seen = not self.shapes_seen
        for name, actor in self.plotter.actors.items():
            if name.startswith("behind "):
                actor.SetVisibility(self.shapes_seen)
        self.plotter.render()

    def look(self, view: ViewName) -> None:
        """Look from one of the named sides."""
        look_from(self.plotter, self.scene, VIEWS[view])
        self.plotter.camera.parallel_scale *= ROOM if self.followers else 1.0
        self.plotter.render()

    def kept(self) -> Bool:
        """Return which slabs (m,) are shown."""
        s = self._shows.distance_mm
        at = int(np.argmin(np.abs(s - self.cut_mm)))
        rows = np.arange(len(s))
        if self.inner_side or at == 0:
            return rows >= min(at, len(s) - 2)
        return rows <= at

    def _redraw(self) -> None:
        scene, plotter = self.scene, self.plotter
        rays = scene.skin_mm.shape[1]
        rows = self.kept()
        here = np.repeat(rows[:-1] & rows[1:], rays)
        coloured: Bool = np.asarray(np.isfinite(corners(scene.value_mm)).all(axis=1))
        for name, chosen in (("passage", here & ~coloured), ("coloured", here & coloured)):
            actor = plotter.actors.get(name)
            if actor is None:
                continue
            actor.SetVisibility(bool(chosen.any()))
            if chosen.any():
                mesh = part_of(scene, chosen).compute_normals(cell_normals=False)
                mesh.set_active_scalars("value")
                actor.mapper.dataset = mesh
        rings = self._rings(scene)
        plotter.actors["rings"].mapper.dataset.copy_from(rings_of(scene, rings))
        self._line(scene, rows)
        self._section(scene)
        if self._words:
            add_ring_names(plotter, scene, rings)
            self._say(scene)
        for follow in self.followers:
            follow()
        plotter.render()

    def _rings(self, scene: PortScene) -> list[Ring]:
        """Return the stations' sections in the part that is shown."""
        s, rows = self._shows.distance_mm, self.kept()
        skin = scene.skin_mm
        found = []
        for ring in scene.rings:
            slab = int(np.argmin(np.abs(skin[:, 0] - ring.points_mm[0]).sum(axis=1)))
            if rows[slab] and (slab != 0 or s[slab] >= self.cut_mm or not self.inner_side):
                found.append(ring)
        return found

    def _line(self, scene: PortScene, rows: Bool) -> None:
        """Show the wanted line over the part that is shown."""
        actor = self.plotter.actors.get("line")
        if actor is None:
            return
        from scipy.spatial import cKDTree

        nearest = cKDTree(scene.skin_mm.reshape(-1, 3)).query(scene.crown_mm)[1]
        over = scene.line_mm[rows[nearest // scene.skin_mm.shape[1]]]
        actor.SetVisibility(len(over) > 1)
        if len(over) > 1:
            actor.mapper.dataset = line_of(over)

    def _section(self, scene: PortScene) -> None:
        """Draw the section where the port is cut open."""
        at = int(np.argmin(np.abs(self._shows.distance_mm - self.cut_mm)))
        if at == 0:
            self.plotter.remove_actor("section", render=False)
            return
        mesh = rings_of(scene, [Ring(scene.skin_mm[at], "")])
        self.plotter.add_mesh(mesh, color=STYLE.metal, line_width=4.0, name="section", render=False, reset_camera=False)

    def _say(self, scene: PortScene) -> None:
        whole = self.cut_mm <= self._shows.distance_mm[0]
        cut = "" if whole else f"\ncut open at {self._shows.place(self.cut_mm)}"
        title = f"{short(scene.title, 70)}{cut}"
        self.plotter.add_text(
            title,
            position="upper_left",
            font_size=letters(self.plotter, 11),
            color=STYLE.ink,
            name="title",
            render=False,
        )
        if scene.pin is not None:
            self.plotter.actors["pin"].mapper.dataset.points = scene.pin.place_mm[None]
            words = short(scene.pin.words, 70)
            place = {"position": "upper_right", "font_size": letters(self.plotter, 9), "color": STYLE.ink}
            self.plotter.add_text(words, name="pin words", render=False, **place)


def add_controls(steering: Steering, shows: Shows) -> tuple[Plotter, ...]:
    """Add the sliders, the keys and the list of keys to a window; return the sliders."""
    sliders: list[Plotter] = []
    plotter = steering.plotter
    look = {"title_height": 0.02, "slider_width": 0.02, "tube_width": 0.004, "color": STYLE.ink, "style": "modern"}
    last = len(shows.names) - 1
    if last > 0:
        passes = plotter.add_slider_widget(
            steering.show_pass,
            (0, last),
            value=0,
            title="pass: as it is, to target",
            pointa=(0.76, 0.91),
            pointb=(0.98, 0.91),
            fmt="%.0f",
            interaction_event="always",
            **look,
        )
        sliders.append(passes)
        steering.followers.append(lambda: passes.GetRepresentation().SetValue(steering.index))
    cut = plotter.add_slider_widget(
        steering.cut_at,
        (float(shows.distance_mm[0]), float(shows.distance_mm[-1])),
        value=float(shows.distance_mm[0]),
        title="cut open, mm along the path",
        pointa=(0.76, 0.80),
        pointb=(0.98, 0.80),
        fmt="%.0f",
        interaction_event="always",
        **look,
    )
    sliders.append(cut)
    steering.followers.append(lambda: cut.GetRepresentation().SetValue(steering.cut_mm))
    keys: list[tuple[str, Callable[[], None]]] = [
        ("n", lambda: steering.step_pass(1)),
        ("b", lambda: steering.step_pass(-1)),
        ("period", lambda: steering.step_cut(STEP_MM)),
        ("comma", lambda: steering.step_cut(-STEP_MM)),
        ("x", steering.other_side),
        ("h", steering.toggle_shapes),
    ]
    keys += [(key, _looking(steering, view)) for key, view in VIEW_KEYS]
    for key, act in keys:
        plotter.add_key_event(key, act)
    plotter.camera.parallel_scale *= ROOM
    listed = "\n".join(f"{key:<9} {what}" for key, what in KEYS if key != "h" or steering.scene.shapes)
    place, size = (12, plotter.window_size[1] - 190), letters(plotter, 7)
    plotter.add_text(listed, position=place, font_size=size, color=STYLE.quiet, font="courier", name="keys")
    return tuple(sliders)


def _looking(steering: Steering, view: ViewName) -> Callable[[], None]:
    return lambda: steering.look(view)


def show_window(shows: Shows, *, start: int = 0, view: ViewName = "roof", size: tuple[int, int] = (1200, 800)) -> None:
    """Show a port in a window until the person closes it.

    Parameters
    ----------
    start : int
        Which of the names is shown first.

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
    steering = Steering(shows, view=VIEWS[view], hidden=False, size=size)
    add_controls(steering, shows)
    steering.show_pass(start)
    steering.plotter.show()


def named(names: Sequence[str], wanted: str | None) -> int:
    """Return which of the names is wanted; the first where none is."""
    if wanted is None:
        return 0
    full = wanted if wanted in names else f"after {wanted}"
    return list(names).index(full)
