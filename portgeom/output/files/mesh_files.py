"""How does a solid become a file for other programs: STL, PLY, 3MF or GLB?

STL, PLY and 3MF are in mm. GLB is in metres with y up, as glTF 2.0 asks (section 3.4).
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path as FilePath
from typing import Literal, TypeAlias, get_args
from unicodedata import normalize

import numpy as np

from portgeom.geometry.solid import Solid
from portgeom.output.files.whole_file import write_whole

Format: TypeAlias = Literal["stl", "ply", "glb", "3mf"]
FORMATS: tuple[str, ...] = get_args(Format)


@dataclass(frozen=True, slots=True)
class Written:
    """A mesh file: where, how many triangles, and the mesh's own volume."""

    path: FilePath
    triangles: int
    volume_mm3: float


def write_solid(solid: Solid, path: FilePath, *, kind: Format, name: str, force: bool = False) -> Written:
    """Write a solid as one file, whole or not at all.

    Raises
    ------
    FileExistsError
        If the file is there and ``force`` is not given.
    """
    import trimesh

    vertices = np.asarray(solid.vertices_mm)
    if kind == "glb":
        x, y, z = vertices.T / 1000.0
        vertices = np.column_stack([x, z, -y])
    mesh = trimesh.Trimesh(vertices, solid.faces, process=False)
    mesh.metadata["name"] = name
    scene = trimesh.Scene()
    scene.add_geometry(mesh, geom_name=name)
    data = scene.export(file_type=kind) if kind in ("glb", "3mf") else mesh.export(file_type=kind)
    if not isinstance(data, bytes):
        raise TypeError(f"the mesh library gave {type(data).__name__} for {kind}, not bytes")
    write_whole(path, data, force=force)
    return Written(path, len(solid.faces), solid.volume_mm3)


LONGEST = 120
"""Bytes of a file's name, before what tells its kind: file systems take 255."""


def file_stems(names: Sequence[tuple[str, ...]]) -> list[str]:
    """Return a plain file name for each, made of a job's own words: letters of any script, digits and dashes only.

    Names that come out alike are numbered.

    Examples
    --------
    >>> file_stems([("2", "as cast", "metal to remove"), ("2", "As Cast!", "metal to remove")])
    ['port-2-as-cast-metal-to-remove', 'port-2-as-cast-metal-to-remove-2']
    """
    stems: list[str] = []
    for words in names:
        plain = re.findall(r"[^\W_]+", normalize("NFC", "-".join(words).casefold()))
        stem = "-".join(["port", *plain]).encode()[:LONGEST].decode(errors="ignore")
        again = sum(s == stem or re.fullmatch(re.escape(stem) + r"-\d+", s) is not None for s in stems)
        stems.append(stem if not again else f"{stem}-{again + 1}")
    return stems
