"""What mesh does a hazard's file hold, and is it closed?"""

from __future__ import annotations

from dataclasses import dataclass
from io import BytesIO
from pathlib import Path

import numpy as np

from portgeom.geometry.arrays import F64, Int, frozen
from portgeom.job.faults import Gathered, Spot, shown
from portgeom.job.files import MESH_BYTES, Folder, read_bounded
from portgeom.job.values import Hazard

KINDS = ("stl", "ply", "obj", "off")
"""Kinds of mesh file that hold bare coordinates, taken as mm in the head frame."""

MOST_TRIANGLES = 2_000_000


@dataclass(frozen=True, slots=True)
class HazardMesh:
    """A mesh in the head frame.

    Attributes
    ----------
    vertices_mm : (n, 3) float
    faces : (k, 3) int
    closed : bool
        Whether it has an inside.
    turned : bool
        Whether the file had it inside out, and it was turned.
    """

    vertices_mm: F64
    faces: Int
    closed: bool
    turned: bool


def read_hazard_mesh(hazard: Hazard, root: Path, gathered: Gathered) -> HazardMesh | None:
    """Return the mesh of a hazard's file, or None after taking down what is wrong with it.

    Corners that are the same point are one: STL files write each of them once a triangle.
    """
    spot = Spot(gathered, "job.toml", None, f"hazard {shown(hazard.name)} file")
    name = hazard.file or ""
    kind = name.rpartition(".")[2].casefold()
    if kind not in KINDS:
        spot.fault(f"{shown(name)} is not a kind of mesh that is read here", f"save it as {', '.join(KINDS)}, in mm")
        return None
    path = Folder(root).file(name, spot, most_bytes=MESH_BYTES)
    data = None if path is None else read_bounded(path, MESH_BYTES, spot)
    return None if data is None else _parsed(data, kind, Spot(gathered, name, None, "mesh"))


def _parsed(data: bytes, kind: str, spot: Spot) -> HazardMesh | None:
    import trimesh

    try:
        # from bytes, so that nothing the file names can be opened
        read = trimesh.load_mesh(BytesIO(data), file_type=kind, process=False)
        vertices, faces = np.asarray(read.vertices, dtype=np.float64), np.asarray(read.faces, dtype=np.intp)
    except Exception as error:  # the readers raise nearly anything on a file that is broken
        spot.fault(f"cannot be read as {kind} ({type(error).__name__})", "save it again from the program it is from")
        return None
    if len(faces) == 0 or vertices.shape[1:] != (3,):
        spot.fault("holds no triangles", "save a mesh of triangles")
    elif len(faces) > MOST_TRIANGLES:
        spot.fault(f"has {len(faces)} triangles", f"thin it out to at most {MOST_TRIANGLES}")
    elif not np.isfinite(vertices).all():
        spot.fault("holds coordinates that are no numbers", "save it again from the program it is from")
    else:
        mesh = _welded(vertices, faces)
        if len(mesh.faces) > 0:
            return mesh
        spot.fault("holds only triangles of no area", "save a mesh of triangles")
    return None


def _welded(vertices: F64, faces: Int) -> HazardMesh:
    points, which = np.unique(vertices, axis=0, return_inverse=True)
    faces = which.reshape(-1)[faces]
    # a triangle with two corners on one point has no area and no say
    faces = faces[(faces != np.roll(faces, 1, axis=1)).all(axis=1)]
    start, end = faces.ravel(), np.roll(faces, -1, axis=1).ravel()
    many = len(points)
    forward, backward = np.sort(start * many + end), np.sort(end * many + start)
    closed = bool(np.array_equal(forward, backward) and not (forward[1:] == forward[:-1]).any())
    a, b, c = (points[faces[:, k]] - points.mean(axis=0) for k in range(3))
    turned = closed and float(np.einsum("ij,ij->", a, np.cross(b, c))) < 0.0
    return HazardMesh(frozen(points), faces[:, ::-1] if turned else faces, closed, turned)
