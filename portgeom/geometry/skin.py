"""Where on a port's wall is the metal nearest to a place, and how far is it?

A port is taken as a passage through a block that has a flat face at each end, with nothing in front of
either face.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TypeVar

import numpy as np
import numpy.typing as npt

from portgeom.geometry.arrays import F32, F64, Int, frozen
from portgeom.geometry.surface import Surface

Kind = TypeVar("Kind", bound=np.generic)

SLABS_APART_MM = 1.5
"""How far apart the sections are that the nearest place is looked for on."""

EVERY = 4
"""Every so many sections and rays are looked through to find about where to begin."""

AT_ONCE = 256
"""So many places look through them at a time: more, and the distances do not fit near the processor."""

MARGIN = 2
"""Columns that the sheet goes on for on both sides, so that a search may step over its seam."""


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
    wall = surface.world_mm
    along = np.gradient(wall, surface.chart.distance_mm, axis=0)
    around = np.roll(wall, -1, axis=1) - np.roll(wall, 1, axis=1)
    # rays run anticlockwise looking in: round the port, then along it, turns out of the passage
    inward = np.cross(around, along)
    inward /= np.linalg.norm(inward, axis=2, keepdims=True)
    return Wall(surface, frozen(wall), frozen(inward))


@dataclass(frozen=True, slots=True)
class Skin:
    """Places on the metal's skin, as a sheet of sections by rays with a margin of its own places all round.

    Attributes
    ----------
    places_mm : (3, k) float32
        Section by section. The first and last sections are the lips.
    out, other : (3, k) float32
        The way out of the metal; at a lip, out of the two faces that meet there.
    flat_mm : (k,) float32
        How far round it each place stands for the skin; 0 at a lip.
    home : (k,) int
        The number of each place; for one of the margin that of the place it repeats.
    width : int
        Places in a section, with its margins.
    middle : int
        Number of the first place that is nearer to the last lip than to the first, along the port.
    faces : (2, 3) float32
        The ways out of the block's two faces.
    faces_mm : (2,) float32
        How far out they lie.
    """

    places_mm: F32
    out: F32
    other: F32
    flat_mm: F32
    home: Int
    width: int
    middle: int
    faces: F32
    faces_mm: F32

    def nearest(self, places_mm: F32) -> Int:
        """Return the numbers (k,) of the skin's places nearest to places (3, k), from no beginning."""
        number = np.unique(self.home).reshape(-1, self.width - 2 * MARGIN)
        # two of them that lie between each other: downhill from one alone may end in a hollow
        thinned = [number[k::EVERY, k::EVERY].ravel() for k in (0, min(EVERY // 2, len(number) - 1))]
        return self.nearest_from(places_mm, *(n[self._nearest_of(n, places_mm)] for n in thinned))

    def _nearest_of(self, number: Int, places_mm: F32) -> Int:
        """Return which of some of the skin's places is nearest to each place (3, k)."""
        some = self.places_mm.take(number, axis=1)
        # about their middle, so that squares stay small
        middle = some.mean(axis=1, keepdims=True)
        some, asked = some - middle, places_mm - middle
        half = np.float32(0.5) * (some**2).sum(axis=0)
        parts = np.array_split(asked, asked.shape[1] // AT_ONCE + 1, axis=1)
        return np.concatenate([np.argmin(half - part.T @ some, axis=1) for part in parts])

    def nearest_from(self, places_mm: F32, *begins: Int) -> Int:
        """Return the numbers (k,) of the skin's places nearest to places (3, k), as far as downhill leads there.

        Parameters
        ----------
        places_mm : (3, k) float32
        *begins : (k,) int
            Numbers to begin from: the nearest of them.
        """
        number = begins[0].copy()
        square = self._square_mm2(places_mm, number)
        for begin in begins[1:]:
            _closest(number, square, begin, self._square_mm2(places_mm, begin))
        live, places = np.arange(len(number)), places_mm
        while len(live):
            now, away = number.take(live), square.take(live)
            best, least = now.copy(), away.copy()
            for move in self._moves():
                _closest(best, least, now + move, self._square_mm2(places, now + move))
            on = np.flatnonzero(least < away)
            live, places = live.take(on), places.take(on, axis=1)
            number[live], square[live] = self.home.take(best.take(on)), least.take(on)
        return number

    def room_mm(self, places_mm: F32, nearest: Int) -> F32:
        """Return the distance (k,) to the metal at places (3, k) nearest to some of the skin's: negative in it."""
        offset = places_mm - self.places_mm.take(nearest, axis=1)
        away = np.sqrt((offset**2).sum(axis=0))
        square = (offset * self.out.take(nearest, axis=1)).sum(axis=0)
        flat = self.flat_mm.take(nearest)
        aside = np.sqrt(np.maximum(away**2 - square**2, np.float32(0.0)))
        distance = np.where(aside <= flat, square, np.copysign(away, square))
        edge = np.flatnonzero(flat == 0.0)
        other = (offset.take(edge, axis=1) * self.other.take(nearest.take(edge), axis=1)).sum(axis=0)
        # in front of both faces the edge itself is nearest, else the face one is in front of
        off_both = (square.take(edge) > 0.0) & (other > 0.0)
        distance[edge] = np.where(off_both, away.take(edge), np.maximum(square.take(edge), other))
        behind = np.flatnonzero(distance < 0.0)
        ahead = self.faces @ places_mm.take(behind, axis=1) - self.faces_mm[:, None]
        of_its_end = np.where(nearest.take(behind) < self.middle, ahead[0], ahead[1])
        distance[behind] = np.maximum(distance.take(behind), of_its_end)
        return distance

    def _square_mm2(self, places_mm: F32, number: Int) -> F32:
        offset = self.places_mm.take(number, axis=1)
        offset -= places_mm
        offset *= offset
        return offset[0] + offset[1] + offset[2]

    def _moves(self) -> tuple[int, ...]:
        """Return the steps to try: to the sections next to it, and one and two rays to both sides."""
        return self.width, -self.width, 2, -2, 1, -1


def skin_of(wall: Wall) -> Skin:
    """Return the skin of the metal round a port: the wall, with the lips where it meets the block's faces."""
    planes = wall.surface.chart.planes
    slabs = _thinned(np.linalg.norm(np.diff(wall.places_mm, axis=0), axis=2).max(axis=1))
    places, out = wall.places_mm[slabs], wall.inward[slabs]
    gap = np.linalg.norm(np.diff(places, axis=0), axis=2).max()
    faces = np.stack([-planes.normal[0], planes.normal[-1]])
    other = out.copy()
    other[[0, -1]] = faces[:, None]
    rows, columns, _ = places.shape
    flat = np.full((rows, columns), max(float(gap), SLABS_APART_MM))
    flat[[0, -1]] = 0.0
    width = columns + 2 * MARGIN
    number = width * np.arange(1, rows + 1)[:, None] + np.arange(MARGIN, MARGIN + columns)
    return Skin(
        places_mm=_sheet(places),
        out=_sheet(out),
        other=_sheet(other),
        flat_mm=_sheet(flat[..., None])[0],
        home=_margined(number).ravel(),
        width=width,
        middle=width * (1 + rows // 2),
        faces=faces.astype(np.float32),
        faces_mm=np.einsum("ij,ij->i", faces, planes.origin_mm[[0, -1]]).astype(np.float32),
    )


def _thinned(gaps_mm: F64) -> Int:
    """Return every so many slabs that what is left stands about SLABS_APART_MM apart, both ends kept."""
    every = max(1, round(SLABS_APART_MM / float(gaps_mm.max())))
    return np.unique([*range(0, len(gaps_mm) + 1, every), len(gaps_mm)])


def _sheet(values: F64) -> F32:
    """Return values (m, n, c) as (c, k), with a margin all round."""
    return np.ascontiguousarray(np.stack([_margined(v).ravel() for v in np.moveaxis(values, 2, 0)]), dtype=np.float32)


def _margined(values: npt.NDArray[Kind]) -> npt.NDArray[Kind]:
    """Return a sheet (m, n) that goes on round the port, and repeats its first and last section."""
    return np.pad(np.pad(values, ((0, 0), (MARGIN, MARGIN)), mode="wrap"), ((1, 1), (0, 0)), mode="edge")


def _closest(number: Int, square: F32, other: Int, other_square: F32) -> None:
    """Put in place of numbers those whose squares are less."""
    closer = other_square < square
    np.copyto(square, other_square, where=closer)
    np.copyto(number, other, where=closer)
