"""How does a scan stand in the head frame, and what pitch, yaw and roll have its planes there?"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Self

import numpy as np

from portgeom.capture.meshes.values import MeshError
from portgeom.geometry.arrays import F64, frozen
from portgeom.geometry.path import direction

LEVEL_TO_DEG = 60.0
"""Up to this pitch the planes stand with u level. Beyond it yaw says little, and they are carried without twist."""

RIGID_WITHIN = 1e-3
"""How far the axes of a given transformation may be from unit length and square to each other."""

LEAST_LEAN_DEG = 10.0


@dataclass(frozen=True, slots=True)
class HeadFrame:
    """Where the head frame is in the scan's axes.

    ``axes`` (3, 3): rows are x (right), y (in) and z (up) in the scan's axes. A scan point p is at
    ``axes @ p + shift_mm`` in the head frame.
    """

    axes: F64
    shift_mm: F64

    @classmethod
    def same(cls) -> Self:
        """Return the frame of a scan that already lies in the head frame."""
        return cls(frozen(np.eye(3)), frozen(np.zeros(3)))

    @classmethod
    def from_matrix(cls, matrix: F64, mm_per_unit: float) -> Self:
        """Return the frame of a 4 x 4 matrix that takes scan points to the head frame, in the scan's unit.

        Raises
        ------
        MeshError
            If the matrix mirrors, scales or shears.
        """
        turn = matrix[:3, :3]
        if not np.isfinite(matrix).all() or np.abs(matrix[3] - (0.0, 0.0, 0.0, 1.0)).max() > RIGID_WITHIN:
            raise MeshError("is no transformation: its last row is not 0 0 0 1", "give four rows of four numbers")
        if np.abs(turn @ turn.T - np.eye(3)).max() > RIGID_WITHIN:
            raise MeshError("scales or shears", "give turn and shift only; say the unit with --mesh-units")
        if np.linalg.det(turn) < 0.0:
            raise MeshError("mirrors the scan", "give turn and shift only")
        u, _, v = np.linalg.svd(turn)
        return cls(frozen(u @ v), frozen(matrix[:3, 3] * mm_per_unit))

    @classmethod
    def from_up(cls, up: F64, into: F64, start_mm: F64, at_mm: F64) -> Self:
        """Return the frame with z along ``up`` and y as near the way in as it can be.

        ``start_mm`` is the scan point that lies at ``at_mm`` in the head.

        Raises
        ------
        MeshError
            If up is nearly along the way in.
        """
        z = up / np.linalg.norm(up)
        y = into - (into @ z) * z
        if np.linalg.norm(y) < np.sin(np.radians(LEAST_LEAN_DEG)) * np.linalg.norm(into):
            raise MeshError("up is along the port's own way in", "give the way from deck to roof")
        y = y / np.linalg.norm(y)
        axes = np.stack([np.cross(y, z), y, z])
        return cls(frozen(axes), frozen(at_mm - axes @ start_mm))

    @property
    def up(self) -> F64:
        """Return the head's z in the scan's axes (3,)."""
        return self.axes[2]

    def placed_mm(self, points_mm: F64) -> F64:
        """Return scan points (..., 3) in the head frame."""
        return points_mm @ self.axes.T + self.shift_mm

    def turned(self, vectors: F64) -> F64:
        """Return scan directions (..., 3) in the head frame."""
        return vectors @ self.axes.T

    def scanned_mm(self, points_mm: F64) -> F64:
        """Return head points (..., 3) in the scan's axes."""
        return (points_mm - self.shift_mm) @ self.axes


@dataclass(frozen=True, slots=True)
class Angles:
    """Pitch, yaw and roll (n,) of planes, degrees, each running on from plane to plane."""

    pitch_deg: F64
    yaw_deg: F64
    roll_deg: F64


def ups_along(normals: F64) -> F64:
    """Return v (n, 3) of planes with these normals in the head frame: u level, then carried without twist.

    Where the port has turned down by more than LEVEL_TO_DEG, v goes on from plane to plane by the least turn.
    """
    ups = np.empty_like(normals)
    steep = np.abs(normals[:, 2]) > np.sin(np.radians(LEVEL_TO_DEG))
    carried = False
    for k, d in enumerate(normals):
        carried = carried or bool(steep[k])
        before = ups[k - 1] if carried and k else np.array([0.0, 0.0, 1.0])
        if carried and k:
            before = _least_turn(normals[k - 1], d, before)
        elif steep[k]:  # the first plane of all looks down: the head's own way in is then up the page
            before = np.array([0.0, 1.0, 0.0]) * -np.sign(d[2]) + np.array([0.0, 0.0, 1.0])
        v = before - (before @ d) * d
        ups[k] = v / np.linalg.norm(v)
    return ups


def angles_of(normals: F64, ups: F64) -> Angles:
    """Return the angles of planes with these normals and v (n, 3) in the head frame.

    Of the two ways to say a direction, pitch and yaw or pitch beyond the vertical and yaw turned about, the one
    nearer to the plane before is taken, so that a port that turns past the vertical reads on smoothly.
    """
    found = np.empty((len(normals), 3))
    before = np.zeros(2)
    for k, (d, v) in enumerate(zip(normals, ups, strict=True)):
        pitch = float(np.degrees(np.arctan2(-d[2], np.hypot(d[0], d[1]))))
        level = float(np.hypot(d[0], d[1]))
        yaw = float(np.degrees(np.arctan2(d[0], d[1]))) if level > np.finfo(np.float32).eps else float(before[1])
        ways = [(pitch, yaw), (180.0 - pitch, yaw + 180.0)]
        ways = [(_near(p, before[0]), _near(y, before[1])) for p, y in ways]
        pitch, yaw = min(ways, key=lambda w: abs(w[0] - before[0]) + abs(w[1] - before[1]))
        right = np.array([np.cos(np.radians(yaw)), -np.sin(np.radians(yaw)), 0.0])
        above = np.cross(right, direction(pitch, yaw))
        roll = float(np.degrees(np.arctan2(-(v @ right), v @ above)))
        found[k] = pitch, yaw, roll
        before = found[k, :2]
    return Angles(*(frozen(column) for column in found.T))


def _near(angle: float, other: float) -> float:
    return angle - 360.0 * round((angle - other) / 360.0)


def _least_turn(start: F64, end: F64, vector: F64) -> F64:
    """Return a vector turned as the least turn from one direction to another turns it."""
    axis = np.cross(start, end)
    cosine = float(start @ end)
    return vector * cosine + np.cross(axis, vector) + axis * (axis @ vector) / (1.0 + cosine)
