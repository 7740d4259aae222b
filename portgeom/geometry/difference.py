"""What solids are left of one solid when another is taken away?"""

from __future__ import annotations

import numpy as np

from portgeom.geometry.arrays import frozen
from portgeom.geometry.solid import Solid, SolidError, mesh_volume_mm3


def less(solid: Solid, taken: Solid) -> Solid | None:
    """Return ``solid`` less ``taken``, which may fall in several parts; None if nothing is left.

    Raises
    ------
    SolidError
        If either is no solid to the kernel, or it reports any other trouble.

    Notes
    -----
    The kernel does not raise; its status is asked after every step. Faces that both share exactly cancel.
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
    return Solid(frozen(vertices), faces, mesh_volume_mm3(vertices, faces))
