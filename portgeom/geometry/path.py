"""Where is the port's path, and how do its section planes stand along it?

Head frame: x to the right looking in, y into the port, z up from the deck. At distance s the plane has
u to the right, v up and d, its normal, along the flow.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Self

import numpy as np
import numpy.typing as npt

from portgeom.geometry.arrays import F64, Int, frozen
from portgeom.geometry.findings import Finding, GeometryError
from portgeom.geometry.told_lengths import mm


@dataclass(frozen=True, slots=True)
class Planes:
    """Section planes at places along a path, all arrays with one row a place.

    Attributes
    ----------
    distance_mm : (..., k) float
    origin_mm, velocity : (..., k, 3) float
        The path and its derivative with distance, in the head frame.
    right, normal, up : (..., k, 3) float
        u, d and v of each plane.
    turning_per_mm : (..., k, 3) float
        Derivative of the normal with distance: the turn of the planes.
    """

    distance_mm: F64
    origin_mm: F64
    velocity: F64
    right: F64
    normal: F64
    up: F64
    turning_per_mm: F64

    def at(self, which: Int) -> Planes:
        """Return some of the planes, in the order asked."""
        vectors = self.origin_mm, self.velocity, self.right, self.normal, self.up, self.turning_per_mm
        return Planes(self.distance_mm[..., which], *(v[..., which, :] for v in vectors))

    def world_mm(self, points_mm: F64) -> F64:
        """Return section points (..., k, n, 2) in the head frame, (..., k, n, 3)."""
        u, v = points_mm[..., 0], points_mm[..., 1]
        world = np.empty((*np.broadcast_shapes(u.shape, (*self.origin_mm.shape[:-1], 1)), 3))
        for xyz in range(3):  # whole rows of points at a time
            along = u * self.right[..., None, xyz]
            along += self.origin_mm[..., None, xyz]
            along += v * self.up[..., None, xyz]
            world[..., xyz] = along
        return world


@dataclass(frozen=True, slots=True)
class Path:
    """The reference line through stations, with a plane at each.

    Between stations the normal turns along the great circle at a steady rate, u and v go with it
    without twist, and what roll is left over is spread evenly. So a change of pitch alone is a circular
    arc. Where places are given the line through them is a cubic that leaves and arrives along the
    stations' normals (tangents of length chord (t/2) / sin(t/2), t the turn).

    Many paths are kept as one, with a leading axis on every array.

    Attributes
    ----------
    distance_mm : (..., n) float
    origin_mm, right, normal, up : (..., n, 3) float
    axis : (..., n-1, 3) float
        What each interval turns about.
    turn_rad, roll_rad : (..., n-1) float
        How far it turns, and how far it rolls besides.
    tangent_mm : (..., n-1) float
        Length of the tangents where places were given, 0 where the line follows the normals.
    """

    distance_mm: F64
    origin_mm: F64
    right: F64
    normal: F64
    up: F64
    axis: F64
    turn_rad: F64
    roll_rad: F64
    tangent_mm: F64

    @classmethod
    def from_angles(
        cls,
        distance_mm: npt.ArrayLike,
        pitch_deg: npt.ArrayLike,
        yaw_deg: npt.ArrayLike,
        roll_deg: npt.ArrayLike,
        *,
        start_mm: npt.ArrayLike = (0.0, 0.0, 0.0),
    ) -> Self:
        """Return the path that starts at ``start_mm`` and follows the stations' directions.

        Raises
        ------
        GeometryError
            Where two neighbouring stations look in opposite directions.
        """
        s = frozen(distance_mm)
        right, normal, up = _station_axes(pitch_deg, yaw_deg, roll_deg)
        axis, turn, roll = _turns(right, normal, up)
        step = np.diff(s)
        origin = np.zeros_like(normal)
        origin[..., 0, :] = start_mm
        advance = _arc_mm(normal[..., :-1, :], axis, turn, step, np.ones(step.shape))
        origin[..., 1:, :] = origin[..., :1, :] + np.cumsum(advance, axis=-2)
        return cls(s, frozen(origin), right, normal, up, axis, turn, roll, frozen(np.zeros(step.shape)))

    @classmethod
    def through_places(
        cls,
        places_mm: npt.ArrayLike,
        pitch_deg: npt.ArrayLike,
        yaw_deg: npt.ArrayLike,
        roll_deg: npt.ArrayLike,
        *,
        distance_mm: npt.ArrayLike | None = None,
    ) -> Self:
        """Return the path through places (..., n, 3); without distances they are the path's own length.

        Raises
        ------
        GeometryError
            Where two neighbouring stations look in opposite directions, places fall together, or
            distances disagree with the path's length by more than 2 percent.
        """
        origin = frozen(places_mm)
        right, normal, up = _station_axes(pitch_deg, yaw_deg, roll_deg)
        axis, turn, roll = _turns(right, normal, up)
        chord = np.linalg.norm(np.diff(origin, axis=-2), axis=-1)
        together = np.flatnonzero(chord == 0.0)
        if len(together) and chord.ndim == 1:
            raise GeometryError(
                Finding(int(i) + 1, "x", "is at the same place as the station before", "give its own place")
                for i in together
            )
        half = 0.5 * turn
        tangent = chord * np.divide(half, np.sin(half), out=np.ones_like(half), where=half > 0.0)
        length = _cubic_length_mm(origin, normal, tangent)
        own = np.concatenate([np.zeros_like(length[..., :1]), np.cumsum(length, axis=-1)], axis=-1)
        s = own if distance_mm is None else np.asarray(distance_mm, dtype=np.float64)
        if s.ndim == 1:
            _refuse_wrong_distances(np.diff(s), length)
        return cls(frozen(s), origin, right, normal, up, axis, turn, roll, frozen(tangent))

    @property
    def length_mm(self) -> float:
        """Return the distance from the first station to the last."""
        return float(self.distance_mm[-1] - self.distance_mm[0])

    def interval_of(self, distance_mm: F64) -> Int:
        """Return the interval each distance lies in; a station belongs to the interval after it."""
        index = np.searchsorted(self.distance_mm, distance_mm, side="right") - 1
        return np.clip(index, 0, len(self.distance_mm) - 2)

    def planes(self, distance_mm: npt.ArrayLike, interval: Int | None = None) -> Planes:
        """Return the section planes at ``distance_mm`` (..., k).

        ``interval`` (k,) says which interval each place belongs to, for the turning at a station, which is
        not the same before and after it; many paths at once need it.
        """
        s = np.atleast_1d(np.asarray(distance_mm, dtype=np.float64))
        i = self.interval_of(s) if interval is None else interval
        step = np.diff(self.distance_mm)[..., i]
        w = (s - self.distance_mm[..., i]) / step
        turn, axis, entry = self.turn_rad[..., i], self.axis[..., i, :], self.normal[..., i, :]
        cosine, sine = np.cos(turn * w)[..., None], np.sin(turn * w)[..., None]
        right, up, normal = (_turned(v, axis, cosine, sine) for v in (self.right[..., i, :], self.up[..., i, :], entry))
        c, r = np.cos(self.roll_rad[..., i] * w)[..., None], np.sin(self.roll_rad[..., i] * w)[..., None]
        right, up = c * right + r * up, c * up - r * right
        turning = _cross(axis, normal) * (turn / step)[..., None]
        origin = self.origin_mm[..., i, :] + _arc_mm(entry, axis, turn, step, w)
        velocity = normal
        placed = self.tangent_mm[..., i] > 0.0
        if placed.any():
            cubic, slope = self._cubic(i, w)
            origin = np.where(placed[..., None], cubic, origin)
            velocity = np.where(placed[..., None], slope / step[..., None], velocity)
        return Planes(s, origin, velocity, right, normal, up, turning)

    def _cubic(self, i: Int, w: F64) -> tuple[F64, F64]:
        return _hermite(
            self.origin_mm[..., i, :],
            self.origin_mm[..., i + 1, :],
            self.normal[..., i, :] * self.tangent_mm[..., i, None],
            self.normal[..., i + 1, :] * self.tangent_mm[..., i, None],
            w,
        )


def direction(pitch_deg: npt.ArrayLike, yaw_deg: npt.ArrayLike) -> F64:
    """Return the flow direction (..., 3): pitch turns it down to the deck, yaw to the right looking in.

    Examples
    --------
    >>> direction(90.0, 0.0).round(12).tolist()
    [0.0, 0.0, -1.0]
    """
    pitch, yaw = np.radians(pitch_deg), np.radians(yaw_deg)
    return np.stack([np.sin(yaw) * np.cos(pitch), np.cos(yaw) * np.cos(pitch), -np.sin(pitch)], axis=-1)


def _station_axes(pitch_deg: npt.ArrayLike, yaw_deg: npt.ArrayLike, roll_deg: npt.ArrayLike) -> tuple[F64, F64, F64]:
    normal = direction(pitch_deg, yaw_deg)
    yaw, roll = np.radians(yaw_deg), np.radians(roll_deg)
    level = np.stack([np.cos(yaw), -np.sin(yaw), np.zeros_like(yaw)], axis=-1)
    above = _cross(level, normal)
    c, r = np.cos(roll)[..., None], np.sin(roll)[..., None]
    return frozen(c * level + r * above), frozen(normal), frozen(c * above - r * level)


def _turns(right: F64, normal: F64, up: F64) -> tuple[F64, F64, F64]:
    before, after = normal[..., :-1, :], normal[..., 1:, :]
    cross = _cross(before, after)
    sine = np.linalg.norm(cross, axis=-1)
    cosine = np.einsum("...j,...j->...", before, after)
    turn = np.arctan2(sine, cosine)
    rounding = 8.0 * np.finfo(np.float64).eps  # of the unit vectors themselves
    opposite = np.flatnonzero((sine <= rounding) & (cosine < 0.0))
    if len(opposite) and cosine.ndim == 1:
        raise GeometryError(
            Finding(int(i) + 1, "pitch", "looks straight back at the station before", "put a station between")
            for i in opposite
        )
    still = sine <= rounding
    axis = np.where(still[..., None], right[..., :-1, :], cross / np.where(still, 1.0, sine)[..., None])
    turn = np.where(still, 0.0, turn)
    carried_right = _rotated(right[..., :-1, :], axis, turn)
    carried_up = _rotated(up[..., :-1, :], axis, turn)
    there = right[..., 1:, :]
    roll = np.arctan2(np.einsum("...j,...j->...", there, carried_up), np.einsum("...j,...j->...", there, carried_right))
    return frozen(axis), frozen(turn), frozen(roll)


def _cross(first: F64, second: F64) -> F64:
    """Return the cross product of vectors (..., 3); numpy's own takes long over many short rows."""
    a, b, c = (first[..., k] for k in range(3))
    x, y, z = (second[..., k] for k in range(3))
    return np.stack([b * z - c * y, c * x - a * z, a * y - b * x], axis=-1)


