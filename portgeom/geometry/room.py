"""How much room is there at a place in a port, out to the nearest metal?

A port once cut is taken as a passage through a block that has a flat face at each end, with nothing in
front of either face. The distance to the metal is stored on a grid of the head frame, since a tool's line
asks it at very many places.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TypeAlias

import numpy as np
import numpy.typing as npt

from portgeom.geometry.arrays import F64, Int, frozen
from portgeom.geometry.surface import Surface

F32: TypeAlias = npt.NDArray[np.float32]

STEP_MM = 1.25
"""Step of the grid."""

COARSE = 4
"""Steps between the places asked first, to find where the grid has to be fine."""

LEAF = 64
"""Places of the wall looked through one by one: fewer, and finding them takes longer than looking."""

CLOUD_MM = 1.5
"""How far apart the places on the wall are that the nearest of is looked for."""

FACE_RINGS_MM = (1.0, 2.0, 3.5, 5.5, 8.0, 11.0, 15.0, 20.0, 26.0)
"""How far out from the lip the face is sampled. Beyond that no tool line that clears the lip comes near it."""

DIAGONAL = float(np.sqrt(3.0))


@dataclass(frozen=True, slots=True)
class Room:
    """Distance to the metal on a grid: positive where there is room, negative in the metal.

    Attributes
    ----------
    corner_mm : (3,) float
        The grid's first place in the head frame.
    step_mm : float
    count : tuple of int
        Places along x, y and z.
    distance_mm : (x y z,) float32
        Row by row. Exact near the walls; no deeper than needed in the metal or in the open.
    most_mm : float
        The greatest distance stored. Less than two steps below it the room may read up to 0.3 mm less.

    Notes
    -----
    Between places it is interpolated linearly: exact over a flat wall, and off by less than a tenth of a
    step over one that curves by five steps or more. In a sharp corner it is off by up to 0.3 of a step.
    """

    corner_mm: F64
    step_mm: float
    count: tuple[int, int, int]
    distance_mm: F32
    most_mm: float

    @property
    def nearest_error_mm(self) -> float:
        """Return how far the nearest grid place can be from any place in the grid."""
        return 0.5 * DIAGONAL * self.step_mm

    def nearest(self, places_mm: F32) -> F32:
        """Return the distance (k,) at the grid places nearest to (3, k): within ``nearest_error_mm``."""
        return self.distance_mm.take(self._index((self._in_grid(places_mm) + np.float32(0.5)).astype(np.int32)))

    def at(self, places_mm: F32) -> F32:
        """Return the distance (k,) at places (3, k); outside the grid, at the grid's nearest side."""
        c, (fx, fy, fz) = self._cell(places_mm)
        low = [a + fz * (b - a) for a, b in zip(c[0::2], c[1::2], strict=True)]
        front, back = low[0] + fy * (low[1] - low[0]), low[2] + fy * (low[3] - low[2])
        return front + fx * (back - front)

    def slope(self, places_mm: F32) -> F32:
        """Return the way out (3, k) at places (3, k): the unit vector along which the room grows."""
        c, (fx, fy, fz) = self._cell(places_mm)
        gx, gy, gz = 1 - fx, 1 - fy, 1 - fz
        dz = gx * (gy * (c[1] - c[0]) + fy * (c[3] - c[2])) + fx * (gy * (c[5] - c[4]) + fy * (c[7] - c[6]))
        dy = gx * (gz * (c[2] - c[0]) + fz * (c[3] - c[1])) + fx * (gz * (c[6] - c[4]) + fz * (c[7] - c[5]))
        dx = gy * (gz * (c[4] - c[0]) + fz * (c[5] - c[1])) + fy * (gz * (c[6] - c[2]) + fz * (c[7] - c[3]))
        steep = np.stack([dx, dy, dz])
        length = np.sqrt((steep**2).sum(axis=0))
        return np.divide(steep, length, out=np.zeros_like(steep), where=length > 0.0)

    def _in_grid(self, places: F32) -> F32:
        """Return places (3, k) in steps of the grid, kept inside its last cell."""
        first = (self.corner_mm / self.step_mm).astype(np.float32)
        last = np.array(self.count, dtype=np.float32) - np.float32(1.001)
        steps = places * np.float32(1.0 / self.step_mm)
        steps -= first[:, None]
        return np.clip(steps, np.float32(0.0), last[:, None], out=steps)

    def _index(self, cell: npt.NDArray[np.int32]) -> Int:
        """Return where the grid's places (3, k) stand in the list of distances."""
        _, ny, nz = self.count
        return ((cell[0] * np.int32(ny) + cell[1]) * np.int32(nz) + cell[2]).astype(np.intp)

    def _cell(self, places: F32) -> tuple[list[F32], F32]:
        """Return the distances at the eight corners of each place's cell, and its shares (3, k) along x, y and z."""
        place = self._in_grid(places)
        whole = place.astype(np.int32)
        _, ny, nz = self.count
        first = self._index(whole)
        shifts = [(i * ny + j) * nz + k for i in (0, 1) for j in (0, 1) for k in (0, 1)]
        # a view that starts further on saves adding to every index
        corners = [self.distance_mm[shift:].take(first) for shift in shifts]
        place -= whole
        return corners, place


