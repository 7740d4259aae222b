"""How do rings of points become a closed mesh, and a mesh a file?"""

from __future__ import annotations

from pathlib import Path

import numpy as np
import numpy.typing as npt

F64 = npt.NDArray[np.float64]
Int = npt.NDArray[np.int64]


def closed_tube(rings: F64) -> tuple[F64, Int]:
    """Return points (k, 3) and triangles (t, 3) of the solid inside rings of points, normals outwards.

    Parameters
    ----------
    rings : (m, n, 3) float
        m rings of n points, each anticlockwise as seen looking along the tube from its start. The ends
        are closed by flat fans about the mean of the first and of the last ring.
    """
    m, n, _ = rings.shape
    points = np.concatenate([rings.reshape(-1, 3), rings[[0, -1]].mean(axis=1)])
    here = np.arange(n)
    after = np.roll(here, -1)
    row = n * np.arange(m - 1)[:, None]
    a, b, c, d = row + here, row + after, row + n + after, row + n + here
    wall = np.stack([np.stack([a, b, c], axis=-1), np.stack([a, c, d], axis=-1)], axis=-2)
    start = np.column_stack([after, here, np.full(n, m * n)])
    last = n * (m - 1)
    end = np.column_stack([last + here, last + after, np.full(n, m * n + 1)])
    # anticlockwise looking along the tube is clockwise seen from its end, so every triangle is turned
    return points, np.concatenate([wall.reshape(-1, 3), start, end])[:, ::-1]


def write_ply(path: Path, points_mm: F64, triangles: Int, *, comment: str) -> None:
    """Write a binary PLY file, little-endian, coordinates in mm as 32-bit floats."""
    header = "\n".join(
        [
            "ply",
            "format binary_little_endian 1.0",
            f"comment {comment}",
            f"element vertex {len(points_mm)}",
            "property float x",
            "property float y",
            "property float z",
            f"element face {len(triangles)}",
            "property list uchar int vertex_indices",
            "end_header\n",
        ]
    )
    faces = np.empty(len(triangles), dtype=[("count", "u1"), ("corners", "<i4", 3)])
    faces["count"], faces["corners"] = 3, triangles
    path.write_bytes(header.encode("ascii") + points_mm.astype("<f4").tobytes() + faces.tobytes())
