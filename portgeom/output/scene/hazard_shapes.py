"""What do the things behind a port's walls look like next to it: holes, pockets, faces, water spaces?

Only what is near the port is drawn: a hole through the whole head would make the port small.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from portgeom.geometry.arrays import F64, Int, frozen
from portgeom.geometry.distance import DRILL_POINT_DEG
from portgeom.geometry.surface import Surface
from portgeom.job.faults import Gathered
from portgeom.job.hazard_mesh import read_hazard_mesh
from portgeom.job.values import Hazard
from portgeom.questions.walls.behind import Behind

MARGIN_MM = 10.0
"""How far from the port's own box a shape still is drawn."""

NEAR_PLANE_MM = 25.0
"""A face is drawn over those parts of the port that come this near to it."""

PIECE_MM = 4.0
"""How large the pieces of a shape are, so that far ones can be hidden behind near ones."""

ROUND = 40
"""Flat pieces round a hole."""

MOST_TRIANGLES = 6000
"""A mesh of more is drawn coarser."""

FINEST_MM = 1.0
"""Corners that come this near become one where a mesh is drawn coarser, or further if that is not enough."""

READING_MM = 1.3
"""Half the size of the mark where a wall was read."""


@dataclass(frozen=True, slots=True)
class HazardShape:
    """One thing behind the walls, in the head frame.

    Attributes
    ----------
    name : str
    vertices_mm : (n, 3) float
    triangles : (k, 3) int
        Anticlockwise from outside.
    rims : tuple of (j, 3) float
        Lines that show its form: mouths of holes, edges of faces.
    sheet : bool
        Whether it has no inside, and is seen from both sides.
    """

    name: str
    vertices_mm: F64
    triangles: Int
    rims: tuple[F64, ...]
    sheet: bool


def hazard_shapes(hazards: Sequence[Behind], surface: Surface, folder: Path) -> tuple[HazardShape, ...]:
    """Return the shapes of those hazards that come near a port.

    Parameters
    ----------
    folder : Path
        Of the job, where meshes lie.
    """
    skin = surface.world_mm.reshape(-1, 3)
    box = np.array([[s.min() - MARGIN_MM, s.max() + MARGIN_MM] for s in skin.T]).T
    found = (_shape(h, surface, skin, box, folder) for h in hazards)
    return tuple(s for s in found if s is not None and len(s.triangles))


def _shape(behind: Behind, surface: Surface, skin: F64, box: F64, folder: Path) -> HazardShape | None:
    """Return one shape next to the places (n, 3) of a skin, in the box (2, 3) in which shapes are drawn."""
    hazard = behind.hazard
    if hazard.shape == "cylinder":
        return _hole(hazard, box)
    if hazard.shape == "plane":
        return _face(hazard, skin)
    if hazard.shape == "readings":
        return _readings(hazard, surface)
    return _mesh(hazard, box, folder)


def _hole(hazard: Hazard, box: F64) -> HazardShape | None:
    start, end, diameter = hazard.start_mm, hazard.end_mm, hazard.diameter_mm
    assert start is not None
    assert end is not None
    assert diameter is not None
    radius, length = 0.5 * diameter, float(np.linalg.norm(end - start))
    axis = (end - start) / length
    first, last = _within(box + [[-radius], [radius]], start, axis, length)
    if last <= first:
        return None
    tip = radius / np.tan(np.radians(0.5 * DRILL_POINT_DEG)) if hazard.drill_point and last == length else 0.0
    profile = np.concatenate(
        [
            _leg((first, 0.0), (first, radius)),
            _leg((first, radius), (last, radius))[1:],
            _leg((last, radius), (last + tip, 0.0))[1:],
        ]
    )
    vertices, triangles = _turned(start, axis, profile)
    ends = [at for at, whole in ((first, first == 0.0), (last, last == length)) if whole]
    rims = tuple(frozen(_circle(start + at * axis, axis, radius)) for at in ends)
    return HazardShape(hazard.name, frozen(vertices), triangles, rims, sheet=False)


def _within(box: F64, start: F64, axis: F64, length: float) -> tuple[float, float]:
    """Return from where to where along an axis it runs inside a box; nothing where the end comes first."""
    safe = np.where(np.abs(axis) > 1e-12, axis, 1e-12)
    near, far = np.sort((box - start) / safe, axis=0)
    return max(0.0, float(near.max())), min(length, float(far.min()))


def _leg(start: tuple[float, float], end: tuple[float, float]) -> F64:
    """Return a straight piece of a profile in pieces small enough."""
    count = max(1, int(np.ceil(np.hypot(end[0] - start[0], end[1] - start[1]) / PIECE_MM)))
    return np.linspace(start, end, count + 1)


def _across(axis: F64) -> F64:
    """Return two directions (2, 3) square to an axis, the second a quarter turn on from the first about it."""
    least = np.eye(3)[int(np.argmin(np.abs(axis)))]
    first = np.cross(axis, least)
    first /= np.linalg.norm(first)
    return np.stack([first, np.cross(axis, first)])


def _circle(middle: F64, axis: F64, radius: float) -> F64:
    angle = np.linspace(0.0, 2.0 * np.pi, ROUND + 1)
    return middle + radius * np.column_stack([np.cos(angle), np.sin(angle)]) @ _across(axis)


