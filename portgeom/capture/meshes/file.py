"""What mesh does a scan file hold, in mm, and in what state is it?"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Literal, TypeAlias, get_args

from portgeom.capture.meshes.join import joined
from portgeom.capture.meshes.obj import read_obj
from portgeom.capture.meshes.packed import read_3mf, read_glb
from portgeom.capture.meshes.ply import read_ply
from portgeom.capture.meshes.stl import read_stl
from portgeom.capture.meshes.values import Condition, Facets, MeshError, ScanMesh
from portgeom.job.faults import Gathered, Spot, printable, shown
from portgeom.job.files import read_bounded

MeshUnits: TypeAlias = Literal["mm", "cm", "m", "in"]
MESH_UNITS: tuple[str, ...] = get_args(MeshUnits)
MM: dict[str, float] = {"mm": 1.0, "cm": 10.0, "m": 1000.0, "in": 25.4}

SCAN_BYTES = 800_000_000
"""A binary STL of twelve million triangles has 600 MB."""

LONGEST_MM = 10_000.0

READERS: dict[str, Callable[[bytes], Facets]] = {
    "stl": read_stl,
    "ply": read_ply,
    "obj": read_obj,
    "3mf": read_3mf,
    "glb": read_glb,
}

STATED: dict[str, str] = {"millimeter": "mm", "centimeter": "cm", "meter": "m", "metre": "m", "inch": "in"}
"""Units as 3MF and GLB name them."""


@dataclass(frozen=True, slots=True)
class _Scale:
    """How many mm one unit of the file is: its unit, and what a mould has shrunk."""

    units: MeshUnits
    shrink_percent: float

    @property
    def mm(self) -> float:
        return MM[self.units] / (1.0 - 0.01 * self.shrink_percent)


def read_scan(path: Path, units: MeshUnits, gathered: Gathered, *, shrink_percent: float = 0.0) -> ScanMesh:
    """Return the mesh of a scan file; its state, and what was assumed, go to the notes of ``gathered``.

    Parameters
    ----------
    units : MeshUnits
        What the person says the file's unit is. It is never guessed from the size.
    shrink_percent : float
        How much smaller a mould is than the port it was taken from.

    Raises
    ------
    JobError
        With one fault: the file is missing, too large, cut short, of a kind that is not read, holds no
        triangles or no numbers, or states another unit.
    """
    spot = Spot(gathered, printable(path.name), None, "mesh")
    data = _bytes(path, spot)
    scale = _Scale(units, shrink_percent)
    try:
        facets = READERS[_kind(path)](data)
        _check_unit(facets, units, spot)
        del data
        mesh = joined(facets, scale.mm)
    except MeshError as error:
        spot.fault(error.found, error.mend)
        gathered.refuse()
        raise
    _check_size(mesh, units, spot)
    if shrink_percent:
        spot.note(
            f"enlarged by {100.0 / (1.0 - 0.01 * shrink_percent) - 100.0:.3f} percent",
            f"the mould was said to have shrunk by {shrink_percent:g} percent",
        )
    _tell(mesh.condition, len(mesh.faces), spot)
    gathered.refuse()
    return mesh


def _kind(path: Path) -> str:
    return path.suffix.removeprefix(".").casefold()


def _bytes(path: Path, spot: Spot) -> bytes:
    data = None
    try:
        large = path.stat().st_size if path.is_file() else -1
    except (OSError, ValueError):
        large = -1
    if _kind(path) not in READERS:
        spot.fault(f"{shown(path.name)} is not a kind of mesh that is read", f"save it as {', '.join(READERS)}")
    elif large < 0:
        spot.fault(f"{shown(str(path))} is no file that can be read", "name a mesh file")
    elif large > SCAN_BYTES:
        spot.fault(f"has {large} bytes", f"at most {SCAN_BYTES} are read; thin the mesh out")
    else:
        data = read_bounded(path, large, spot)  # as large as it is: as much memory is taken before it is read
    spot.gathered.refuse()
    assert data is not None
    return data


def _check_unit(facets: Facets, units: MeshUnits, spot: Spot) -> None:
    """Hold what the file states against what the person said."""
    if not facets.unit:
        return
    stated = STATED.get(facets.unit, facets.unit)
    if stated == units:
        return
    if facets.unit == "metre":  # GLB cannot say otherwise, so many programs write mm into it
        spot.note("a GLB is in metres by its standard", f"taken as {units}, as you said")
        return
    raise MeshError(f"states {facets.unit} as its unit, and you said {units}", f"say --mesh-units {stated}, or mend it")


def _check_size(mesh: ScanMesh, units: MeshUnits, spot: Spot) -> None:
    size = float((mesh.vertices_mm.max(axis=0) - mesh.vertices_mm.min(axis=0)).max())
    if not 0.0 < size <= LONGEST_MM:
        spot.fault(f"is {size:.6g} mm long when its unit is {units}", "check --mesh-units")
    spot.gathered.refuse()


def _tell(state: Condition, triangles: int, spot: Spot) -> None:
    """Note what is odd about a mesh. None of it is mended."""
    odd = []
    if state.doubled:
        odd.append(f"{_count(state.doubled, 'triangle')} there twice, one of each kept")
    if state.empty:
        odd.append(f"{_count(state.empty, 'triangle')} of no area, left out")
    if state.open_edges:
        odd.append(f"{_count(state.open_edges, 'open edge')}")
    if state.crowded_edges:
        odd.append(f"{_count(state.crowded_edges, 'edge')} shared by three triangles or more")
    if state.turned_edges:
        odd.append(f"winding that changes at {_count(state.turned_edges, 'edge')}")
    if state.islands > 1:
        odd.append(f"{state.islands} pieces, {100.0 * state.island_share:.2g} percent outside the largest")
    if odd:
        spot.note(f"of {triangles} triangles: {'; '.join(odd)}", "sections are closed across gaps, each told below")
    if state.volume_mm3 is not None and state.volume_mm3 < 0.0:
        spot.note("is wound inside out all over", "sections are turned the right way whatever the winding")


def _count(number: int, what: str) -> str:
    return f"{number} {what}{'' if number == 1 else 's'}"