@dataclass(frozen=True, slots=True)
class Wall:
    """A surface in the head frame.

    Attributes
    ----------
    surface : Surface
    places_mm, inward : (m, n, 3) float
        At every slab and ray, and the unit normals into the passage.
    """

    surface: Surface
    places_mm: F64
    inward: F64


def wall_of(surface: Surface) -> Wall:
    """Return a surface in the head frame, with its normals."""
    wall = surface.chart.planes.world_mm(surface.points_mm)
    along = np.gradient(wall, surface.chart.distance_mm, axis=0)
    around = np.roll(wall, -1, axis=1) - np.roll(wall, 1, axis=1)
    # rays run anticlockwise looking in: round the port, then along it, turns out of the passage
    inward = np.cross(around, along)
    inward /= np.linalg.norm(inward, axis=2, keepdims=True)
    return Wall(surface, frozen(wall), frozen(inward))


def room_in(wall: Wall, *, most_mm: float, beyond_mm: float, step_mm: float = STEP_MM) -> Room:
    """Return the room in a port and in front of its two faces.

    Parameters
    ----------
    wall : Wall
    most_mm : float
        Room of which no more need be known than that it is there.
    beyond_mm : float
        How far in front of the faces the grid goes.
    """
    from scipy.spatial import cKDTree

    places, normal = wall.places_mm, wall.surface.chart.planes.normal
    cloud = _cloud(wall)
    ends = np.concatenate([places[0] - beyond_mm * normal[0], places[-1] + beyond_mm * normal[-1]])
    around = np.concatenate([places.reshape(-1, 3), ends])
    low = around.min(axis=0) - step_mm
    blocks = np.ceil((around.max(axis=0) + step_mm - low) / (COARSE * step_mm)).astype(np.intp) + 1
    tree = cKDTree(cloud.points_mm, leafsize=LEAF)
    coarse = _asked(tree, cloud, _places(low, blocks, COARSE * step_mm)).reshape(blocks)
    fine = _between(coarse)
    # a cell of the coarse grid varies by no more than its diagonal
    block = COARSE * step_mm
    wanted = (fine > -DIAGONAL * step_mm - 0.5 * block) & (fine < most_mm + 0.5 * block)
    fine[wanted] = _asked(tree, cloud, low + step_mm * np.argwhere(wanted))
    nx, ny, nz = fine.shape
    return Room(frozen(low), step_mm, (nx, ny, nz), np.minimum(fine, np.float32(most_mm)).ravel(), most_mm)


@dataclass(frozen=True, slots=True)
class _Cloud:
    """Places on the metal's skin.

    Attributes
    ----------
    points_mm : (k, 3) float
    out, other : (k, 3) float
        The way out of the metal; at an edge of it, out of the two faces that meet there.
    flat_mm : (k,) float
        How far round it each place stands for the skin; 0 for an edge.
    """

    points_mm: F64
    out: F64
    other: F64
    flat_mm: F64


