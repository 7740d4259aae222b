"""What triangles does an STL file hold, binary or text?"""

from __future__ import annotations

import re
from typing import Any

import numpy as np
import numpy.typing as npt

from portgeom.capture.meshes.values import MOST_TRIANGLES, Facets, MeshError
from portgeom.geometry.arrays import F64

HEAD_BYTES = 84
TRIANGLE = np.dtype([("normal", "<f4", 3), ("corners", "<f4", (3, 3)), ("spare", "<u2")])

TEXT_CHUNK = 8_000_000
NUMBERS_A_FACET = 12

_WORDS = re.compile(rb"\b(?:facet|normal|outer|loop|vertex|endloop|endfacet)\b")
_NAME = re.compile(rb"^[ \t]*(?:end)?solid\b[^\n]*$", re.MULTILINE)
_FACET = re.compile(rb"\bfacet\s+normal\b")
_AGAIN = "save it again from the program it is from"


def read_stl(data: bytes) -> Facets:
    """Return the triangles of an STL file, corners not yet joined.

    Raises
    ------
    MeshError
        If it is cut short or is no STL.
    """
    count = int.from_bytes(data[80:HEAD_BYTES], "little") if len(data) >= HEAD_BYTES else 0
    if len(data) >= HEAD_BYTES and len(data) == HEAD_BYTES + count * TRIANGLE.itemsize:
        return _binary(data, count)
    # a binary file may begin with "solid" too, so the text must also look like facets
    if data[:200].lstrip().lower().startswith(b"solid") and (_FACET.search(data[:2000]) or b"endsolid" in data[:2000]):
        return _text(data)
    if len(data) < HEAD_BYTES:
        raise MeshError(f"has {len(data)} bytes, too few for an STL", _AGAIN)
    if len(data) > HEAD_BYTES + count * TRIANGLE.itemsize and count > 0:
        raise MeshError(
            f"announces {count} triangles and holds {len(data) - HEAD_BYTES - count * TRIANGLE.itemsize} bytes more",
            _AGAIN,
        )
    held = (len(data) - HEAD_BYTES) // TRIANGLE.itemsize
    raise MeshError(f"is cut short, or no STL: it announces {count} triangles and holds {held}", _AGAIN)


def _binary(data: bytes, count: int) -> Facets:
    if count > MOST_TRIANGLES:
        raise MeshError(f"has {count} triangles", f"thin it out to at most {MOST_TRIANGLES}")
    records = np.frombuffer(data, dtype=TRIANGLE, count=count, offset=HEAD_BYTES)
    return _soup(records["corners"].reshape(-1, 3))


def _text(data: bytes) -> Facets:
    if not re.search(rb"endsolid\b[^\n]*\s*$", data[-400:]):
        raise MeshError("is cut short: no endsolid at its end", _AGAIN)
    pieces, at = [], 0
    while at < len(data):
        end = len(data) if at + TEXT_CHUNK >= len(data) else data.find(b"endfacet", at + TEXT_CHUNK)
        end = len(data) if end < 0 else end
        pieces.append(_corners(data[at:end]))
        at = end
    corners = np.concatenate(pieces)
    if len(corners) > 3 * MOST_TRIANGLES:
        raise MeshError(f"has {len(corners) // 3} triangles", f"thin it out to at most {MOST_TRIANGLES}")
    return _soup(corners)


def _corners(text: bytes) -> F64:
    """Return the corners (3k, 3) of the facets in a piece of the text."""
    facets = len(_FACET.findall(text))
    bare = _WORDS.sub(b" ", _NAME.sub(b"", text)).split()
    if len(bare) != NUMBERS_A_FACET * facets:
        raise MeshError(
            f"has {len(bare)} numbers in {facets} facets; a facet has {NUMBERS_A_FACET}, its normal and three corners",
            _AGAIN,
        )
    try:
        numbers = np.array(bare, dtype="S32").astype(np.float64)
    except ValueError as error:
        raise MeshError("holds a word where a number should be", _AGAIN) from error
    return numbers.reshape(-1, 4, 3)[:, 1:].reshape(-1, 3)


def _soup(corners: npt.NDArray[Any]) -> Facets:
    return Facets(corners, np.arange(len(corners), dtype=np.intp).reshape(-1, 3))
