"""What triangles does an OBJ file hold?

Corners and faces only: materials, textures and other files it may name are not looked at.
"""

from __future__ import annotations

import re

import numpy as np

from portgeom.capture.meshes.values import MOST_TRIANGLES, Facets, MeshError
from portgeom.geometry.arrays import F64, Int

_AGAIN = "save it again from the program it is from"
_AFTER_SLASH = re.compile(rb"/[^\s]*")


def read_obj(data: bytes) -> Facets:
    """Return the triangles of an OBJ file; faces of more corners are cut into fans.

    Raises
    ------
    MeshError
        If a corner has no three coordinates, or a face fewer than three corners.
    """
    if b"\\\n" in data or b"\\\r\n" in data:
        data = data.replace(b"\\\r\n", b" ").replace(b"\\\n", b" ")
    corners: list[bytes] = []
    faces: list[bytes] = []
    before: list[int] = []  # corners listed before each face, which negative numbers count back from
    for line in data.split(b"\n"):
        start = line[:2]
        if start in (b"v ", b"v\t"):
            corners.append(line[2:])
        elif start in (b"f ", b"f\t"):
            faces.append(line[2:])
            before.append(len(corners))
    if len(faces) > MOST_TRIANGLES:
        raise MeshError(f"has {len(faces)} faces", f"thin it out to at most {MOST_TRIANGLES}")
    return Facets(_points(corners), _triangles(faces, np.array(before, dtype=np.intp)))


def _points(lines: list[bytes]) -> F64:
    words = [line.split()[:3] for line in lines]  # a weight or colours may follow
    if any(len(w) < 3 for w in words):
        raise MeshError("is cut short, or has a corner without three coordinates", _AGAIN)
    try:
        return np.array(words, dtype="S32").astype(np.float64).reshape(-1, 3)
    except ValueError as error:
        raise MeshError("holds a word where a coordinate should be", _AGAIN) from error


def _triangles(lines: list[bytes], before: Int) -> Int:
    words = [_AFTER_SLASH.sub(b"", line).split() for line in lines]
    count = np.array([len(w) for w in words], dtype=np.intp)
    if (count < 3).any():
        raise MeshError("is cut short, or has a face of fewer than three corners", _AGAIN)
    try:
        flat = np.array([w for face in words for w in face], dtype="S20").astype(np.int64).astype(np.intp)
    except (ValueError, OverflowError) as error:
        raise MeshError("holds a word where a corner's number should be", _AGAIN) from error
    if (flat == 0).any():
        raise MeshError("names corner 0; corners are counted from 1", _AGAIN)
    flat = np.where(flat > 0, flat - 1, flat + np.repeat(before, count))
    first = np.concatenate([[0], np.cumsum(count)[:-1]]).astype(np.intp) if len(count) else count
    fan = count - 2
    start = np.repeat(first, fan)
    step = np.arange(len(start)) - np.repeat(np.concatenate([[0], np.cumsum(fan)[:-1]]), fan) if len(count) else start
    return np.column_stack([flat[start], flat[start + step + 1], flat[start + step + 2]])
