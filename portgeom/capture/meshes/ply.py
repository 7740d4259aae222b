"""What triangles does a PLY file hold, text or binary?"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from portgeom.capture.meshes.values import MOST_TRIANGLES, Facets, MeshError
from portgeom.geometry.arrays import F64, Int

HEAD_BYTES = 65_536
TYPES = {
    **dict.fromkeys(("char", "int8"), "i1"),
    **dict.fromkeys(("uchar", "uint8"), "u1"),
    **dict.fromkeys(("short", "int16"), "i2"),
    **dict.fromkeys(("ushort", "uint16"), "u2"),
    **dict.fromkeys(("int", "int32"), "i4"),
    **dict.fromkeys(("uint", "uint32"), "u4"),
    **dict.fromkeys(("float", "float32"), "f4"),
    **dict.fromkeys(("double", "float64"), "f8"),
}
ORDERS = {"ascii": "", "binary_little_endian": "<", "binary_big_endian": ">"}
CORNER_LISTS = ("vertex_indices", "vertex_index")

_AGAIN = "save it again from the program it is from"


@dataclass(frozen=True, slots=True)
class _Property:
    name: str
    kind: str
    count_kind: str  # "" for a single value


@dataclass(frozen=True, slots=True)
class _Element:
    name: str
    count: int
    properties: tuple[_Property, ...]

    @property
    def lists(self) -> bool:
        return any(p.count_kind for p in self.properties)


@dataclass(frozen=True, slots=True)
class _Head:
    order: str
    elements: tuple[_Element, ...]
    length: int


def read_ply(data: bytes) -> Facets:
    """Return the triangles of a PLY file; faces of more corners are cut into fans.

    Raises
    ------
    MeshError
        If it is cut short or is no PLY.
    """
    head = _head(data)
    for element in head.elements:
        if element.count > 3 * MOST_TRIANGLES:
            raise MeshError(f"announces {element.count} of {element.name}", f"at most {MOST_TRIANGLES} triangles")
    points: F64 | None = None
    corners: Int | None = None
    body = _Text(data, head.length) if head.order == "" else _Binary(data, head.length, head.order)
    for element in head.elements:
        if element.name == "vertex":
            points = body.points(element)
        elif element.name in ("face", "tristrips"):
            corners = body.faces(element)
        elif points is None or corners is None:
            body.skip(element)
        if points is not None and corners is not None:
            break
    if points is None:
        raise MeshError("has no vertices", _AGAIN)
    return Facets(points, corners if corners is not None else np.empty((0, 3), dtype=np.intp))


def _head(data: bytes) -> _Head:
    end = data.find(b"end_header", 0, HEAD_BYTES)
    stop = data.find(b"\n", end)
    if not data.startswith(b"ply") or end < 0 or stop < 0:
        raise MeshError("has no PLY header", _AGAIN)
    order, elements = None, []
    try:
        for line in data[:end].decode("ascii", "replace").splitlines():
            words = line.split()
            if words[:1] == ["format"]:
                order = ORDERS[words[1]]
            elif words[:1] == ["element"]:
                elements.append(_Element(words[1], int(words[2]), ()))
            elif words[:1] == ["property"]:
                last = elements[-1]
                elements[-1] = _Element(last.name, last.count, (*last.properties, _property(words)))
    except (KeyError, IndexError, ValueError) as error:
        raise MeshError("has a header that cannot be read", _AGAIN) from error
    if order is None or any(e.count < 0 for e in elements):
        raise MeshError("has a header that cannot be read", _AGAIN)
    return _Head(order, tuple(elements), stop + 1)


def _property(words: list[str]) -> _Property:
    if words[1] == "list":
        return _Property(words[4], TYPES[words[3]], TYPES[words[2]])
    return _Property(words[2], TYPES[words[1]], "")


def _cut_short(element: _Element) -> MeshError:
    return MeshError(f"is cut short: it announces {element.count} of {element.name} and holds fewer", _AGAIN)


def _corner_list(element: _Element) -> int:
    for k, p in enumerate(element.properties):
        if p.count_kind and p.name in CORNER_LISTS:
            return k
    raise MeshError(f"has {element.name} without a list of corners", "save it as a mesh of triangles")


def _columns(element: _Element) -> list[int]:
    names = [p.name for p in element.properties]
    if element.lists or not {"x", "y", "z"} <= set(names):
        raise MeshError("has vertices without x, y and z", _AGAIN)
    return [names.index(axis) for axis in ("x", "y", "z")]


class _Binary:
    """Reads elements of a binary file in turn."""

    def __init__(self, data: bytes, at: int, order: str) -> None:
        self.data, self.at, self.order = data, at, order

    def points(self, element: _Element) -> F64:
        columns = _columns(element)
        records = self._records(element, self._dtype(element, {}))
        return np.stack([records[f"p{k}"].astype(np.float64) for k in columns], axis=-1)

    def faces(self, element: _Element) -> Int:
        which = _corner_list(element)
        if sum(bool(p.count_kind) for p in element.properties) == 1 and element.count:
            triangles = self._dtype(element, {which: 3})
            if self.at + element.count * triangles.itemsize <= len(self.data):
                records = np.frombuffer(self.data, triangles, element.count, self.at)
                if (records[f"n{which}"] == 3).all():
                    self.at += element.count * triangles.itemsize
                    return np.ascontiguousarray(records[f"p{which}"], dtype=np.intp)
        return _fans(self._walked(element)[which])

    def skip(self, element: _Element) -> None:
        if element.lists:
            self._walked(element)
        else:
            self._records(element, self._dtype(element, {}))

    def _dtype(self, element: _Element, sizes: dict[int, int]) -> np.dtype[np.void]:
        fields: list[tuple[str, str] | tuple[str, str, int]] = []
        for k, p in enumerate(element.properties):
            if p.count_kind:
                fields += [(f"n{k}", self.order + p.count_kind), (f"p{k}", self.order + p.kind, sizes[k])]
            else:
                fields.append((f"p{k}", self.order + p.kind))
        return np.dtype(fields)

    def _records(self, element: _Element, kind: np.dtype[np.void]) -> np.ndarray[tuple[int], np.dtype[np.void]]:
        if self.at + element.count * kind.itemsize > len(self.data):
            raise _cut_short(element)
        records = np.frombuffer(self.data, kind, element.count, self.at)
        self.at += element.count * kind.itemsize
        return records

    def _walked(self, element: _Element) -> list[list[Int]]:
        """Return the values of every property, one array a row: the slow way, for lists of any length."""
        found: list[list[Int]] = [[] for _ in element.properties]
        at, data = self.at, self.data
        kinds = [(np.dtype(self.order + p.kind), p.count_kind) for p in element.properties]
        for _ in range(element.count):
            for k, (kind, count_kind) in enumerate(kinds):
                count = 1
                if count_kind:
                    counter = np.dtype(self.order + count_kind)
                    if at + counter.itemsize > len(data):
                        raise _cut_short(element)
                    count = int(np.frombuffer(data, counter, 1, at)[0])
                    at += counter.itemsize
                if count < 0 or at + count * kind.itemsize > len(data):
                    raise _cut_short(element)
                if count_kind:
                    found[k].append(np.frombuffer(data, kind, count, at).astype(np.intp))
                at += count * kind.itemsize
        self.at = at
        return found


class _Text:
    """Reads elements of a text file in turn."""

    def __init__(self, data: bytes, at: int) -> None:
        try:
            self.numbers = np.array(data[at:].split(), dtype="S32").astype(np.float64)
        except ValueError as error:
            raise MeshError("holds a word where a number should be", _AGAIN) from error
        self.at = 0

    def points(self, element: _Element) -> F64:
        columns = _columns(element)
        return self._grid(element, len(element.properties))[:, columns]

    def faces(self, element: _Element) -> Int:
        which, width = _corner_list(element), len(element.properties)
        if sum(bool(p.count_kind) for p in element.properties) == 1:
            end = self.at + element.count * (width + 3)
            grid = self.numbers[self.at : end]
            if len(grid) == element.count * (width + 3):
                grid = grid.reshape(-1, width + 3)
                if (grid[:, which] == 3).all():
                    self.at = end
                    return _whole(grid[:, which + 1 : which + 4])
        return _fans(self._walked(element)[which])

    def skip(self, element: _Element) -> None:
        if element.lists:
            self._walked(element)
        else:
            self._grid(element, len(element.properties))

    def _grid(self, element: _Element, width: int) -> F64:
        end = self.at + element.count * width
        if end > len(self.numbers):
            raise _cut_short(element)
        grid = self.numbers[self.at : end].reshape(element.count, width)
        self.at = end
        return grid

    def _walked(self, element: _Element) -> list[list[Int]]:
        found: list[list[Int]] = [[] for _ in element.properties]
        at, numbers = self.at, self.numbers
        for _ in range(element.count):
            for k, p in enumerate(element.properties):
                if not p.count_kind:
                    at += 1
                    continue
                if at >= len(numbers) or not 0 <= numbers[at] <= len(numbers) - at - 1:
                    raise _cut_short(element)
                count = int(numbers[at])
                found[k].append(_whole(numbers[at + 1 : at + 1 + count]))
                at += 1 + count
        if at > len(numbers):
            raise _cut_short(element)
        self.at = at
        return found


def _whole(numbers: F64) -> Int:
    if not np.isfinite(numbers).all() or (np.abs(numbers) > 2.0**40).any():
        raise MeshError("names a corner by something that is no whole number", _AGAIN)
    return numbers.astype(np.intp)


def _fans(lists: list[Int]) -> Int:
    """Return triangles (k, 3) of faces of any number of corners, each cut into a fan."""
    fans = [
        np.column_stack([np.full(len(corners) - 2, corners[0]), corners[1:-1], corners[2:]])
        for corners in lists
        if len(corners) >= 3
    ]
    return np.concatenate(fans) if fans else np.empty((0, 3), dtype=np.intp)
