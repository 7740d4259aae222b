"""How much room is there at a place in a port, out to the nearest metal?

The distance to the metal is stored on a grid of the head frame, since a tool's line asks it at very many
places.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from portgeom.geometry.arrays import F32, F64, Int, frozen
from portgeom.geometry.skin import Skin, Wall, skin_of

STEP_MM = 1.25
"""Step of the grid."""

HALVINGS = 2
"""How often the steps of the grid asked first are halved, each time only where it matters."""

AT_ONCE = 30_000
"""About how many places are asked at once: more of them no longer fit the processor's own memory."""

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
    places, normal = wall.places_mm, wall.surface.chart.planes.normal
    ends = np.concatenate([places[0] - beyond_mm * normal[0], places[-1] + beyond_mm * normal[-1]])
    around = np.concatenate([places.reshape(-1, 3), ends])
    low = around.min(axis=0) - step_mm
    coarse_mm = step_mm * 2**HALVINGS
    nx, ny, nz = (int(n) + 1 for n in np.ceil((around.max(axis=0) + step_mm - low) / coarse_mm))
    skin = skin_of(wall)
    grid = _coarse(skin, low, coarse_mm, (nx, ny, nz))
    for _ in range(HALVINGS):
        grid = _halved(skin, grid, least_mm=-DIAGONAL * step_mm, most_mm=most_mm)
    nx, ny, nz = grid.room_mm.shape
    return Room(frozen(low), step_mm, (nx, ny, nz), np.minimum(grid.room_mm, np.float32(most_mm)).ravel(), most_mm)


@dataclass(frozen=True, slots=True)
class _Grid:
    """A grid on the way to the one wanted: room, and which place of the skin is nearest, at (x, y, z)."""

    low_mm: F64
    step_mm: float
    room_mm: F32
    nearest: Int

    def places_mm(self, steps: Int) -> F32:
        """Return the places (3, k) so many steps (3, k) from the first."""
        return steps.astype(np.float32) * np.float32(self.step_mm) + self.low_mm.astype(np.float32)[:, None]


def _coarse(skin: Skin, low: F64, step_mm: float, count: tuple[int, int, int]) -> _Grid:
    """Return a grid with the room asked at all its places."""
    empty = _Grid(low, step_mm, np.zeros(count, dtype=np.float32), np.zeros(count, dtype=np.intp))
    places = empty.places_mm(np.indices(count).reshape(3, -1))
    nearest = skin.nearest(places)
    return replace(empty, room_mm=skin.room_mm(places, nearest).reshape(count), nearest=nearest.reshape(count))


def _halved(skin: Skin, grid: _Grid, *, least_mm: float, most_mm: float) -> _Grid:
    """Return a grid with steps half as long, asked where the room may lie between two bounds, else interpolated.

    Every place begins its search at what is nearest to the old grid's places next to it.
    """
    fine = _Grid(grid.low_mm, 0.5 * grid.step_mm, _between(grid.room_mm), _doubled(grid.nearest))
    # between two places the room is off by less than half their distance
    slack = 0.5 * grid.step_mm
    room, nearest = fine.room_mm.reshape(-1), fine.nearest.reshape(-1)
    wanted = np.flatnonzero((room > least_mm - slack) & (room < most_mm + slack))
    for some in np.array_split(wanted, len(wanted) // AT_ONCE + 1):
        steps = np.array(np.unravel_index(some, fine.room_mm.shape))
        places = fine.places_mm(steps)
        nearest[some] = skin.nearest_from(places, *_beginnings(grid.nearest, steps))
        room[some] = skin.room_mm(places, nearest[some])
    return fine


def _beginnings(coarse: Int, steps: Int) -> list[Int]:
    """Return what a grid says at four of the corners round places (3, k) in half its steps.

    Between two of its places or four, these are all there are.
    """
    _, ny, nz = coarse.shape
    low, (x, y, z) = steps >> 1, (steps & 1) * np.array([[ny * nz], [nz], [1]])
    first = (low[0] * ny + low[1]) * nz + low[2]
    return [coarse.take(first + shift) for shift in (0, x + y, x + z, y + z)]


def _between(coarse: F32) -> F32:
    """Return a grid with steps half as long, interpolated linearly."""
    fine = coarse
    for axis in range(3):
        fine = np.moveaxis(fine, axis, 0)
        longer = np.empty((2 * len(fine) - 1, *fine.shape[1:]), dtype=np.float32)
        longer[::2] = fine
        longer[1::2] = np.float32(0.5) * (fine[:-1] + fine[1:])
        fine = np.moveaxis(longer, 0, axis)
    return np.ascontiguousarray(fine)


def _doubled(coarse: Int) -> Int:
    """Return a grid with steps half as long, every place with what the one before it says."""
    x, y, z = (np.arange(2 * n - 1) // 2 for n in coarse.shape)
    return coarse[np.ix_(x, y, z)]
