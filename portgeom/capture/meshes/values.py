"""What is a mesh from a scanner, and what is known of its state?"""

from __future__ import annotations

from dataclasses import dataclass

from portgeom.geometry.arrays import F64, Int

MOST_TRIANGLES = 12_000_000
"""More than any scanner gives of a port; a file that announces more is refused before it is read."""


class MeshError(ValueError):
    """A mesh file that cannot be used: ``found`` says what is wrong, ``mend`` what would be right."""

    def __init__(self, found: str, mend: str) -> None:
        self.found, self.mend = found, mend
        super().__init__(f"{found}; {mend}")


@dataclass(frozen=True, slots=True)
class Facets:
    """Corners and triangles as a file lists them, in its own unit.

    ``points`` is (n, 3) float, ``faces`` (k, 3) int. ``unit`` is what the file says its unit is, or "".
    """

    points: F64
    faces: Int
    unit: str = ""


@dataclass(frozen=True, slots=True)
class Rim:
    """One open edge of a mesh, all the way round: its corners (n, 3) in mm, in order."""

    points_mm: F64

    @property
    def centre_mm(self) -> F64:
        """Return the mean of the corners."""
        return self.points_mm.mean(axis=0)


@dataclass(frozen=True, slots=True)
class Condition:
    """What is wrong or remarkable about a mesh, counted and never mended here.

    Attributes
    ----------
    doubled : int
        Triangles that another triangle repeats; one of each was kept.
    empty : int
        Triangles of no area, left out.
    open_edges : int
        Edges that only one triangle has.
    crowded_edges : int
        Edges that three or more triangles have.
    turned_edges : int
        Edges that two triangles run the same way: the winding changes there.
    islands : int
        Pieces that hang together by corners.
    island_share : float
        Share of the triangles that is not in the largest piece.
    volume_mm3 : float or None
        Signed volume where the mesh is closed and wound one way; negative is inside out.
    """

    doubled: int
    empty: int
    open_edges: int
    crowded_edges: int
    turned_edges: int
    islands: int
    island_share: float
    volume_mm3: float | None


@dataclass(frozen=True, slots=True)
class ScanMesh:
    """A scan in mm, in the scan's own axes.

    Attributes
    ----------
    vertices_mm : (n, 3) float
        Every place once, as far as the file has it bit for bit.
    faces : (k, 3) int
    condition : Condition
    rims : tuple of Rim
        The open edges, the longest first.
    """

    vertices_mm: F64
    faces: Int
    condition: Condition
    rims: tuple[Rim, ...]
