"""In which order, where and in which colour are the pieces of a scene painted, so that near hides far?

The painter's way: every piece is a flat quad, those that show their inner side come first, then the outer
ones, each lot from far to near. Sorting by a quad's middle is exact for pieces this small next to the
distance between the walls; lines lie a little nearer than the skin that carries them. What lies behind the
walls is painted as through glass, its near side only, so that the wall under it is still seen.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from portgeom.geometry.arrays import F64, Bool, Int
from portgeom.job.units import length_from_mm
from portgeom.output.charts.chart_style import STYLE
from portgeom.output.scene.hazard_shapes import HazardShape
from portgeom.output.scene.port_scene import PortScene
from portgeom.output.scene.projection import View

SLABS, RAYS = 80, 120
"""The skin is painted from at most this many slabs and rays: some 9,500 quads."""

LIGHT = (-0.35, 0.55, 0.76)
"""To the light, as right, up and towards the person."""

RING_MM, LINE_MM = 0.35, 1.1
"""Width of station lines and of the wanted line."""

IN_FRONT_MM = 2.0
"""How much nearer lines are taken to be than the skin under them."""


SOFTER = 0.55
"""In soft light shadows are so much as deep: where a colour has to be read off, it must not look another."""

GLASS, GLASS_SHEET = 0.30, 0.10
"""How much of what lies under a hazard's shape is hidden by it, and under a flat face."""

RIM_MM = 0.4
"""Width of the lines that show a hazard's form."""


@dataclass(frozen=True, slots=True)
class Painted:
    """Quads in mm of the picture, in the order to paint them.

    Attributes
    ----------
    quads_mm : (k, 4, 2) float
    colours : (k, 4) float
    glass : (k,) bool
        Those that are seen through, and so must not overlap.
    """

    quads_mm: F64
    colours: F64
    glass: Bool


def painted(scene: PortScene, view: View, *, lines: bool = True) -> Painted:
    """Return the pieces of a scene seen one way, the furthest first; without ``lines`` the skin alone."""
    parts = [_skin(scene, view)]
    if lines:
        for shape in scene.shapes:
            parts.append(_glass(shape, view))
            parts += [_strip(rim, view, STYLE.ink, RIM_MM, closed=False) for rim in shape.rims]
        rays = _spread(scene.skin_mm.shape[1], RAYS)
        parts += [_strip(ring.points_mm[rays], view, STYLE.ink, RING_MM, closed=True) for ring in scene.rings]
        parts.append(_strip(scene.line_mm, view, STYLE.wanted, LINE_MM, closed=False))
    quads = np.concatenate([p.quads_mm for p in parts])
    colours = np.concatenate([p.colours for p in parts])
    inner = np.concatenate([p.inner for p in parts])
    order = np.lexsort((quads[..., 2].mean(axis=1), ~inner))
    return Painted(quads[order, :, :2], colours[order], colours[order, 3] < 1.0)


def hidden(scene: PortScene, view: View, point_mm: F64) -> bool:
    """Return whether the outer skin stands before a place, as the person sees it."""
    slabs, rays = _spread(len(scene.skin_mm), SLABS), _spread(scene.skin_mm.shape[1], RAYS)
    quads, place = _cells(view.project(scene.skin_mm[np.ix_(slabs, rays)])), view.project(point_mm)
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
    value = scene.value_mm[np.ix_(slabs, rays)]
    quads, values = _cells(points), _cells(value[..., None])[..., 0]
    normal = np.cross(quads[:, 2] - quads[:, 0], quads[:, 3] - quads[:, 1])
    size = np.linalg.norm(normal, axis=1, keepdims=True)
    normal = normal / np.where(size > 0.0, size, 1.0)
    inner = normal[:, 2] < 0.0
    seen = ~inner | _through_a_mouth(points, quads)
    quads, values, normal, inner = quads[seen], values[seen], normal[seen], inner[seen]
    shown = np.where(inner[:, None], -normal, normal)
    return _Part(quads, _shaded(_paint(scene, values), shown, inner, soft=scene.soft), inner)


def _through_a_mouth(points: F64, quads: F64) -> Bool:
    """Return which quads (k,) may show their inner side: those in line with one of the two ends of the skin.

    Whoever sees the inner side of a closed tube looks in at an end of it. Quads at an end's edge count.
    """
    from shapely import Polygon, buffer, contains_xy, union_all

    ends = union_all([buffer(Polygon(end[:, :2]).convex_hull, IN_FRONT_MM) for end in (points[0], points[-1])])
    middle = quads.mean(axis=1)
    return np.asarray(contains_xy(ends, middle[:, 0], middle[:, 1]), dtype=bool)


