"""In which order, where and in which colour are the pieces of a scene painted, so that near hides far?

The painter's way: every piece is a flat quad, those that show their inner side come first, then the outer
ones, each lot from far to near. Sorting by a quad's middle is exact for pieces this small next to the
distance between the walls; lines lie a little nearer than the skin that carries them.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from portgeom.geometry.arrays import F64, Bool, Int
from portgeom.job.units import length_from_mm
from portgeom.output.chart_style import STYLE
from portgeom.output.port_scene import PortScene
from portgeom.output.projection import View

SLABS, RAYS = 80, 120
"""The skin is painted from at most this many slabs and rays: some 9,500 quads."""

LIGHT = (-0.35, 0.55, 0.76)
"""To the light, as right, up and towards the person."""

RING_MM, LINE_MM = 0.35, 1.1
"""Width of station lines and of the wanted line."""

IN_FRONT_MM = 2.0
"""How much nearer lines are taken to be than the skin under them."""


@dataclass(frozen=True, slots=True)
class Painted:
    """Quads (k, 4, 2) in mm of the picture and their colours (k, 4), in the order to paint them."""

    quads_mm: F64
    colours: F64


def painted(scene: PortScene, view: View, *, lines: bool = True) -> Painted:
    """Return the pieces of a scene seen one way, the furthest first; without ``lines`` the skin alone."""
    parts = [_skin(scene, view)]
    if lines:
        parts += [_strip(ring.points_mm, view, STYLE.ink, RING_MM, closed=True) for ring in scene.rings]
        parts.append(_strip(scene.line_mm, view, STYLE.wanted, LINE_MM, closed=False))
    quads = np.concatenate([p.quads_mm for p in parts])
    colours = np.concatenate([p.colours for p in parts])
    inner = np.concatenate([p.inner for p in parts])
    order = np.lexsort((quads[..., 2].mean(axis=1), ~inner))
    return Painted(quads[order, :, :2], colours[order])


def hidden(scene: PortScene, view: View, point_mm: F64) -> bool:
    """Return whether the outer skin stands before a place, as the person sees it."""
    points = view.project(scene.skin_mm)
    quads, place = _cells(points), view.project(point_mm)
    near = quads[..., 2].mean(axis=1) > place[2] + IN_FRONT_MM
    edge = np.roll(quads, -1, axis=1)[..., :2] - quads[..., :2]
    gap = place[:2] - quads[..., :2]
    turn = edge[..., 0] * gap[..., 1] - edge[..., 1] * gap[..., 0]
    return bool((near & (turn > 0.0).all(axis=1)).any())


@dataclass(frozen=True, slots=True)
class _Part:
    quads_mm: F64
    colours: F64
    inner: Bool


def _skin(scene: PortScene, view: View) -> _Part:
    slabs, rays = _spread(len(scene.skin_mm), SLABS), _spread(scene.skin_mm.shape[1], RAYS)
    points = view.project(scene.skin_mm[np.ix_(slabs, rays)])
    proud = scene.proud_mm[np.ix_(slabs, rays)]
    quads, heights = _cells(points), _cells(proud[..., None])[..., 0]
    normal = np.cross(quads[:, 2] - quads[:, 0], quads[:, 3] - quads[:, 1])
    size = np.linalg.norm(normal, axis=1, keepdims=True)
    normal = normal / np.where(size > 0.0, size, 1.0)
    inner = normal[:, 2] < 0.0
    shown = np.where(inner[:, None], -normal, normal)
    return _Part(quads, _shaded(_paint(scene, heights), shown, inner), inner)


def _cells(grid: F64) -> F64:
    """Return the four corners of every cell of a grid (m, n, k) closed along n, anticlockwise from outside."""
    beside = np.roll(grid, -1, axis=1)
    corners = np.stack([grid[:-1], grid[1:], beside[1:], beside[:-1]], axis=2)
    return corners.reshape(-1, 4, grid.shape[-1])


def _paint(scene: PortScene, heights: F64) -> F64:
    """Return the plain colour (k, 4) of quads: the scale's on the roof, the casting's elsewhere."""
    from matplotlib.colors import to_rgba

    colours, norm = scene.scale.colours()
    on_roof: Bool = np.asarray(np.isfinite(heights).all(axis=1))
    middle = np.where(on_roof, np.nan_to_num(heights).mean(axis=1), 0.0)
    shown = colours(norm(length_from_mm(1.0, scene.units) * middle))
    return np.where(on_roof[:, None], shown, to_rgba(STYLE.casting))


def _shaded(colour: F64, normal: F64, inner: Bool) -> F64:
    """Return colours in the light: lit from the upper left, darker on the inner side."""
    light = np.array(LIGHT) / np.linalg.norm(LIGHT)
    facing = np.clip(normal @ light, 0.0, 1.0)
    halfway = light + (0.0, 0.0, 1.0)
    shine = np.clip(normal @ (halfway / np.linalg.norm(halfway)), 0.0, 1.0) ** 40
    strength = np.where(inner, 0.46 + 0.34 * facing, 0.52 + 0.52 * facing)[:, None]
    lit = colour[:, :3] * strength + np.where(inner, 0.0, 0.10 * shine)[:, None]
    return np.concatenate([np.clip(lit, 0.0, 1.0), colour[:, 3:]], axis=1)


def _strip(points_mm: F64, view: View, colour: str, width_mm: float, *, closed: bool) -> _Part:
    """Return a line as quads of a width in the picture."""
    from matplotlib.colors import to_rgba

    places = view.project(points_mm)
    places = places + (0.0, 0.0, IN_FRONT_MM)
    ends = np.roll(places, -1, axis=0) if closed else places[1:]
    starts = places if closed else places[:-1]
    along = (ends - starts)[:, :2]
    length = np.linalg.norm(along, axis=1, keepdims=True)
    aside = np.zeros_like(starts)
    aside[:, :2] = 0.5 * width_mm * along[:, ::-1] * (-1.0, 1.0) / np.where(length > 0.0, length, 1.0)
    quads = np.stack([starts - aside, ends - aside, ends + aside, starts + aside], axis=1)
    return _Part(quads, np.tile(to_rgba(colour), (len(quads), 1)), np.zeros(len(quads), dtype=bool))


def _spread(count: int, most: int) -> Int:
    """Return at most ``most`` indices spread evenly over ``count``, both ends among them."""
    return np.unique(np.linspace(0, count - 1, min(count, most)).round().astype(np.intp))
