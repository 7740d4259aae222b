"""What triangles does a 3MF or GLB file hold, all its parts in their places?

Both are packed scenes. What they announce is bounded before a general mesh library unpacks them, and that
library is given bytes only, so nothing else that a file names can be opened.
"""

from __future__ import annotations

import json
import re
import zipfile
from io import BytesIO

import numpy as np

from portgeom.capture.meshes.values import MOST_TRIANGLES, Facets, MeshError

UNPACKED_BYTES = 2_000_000_000
MOST_PARTS = 10_000

_AGAIN = "save it again from the program it is from"
_UNIT = re.compile(rb"<(?:\w+:)?model\b[^>]*?\bunit\s*=\s*[\"']([a-z]+)[\"']")


def read_3mf(data: bytes) -> Facets:
    """Return the triangles of a 3MF file and the unit it states; none stated is millimetres by the standard.

    Raises
    ------
    MeshError
        If it is cut short, unpacks to too much, or declares its own XML entities.
    """
    try:
        with zipfile.ZipFile(BytesIO(data)) as pack:
            parts = pack.infolist()
            if len(parts) > MOST_PARTS or sum(p.file_size for p in parts) > UNPACKED_BYTES:
                raise MeshError("unpacks to more than is read", f"at most {UNPACKED_BYTES // 1_000_000} MB")
            unit = ""
            for part in parts:
                if part.filename.casefold().endswith((".model", ".rels", ".xml")):
                    with pack.open(part) as stream:
                        unit = _looked_over(stream.read()) or unit
    except MeshError:
        raise
    except Exception as error:  # a broken pack raises nearly anything, from its list of parts to its compression
        raise MeshError("is cut short, or no 3MF", _AGAIN) from error
    return _unpacked(data, "3mf", unit or "millimeter")


def _looked_over(text: bytes) -> str:
    """Return the unit a part of the pack states, once it declares no entities of its own."""
    if b"<!DOCTYPE" in text or b"<!ENTITY" in text:
        raise MeshError("declares XML entities, which a 3MF never needs", _AGAIN)
    stated = _UNIT.search(text[:65_536])
    return stated[1].decode("ascii") if stated else ""


def read_glb(data: bytes) -> Facets:
    """Return the triangles of a GLB file, turned so that z is up; it is in metres and y up by its standard.

    Raises
    ------
    MeshError
        If it is cut short, or announces more than is read.
    """
    if data[:4] != b"glTF" or len(data) < 20:
        raise MeshError("is no GLB", _AGAIN)
    announced = int.from_bytes(data[8:12], "little")
    if announced != len(data):
        raise MeshError(f"is cut short: it announces {announced} bytes and has {len(data)}", _AGAIN)
    length = int.from_bytes(data[12:16], "little")
    try:
        scene = json.loads(data[20 : 20 + length])
        counts = [int(a["count"]) for a in scene.get("accessors", [])]
    except (ValueError, KeyError, TypeError, AttributeError, RecursionError) as error:
        raise MeshError("has a scene that cannot be read", _AGAIN) from error
    if len(counts) > MOST_PARTS or sum(counts) > 12 * MOST_TRIANGLES:
        raise MeshError(f"announces {sum(counts)} values", f"at most {MOST_TRIANGLES} triangles are read")
    facets = _unpacked(data, "glb", "metre")
    x, y, z = facets.points.T
    return Facets(np.column_stack([x, -z, y]), facets.faces, facets.unit)


def _unpacked(data: bytes, kind: str, unit: str) -> Facets:
    import trimesh

    try:
        scene = trimesh.load_scene(BytesIO(data), file_type=kind)
        meshes = [m for m in scene.dump() if isinstance(m, trimesh.Trimesh)]
    except Exception as error:  # the readers raise nearly anything on a file that is broken
        raise MeshError(f"cannot be read as {kind} ({type(error).__name__})", _AGAIN) from error
    if not meshes:
        return Facets(np.empty((0, 3)), np.empty((0, 3), dtype=np.intp), unit)
    points = np.concatenate([np.asarray(m.vertices, dtype=np.float64) for m in meshes])
    shift = np.concatenate([[0], np.cumsum([len(m.vertices) for m in meshes])[:-1]])
    faces = np.concatenate([np.asarray(m.faces, dtype=np.intp) + k for m, k in zip(meshes, shift, strict=True)])
    return Facets(points, faces, unit)
