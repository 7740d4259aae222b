"""How does a port become a file for general 3D viewers: one surface as VTP, or all of it as VTM, every field with it?

In the head frame, in mm: x to the right looking in, y into the port, z up from the deck. Each point of a surface has

- ``proud_mm``: how far the roof stands over the wanted line; not a number where it is no roof;
- ``wall_left_mm``: metal left to the nearest thing behind the wall, at most as far as it was looked for; not a number
  where it is not known; missing where the job names nothing there;
- ``distance_mm`` along the path, and ``clock_deg`` from straight up, clockwise looking in;
- ``depth_mm``: how deep it has been cut below the port as measured.
"""

from __future__ import annotations

import os
import secrets
import shutil
import tempfile
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path as FilePath
from typing import TYPE_CHECKING

import numpy as np

from portgeom.geometry.arrays import F64
from portgeom.geometry.surface import Surface
from portgeom.output.files.whole_file import refuse_if_there, write_whole
from portgeom.output.scene.hazard_shapes import HazardShape
from portgeom.output.scene.port_scene import skin_proud_mm
from portgeom.output.words.names import harmless
from portgeom.questions.shape.depths import depths_mm
from portgeom.questions.states import State
from portgeom.questions.walls.behind import Behind
from portgeom.questions.walls.walls import wall_map

if TYPE_CHECKING:
    import pyvista


@dataclass(frozen=True, slots=True)
class Fielded:
    """One surface and what is known at each of its points (m, n), by name."""

    name: str
    surface: Surface
    fields: dict[str, F64]


def fielded(state: State, present: Surface, hazards: Sequence[Behind]) -> Fielded:
    """Return a state of a port with all its fields; ``present`` is the port as measured."""
    surface = state.surface
    chart = surface.chart
    points = surface.points_mm
    off = points - chart.centre_mm[:, None, :]
    fields = {
        "proud_mm": skin_proud_mm(surface, state.roof.map),
        "distance_mm": np.broadcast_to(chart.distance_mm[:, None], points.shape[:2]),
        "clock_deg": np.degrees(np.arctan2(off[..., 0], off[..., 1])) % 360.0,
        "depth_mm": depths_mm(present, surface),
    }
    if hazards:
        found = wall_map(surface, hazards)
        fields["wall_left_mm"] = np.minimum(found.wall_mm, found.to_mm)
    return Fielded(state.name, surface, fields)


def skin_mesh(part: Fielded) -> pyvista.PolyData:
    """Return a surface as a mesh with its fields at the points."""
    import pyvista

    skin = part.surface.world_mm
    slabs, rays, _ = skin.shape
    index = np.arange(slabs * rays).reshape(slabs, rays)
    beside = np.roll(index, -1, axis=1)
    quads = np.stack([index[:-1], index[1:], beside[1:], beside[:-1]], axis=-1).reshape(-1, 4)
    faces = np.column_stack([np.full(len(quads), 4), quads])
    mesh = pyvista.PolyData(skin.reshape(-1, 3), faces.ravel())
    for name, values in part.fields.items():
        mesh.point_data[name] = np.ascontiguousarray(values).ravel()
    return mesh


def write_vtp(part: Fielded, path: FilePath, *, force: bool = False) -> None:
    """Write one surface as a VTP file, whole or not at all.

    Raises
    ------
    FileExistsError
        If the file is there and ``force`` is not given.
    """
    refuse_if_there(path, force=force)
    with tempfile.TemporaryDirectory() as folder:
        beside = FilePath(folder) / "surface.vtp"
        skin_mesh(part).save(beside)
        write_whole(path, beside.read_bytes(), force=force)


def write_vtm(
    parts: Sequence[Fielded], shapes: Sequence[HazardShape], path: FilePath, *, force: bool = False
) -> None:  # fmt: skip
    """Write all surfaces, and what lies behind the walls, as a VTM file and the folder of the same name beside it.

    Raises
    ------
    FileExistsError
        If the file or the folder is there and ``force`` is not given.
    """
    import pyvista

    folder = path.with_suffix("")
    for place in (path, folder):
        refuse_if_there(place, force=force)
    blocks = pyvista.MultiBlock()
    for part in parts:
        blocks.append(skin_mesh(part), _plain(part.name))
    for shape in shapes:
        faces = np.column_stack([np.full(len(shape.triangles), 3), shape.triangles])
        blocks.append(pyvista.PolyData(np.asarray(shape.vertices_mm), faces.ravel()), _plain(f"behind: {shape.name}"))
    path.parent.mkdir(parents=True, exist_ok=True)
    beside = path.parent / f".{path.stem[:80]}-{secrets.token_hex(6)}"
    try:
        beside.mkdir()
        blocks.save(beside / path.name)
        if folder.exists():
            shutil.rmtree(folder)
        os.rename(beside / folder.name, folder)
        os.replace(beside / path.name, path)
    finally:
        shutil.rmtree(beside, ignore_errors=True)


def _plain(name: str) -> str:
    """Return a name as the file's own markup bears it."""
    return harmless(name).encode("ascii", "backslashreplace").decode("ascii").replace('"', "'")