def _turned(start: F64, axis: F64, profile: F64) -> tuple[F64, Int]:
    """Return vertices and triangles of a profile (k, 2) of place along an axis and radius, turned about it."""
    angle = np.linspace(0.0, 2.0 * np.pi, ROUND, endpoint=False)
    out = np.column_stack([np.cos(angle), np.sin(angle)]) @ _across(axis)
    vertices = start + profile[:, None, :1] * axis + profile[:, None, 1:] * out
    index = np.arange(vertices.shape[0] * ROUND).reshape(-1, ROUND)
    beside = np.roll(index, -1, axis=1)
    quads = np.stack([index[:-1], beside[:-1], beside[1:], index[1:]], axis=-1).reshape(-1, 4)
    triangles = np.concatenate([quads[:, [0, 1, 2]], quads[:, [0, 2, 3]]])
    vertices = vertices.reshape(-1, 3)
    return vertices, _with_area(vertices, triangles)


def _with_area(vertices: F64, triangles: Int) -> Int:
    a, b, c = np.moveaxis(vertices[triangles], 1, 0)
    return triangles[np.linalg.norm(np.cross(b - a, c - a), axis=1) > 1e-9]


def _face(hazard: Hazard, skin: F64) -> HazardShape | None:
    point, normal = hazard.point_mm, hazard.normal
    assert point is not None
    assert normal is not None
    axis = normal / np.linalg.norm(normal)
    gap = np.abs((skin - point) @ axis)
    close = skin[gap <= NEAR_PLANE_MM]
    if len(close) == 0:
        return None
    across = _across(axis)
    flat = (close - point) @ across.T
    low, high = flat.min(axis=0), flat.max(axis=0)
    counts = np.maximum(1, np.ceil((high - low) / PIECE_MM)).astype(int)
    a, b = (np.linspace(low[k], high[k], counts[k] + 1) for k in (0, 1))
    vertices = (point + a[:, None, None] * across[0] + b[None, :, None] * across[1]).reshape(-1, 3)
    index = np.arange(len(vertices)).reshape(len(a), len(b))
    quads = np.stack([index[:-1, :-1], index[1:, :-1], index[1:, 1:], index[:-1, 1:]], axis=-1).reshape(-1, 4)
    corners = np.array([[low[0], low[1]], [high[0], low[1]], high, [low[0], high[1]], low])
    edge = frozen(point + corners @ across)
    triangles = np.concatenate([quads[:, [0, 1, 2]], quads[:, [0, 2, 3]]])
    return HazardShape(hazard.name, frozen(vertices), triangles, (edge,), sheet=True)


def _mesh(hazard: Hazard, box: F64, folder: Path) -> HazardShape | None:
    gathered = Gathered()
    mesh = read_hazard_mesh(hazard, folder, gathered)
    gathered.refuse()
    if mesh is None:
        return None
    low, high = box
    inside = ((mesh.vertices_mm >= low) & (mesh.vertices_mm <= high)).all(axis=1)
    near = mesh.faces[inside[mesh.faces].any(axis=1)]
    vertices, triangles, size = mesh.vertices_mm, near, FINEST_MM
    while len(triangles) > MOST_TRIANGLES:
        vertices, triangles = _coarser(mesh.vertices_mm, near, size)
        size *= 1.5
    return HazardShape(hazard.name, frozen(vertices), triangles, (), sheet=not mesh.closed)


def _coarser(vertices: F64, triangles: Int, size_mm: float) -> tuple[F64, Int]:
    """Return a mesh whose corners within one cell of a grid have become one."""
    used, compact = np.unique(triangles, return_inverse=True)
    cell = np.floor(vertices[used] / size_mm).astype(np.int64)
    _, which, count = np.unique(cell, axis=0, return_inverse=True, return_counts=True)
    which = which.reshape(-1)
    middle = np.column_stack([np.bincount(which, weights=vertices[used, k]) for k in range(3)]) / count[:, None]
    fewer = which[compact.reshape(-1, 3)]
    apart = (fewer != np.roll(fewer, 1, axis=1)).all(axis=1)
    return middle, np.unique(fewer[apart], axis=0)


def _readings(hazard: Hazard, surface: Surface) -> HazardShape | None:
    """Return a small mark at every place where the wall was read."""
    if not hazard.readings:
        return None
    places = np.array([place_mm(surface, r.distance_mm, r.clock_deg) for r in hazard.readings])
    corners = READING_MM * np.concatenate([np.eye(3), -np.eye(3)])
    sides = np.array([(0, 1, 2), (1, 3, 2), (3, 4, 2), (4, 0, 2), (1, 0, 5), (3, 1, 5), (4, 3, 5), (0, 4, 5)])
    vertices = (places[:, None] + corners).reshape(-1, 3)
    triangles = (6 * np.arange(len(places))[:, None, None] + sides).reshape(-1, 3)
    return HazardShape(hazard.name, frozen(vertices), triangles, (), sheet=False)


def place_mm(surface: Surface, distance_mm: float, clock_deg: float) -> F64:
    """Return the place (3,) of a surface at a path distance and clock position, to the nearest ray."""
    chart = surface.chart
    slab = chart.slab_at(distance_mm)
    points = surface.points_mm[slab]
    away = points - chart.centre_mm[slab]
    clock = np.degrees(np.arctan2(away[:, 0], away[:, 1]))
    ray = int(np.argmin(np.abs((clock - clock_deg + 180.0) % 360.0 - 180.0)))
    planes = chart.planes
    return planes.origin_mm[slab] + points[ray, 0] * planes.right[slab] + points[ray, 1] * planes.up[slab]