def _cells(grid: F64) -> F64:
    """Return the four corners of every cell of a grid (m, n, k) closed along n, anticlockwise from outside."""
    beside = np.roll(grid, -1, axis=1)
    corners = np.stack([grid[:-1], grid[1:], beside[1:], beside[:-1]], axis=2)
    return corners.reshape(-1, 4, grid.shape[-1])


def _paint(scene: PortScene, values: F64) -> F64:
    """Return colours of cells from the values at their corners."""
    known: Bool = np.asarray(np.isfinite(values).all(axis=1))
    middle = np.where(known, np.nan_to_num(values).mean(axis=1), 0.0)
    shown = scene.scale.ramp.mixed(length_from_mm(1.0, scene.units) * middle) / 255.0
    colour = np.where(known[:, None], shown, _rgb(STYLE.casting))
    return np.column_stack([colour, np.ones(len(colour))])


def _rgb(colour: str, alpha: tuple[float, ...] = ()) -> F64:
    """Return a colour ``#rrggbb`` as red, green and blue from 0 to 1, and how much it hides where that is given."""
    return np.array([*(int(colour[k : k + 2], 16) / 255.0 for k in (1, 3, 5)), *alpha])


def _glass(shape: HazardShape, view: View) -> _Part:
    """Return the near side of a shape, to be seen through; both sides of a sheet."""
    triangles = view.project(shape.vertices_mm)[shape.triangles]
    normal = np.cross(triangles[:, 1] - triangles[:, 0], triangles[:, 2] - triangles[:, 0])
    size = np.linalg.norm(normal, axis=1, keepdims=True)
    normal = normal / np.where(size > 0.0, size, 1.0)
    near = np.abs(normal[:, 2]) > 0.0 if shape.sheet else normal[:, 2] > 0.0
    quads = triangles[near][:, [0, 1, 2, 2]]
    facing = np.where(normal[near, 2:] < 0.0, -normal[near], normal[near])
    colour = np.tile(_rgb(STYLE.hidden, (GLASS_SHEET if shape.sheet else GLASS,)), (len(quads), 1))
    nowhere = np.zeros(len(quads), dtype=bool)
    return _Part(quads, _shaded(colour, facing, nowhere), nowhere)


def _shaded(colour: F64, normal: F64, inner: Bool, *, soft: bool = False) -> F64:
    """Return colours in the light: lit from the upper left, darker on the inner side; in soft light less so."""
    light = np.array(LIGHT) / np.linalg.norm(LIGHT)
    facing = np.clip(normal @ light, 0.0, 1.0)
    halfway = light + (0.0, 0.0, 1.0)
    shine = np.clip(normal @ (halfway / np.linalg.norm(halfway)), 0.0, 1.0) ** 40
    strength = np.where(inner, 0.46 + 0.34 * facing, 0.52 + 0.52 * facing)[:, None]
    strength = SOFTER * strength + (1.0 - SOFTER) if soft else strength
    lit = colour[:, :3] * strength + np.where(inner, 0.0, 0.10 * shine)[:, None]
    return np.concatenate([np.clip(lit, 0.0, 1.0), colour[:, 3:]], axis=1)


def _strip(points_mm: F64, view: View, colour: str, width_mm: float, *, closed: bool) -> _Part:
    """Return a line as quads of a width in the picture."""
    places = view.project(points_mm)
    places = places + (0.0, 0.0, IN_FRONT_MM)
    ends = np.roll(places, -1, axis=0) if closed else places[1:]
    starts = places if closed else places[:-1]
    along = (ends - starts)[:, :2]
    length = np.linalg.norm(along, axis=1, keepdims=True)
    aside = np.zeros_like(starts)
    aside[:, :2] = 0.5 * width_mm * along[:, ::-1] * (-1.0, 1.0) / np.where(length > 0.0, length, 1.0)
    quads = np.stack([starts - aside, ends - aside, ends + aside, starts + aside], axis=1)
    return _Part(quads, np.tile(_rgb(colour, (1.0,)), (len(quads), 1)), np.zeros(len(quads), dtype=bool))


def _spread(count: int, most: int) -> Int:
    """Return at most ``most`` indices spread evenly over ``count``, both ends among them."""
    return np.unique(np.linspace(0, count - 1, min(count, most)).round().astype(np.intp))