def _rotated(vectors: F64, axis: F64, angle_rad: F64) -> F64:
    """Return vectors (..., k, 3) turned about unit axes (..., k, 3) (Rodrigues' formula)."""
    return _turned(vectors, axis, np.cos(angle_rad)[..., None], np.sin(angle_rad)[..., None])


def _turned(vectors: F64, axis: F64, c: F64, s: F64) -> F64:
    """Return vectors (..., k, 3) turned about unit axes by angles whose cosine and sine (..., k, 1) are known."""
    along = np.einsum("...j,...j->...", axis, vectors)[..., None]
    return vectors * c + _cross(axis, vectors) * s + axis * along * (1.0 - c)


def _arc_mm(normal: F64, axis: F64, turn: F64, step: F64, w: F64) -> F64:
    """Return how far the line has gone after the fraction ``w`` of an arc of length ``step``."""
    angle = turn * w
    run = step * w
    ahead = run * np.sinc(angle / np.pi)
    # (1 - cos x) / x written so that it keeps its digits as x goes to 0
    aside = run * np.sin(0.5 * angle) * np.sinc(0.5 * angle / np.pi)
    return ahead[..., None] * normal + aside[..., None] * _cross(axis, normal)


def _hermite(start: F64, end: F64, leave: F64, arrive: F64, w: F64) -> tuple[F64, F64]:
    t = w[..., None]
    rise = end - start
    bend, skew = 3.0 * rise - 2.0 * leave - arrive, leave + arrive - 2.0 * rise
    place = start + t * (leave + t * (bend + t * skew))
    slope = leave + t * (2.0 * bend + t * 3.0 * skew)
    return place, slope


def _cubic_length_mm(origin: F64, normal: F64, tangent: F64) -> F64:
    node, weight = np.polynomial.legendre.leggauss(24)
    length = np.zeros(tangent.shape)
    start, end, size = origin[..., :-1, :], origin[..., 1:, :], tangent[..., None]
    for x, gauss in zip(0.5 * (node + 1.0), 0.5 * weight, strict=True):
        w = np.full(tangent.shape, x)
        _, slope = _hermite(start, end, normal[..., :-1, :] * size, normal[..., 1:, :] * size, w)
        length += gauss * np.linalg.norm(slope, axis=-1)
    return length


def _refuse_wrong_distances(given: F64, own: F64) -> None:
    wrong = np.flatnonzero(np.abs(given - own) > 0.02 * own)
    if len(wrong):
        raise GeometryError(
            Finding(
                int(i) + 1,
                "distance",
                f"is {mm(given[i], 2)} on from the station before, but the places are {mm(own[i], 2)} apart "
                "along the path",
                "mend one of them, or leave distance out",
            )
            for i in wrong
        )