def _cloud(skin: Wall) -> _Cloud:
    """Return the skin about CLOUD_MM apart: the wall, the lips, and the faces round them."""
    wall, inward, planes = skin.places_mm, skin.inward, skin.surface.chart.planes
    slabs = _thinned(np.linalg.norm(np.diff(wall, axis=0), axis=2).max(axis=1), wraps=False)
    rays = _thinned(np.linalg.norm(np.roll(wall, -1, axis=1) - wall, axis=2).max(axis=0), wraps=True)
    inner = np.ix_(slabs[1:-1], rays)
    gaps = np.linalg.norm(np.diff(wall[np.ix_(slabs, rays)], axis=0), axis=2).max()
    points, out, other = (
        [wall[inner].reshape(-1, 3)],
        [inward[inner].reshape(-1, 3)],
        [inward[inner].reshape(-1, 3)],
    )
    flat = [np.full(len(points[0]), max(float(gaps), CLOUD_MM))]
    for end, ahead in ((0, planes.normal[0]), (-1, -planes.normal[-1])):
        lip, into = wall[end], inward[end]
        away = (into @ ahead)[:, None] * ahead - into
        away /= np.linalg.norm(away, axis=1, keepdims=True)
        face = np.broadcast_to(-ahead, lip.shape)
        for far in (0.0, *FACE_RINGS_MM):
            points.append(lip + far * away)
            out.append(into if far == 0.0 else face)
            other.append(face)
            flat.append(np.full(len(lip), far))
    return _Cloud(np.concatenate(points), np.concatenate(out), np.concatenate(other), np.concatenate(flat))


def _thinned(gaps: F64, *, wraps: bool) -> Int:
    """Return every so many indices that what is left stands about CLOUD_MM apart, both ends kept."""
    count = len(gaps) if wraps else len(gaps) + 1
    every = max(1, round(CLOUD_MM / float(gaps.max())))
    kept = np.arange(0, count, every)
    return kept if wraps else np.unique([*kept, count - 1])


def _places(low: F64, count: npt.NDArray[np.intp], step: float) -> F64:
    axes = [low[k] + step * np.arange(count[k]) for k in range(3)]
    return np.stack(np.meshgrid(*axes, indexing="ij"), axis=-1).reshape(-1, 3)


def _asked(tree: object, cloud: _Cloud, places: F64) -> F32:
    away, index = tree.query(places, workers=2)  # type: ignore[attr-defined]
    offset = places - cloud.points_mm[index]
    square = np.einsum("ij,ij->i", offset, cloud.out[index])
    flat = cloud.flat_mm[index]
    aside = np.sqrt(np.maximum(away**2 - square**2, 0.0))
    distance = np.where(aside <= flat, square, np.copysign(away, square))
    edge = np.flatnonzero(flat == 0.0)
    other = np.einsum("ij,ij->i", offset[edge], cloud.other[index[edge]])
    # in front of both faces the edge itself is nearest, else the face one is in front of
    off_both = (square[edge] > 0.0) & (other > 0.0)
    distance[edge] = np.where(off_both, away[edge], np.maximum(square[edge], other))
    return distance.astype(np.float32)


def _between(coarse: F32) -> F32:
    """Return a grid COARSE times as fine, interpolated linearly."""
    fine = coarse
    for axis in range(3):
        share = (np.arange(COARSE, dtype=np.float32) / COARSE).reshape([-1 if a == axis + 1 else 1 for a in range(4)])
        low = np.expand_dims(np.take(fine, range(fine.shape[axis] - 1), axis=axis), axis + 1)
        high = np.expand_dims(np.take(fine, range(1, fine.shape[axis]), axis=axis), axis + 1)
        shape = list(fine.shape)
        shape[axis] = (shape[axis] - 1) * COARSE
        blended = (low + share * (high - low)).reshape(shape)
        last = np.take(fine, [fine.shape[axis] - 1], axis=axis)
        fine = np.concatenate([blended, last], axis=axis)
    return np.ascontiguousarray(fine, dtype=np.float32)
