"""What solids are left of one solid when another is taken away?"""

from __future__ import annotations

import numpy as np

from portgeom.geometry.arrays import F64, Int, frozen
from portgeom.geometry.solid import Solid, SolidError, mesh_volume_mm3

APART_MM = 1e-3
"""Far more than a file of single precision rounds by, and far less than any tool cuts."""


def less(solid: Solid, taken: Solid) -> Solid | None:
    """Return ``solid`` less ``taken``, which may fall in several parts; None if nothing is left.

    Raises
    ------
    SolidError
        If either is no solid to the kernel, or it reports any other trouble.

    Notes
    -----
    The kernel does not raise; its status is asked after every step. Faces that both share exactly cancel. Where what
    is left touches itself its edges lie on each other; files keep places and not what belongs together, so there it is
    drawn in by APART_MM.
    """
    import manifold3d

    def kernel(s: Solid) -> manifold3d.Manifold:
        mesh = manifold3d.Mesh64(
            np.array(s.vertices_mm), np.array(s.faces, dtype=np.uint64)
        )  # it takes no read-only arrays
        return _sound(manifold3d.Manifold(mesh))

    def _sound(m: manifold3d.Manifold) -> manifold3d.Manifold:
        if m.status() != manifold3d.Error.NoError:
            raise SolidError(f"the meshes could not be taken apart: {m.status()}")
        return m

    rest = _sound(kernel(solid) - kernel(taken))
    if rest.is_empty():
        return None
    mesh = rest.to_mesh64()
    vertices = np.asarray(mesh.vert_properties)[:, :3]
    faces = np.asarray(mesh.tri_verts, dtype=np.intp)
    vertices = _apart(vertices, faces)
    return Solid(frozen(vertices), faces, mesh_volume_mm3(vertices, faces))


def _apart(vertices_mm: F64, faces: Int) -> F64:
    """Return vertices (n, 3) of a closed mesh, those that lie on another one moved towards their own neighbours."""
    _, place, count = np.unique(vertices_mm.astype(np.float32), axis=0, return_inverse=True, return_counts=True)
    touching = count[place.ravel()] > 1
    toward = np.zeros_like(vertices_mm)
    for here, beside in ((0, 1), (1, 2), (2, 0)):
        way = vertices_mm[faces[:, beside]] - vertices_mm[faces[:, here]]
        length = np.linalg.norm(way, axis=1, keepdims=True)
        np.add.at(toward, faces[:, here], np.divide(way, length, out=np.zeros_like(way), where=length > APART_MM))
    length = np.linalg.norm(toward, axis=1, keepdims=True)
    step = APART_MM * np.divide(toward, length, out=np.zeros_like(toward), where=length > 0.0)
    return np.where(touching[:, None], vertices_mm + step, vertices_mm)
