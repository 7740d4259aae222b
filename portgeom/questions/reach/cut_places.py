"""At which places of the wall does metal come off, and how much stands behind each?"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from portgeom.geometry.arrays import F64, Bool, Int
from portgeom.geometry.skin import Wall
from portgeom.geometry.surface import Surface
from portgeom.questions.shape.places import clocks_deg

PLACE_STEP_MM = 3.0
"""How far apart the places stand at most, along the port and round it."""


@dataclass(frozen=True, slots=True)
class CutPlaces:
    """Places (n,) spread evenly over the wall to be cut, each standing for a patch of about one step.

    Attributes
    ----------
    at_mm, into : (n, 3) float
        In the head frame on the wall once cut, and the unit normal into the metal that stays.
    metal_mm : (n,) float
        Metal to come off, square to the wall.
    volume_mm3 : (n,) float
        Metal over the patch; adds up to all that comes off.
    distance_mm, clock_deg : (n,) float
    slab : (n,) int
        Of the chart.
    row, column : (n,) int
        Of the patch, along the port and round it.
    shape : tuple of int
        Rows and columns there are; the columns close round the port.
    """

    at_mm: F64
    into: F64
    metal_mm: F64
    volume_mm3: F64
    distance_mm: F64
    clock_deg: F64
    slab: Int
    row: Int
    column: Int
    shape: tuple[int, int]

    @property
    def count(self) -> int:
        """Return how many places there are."""
        return len(self.volume_mm3)

    def grid(self, values: F64) -> F64:
        """Return values (n,) on the patches (rows, columns), NaN where nothing comes off."""
        out = np.full(self.shape, np.nan)
        out[self.row, self.column] = values
        return out


def cut_places(present: Surface, wall_after: Wall, volume_mm3: float) -> CutPlaces:
    """Return the places where a wall lies outside ``present``, which differ by a known volume."""
    after, wall, inward = wall_after.surface, wall_after.places_mm, wall_after.inward
    chart = after.chart
    cut = after.rho_mm - present.rho_mm > chart.tolerance.length_mm
    volume = np.where(cut, _volume_mm3(present, after), 0.0)
    total = float(volume.sum())
    volume *= volume_mm3 / total if total > 0.0 else 0.0
    rows = _blocks(np.linalg.norm(np.diff(wall, axis=0), axis=2).max(axis=1), closed=False)
    columns = _blocks(np.linalg.norm(np.roll(wall, -1, axis=1) - wall, axis=2).max(axis=0), closed=True)
    slab, ray, block = _nearest_to_middle(cut, rows, columns)
    shape = int(rows[-1]) + 1, int(columns[-1]) + 1
    patch = rows[:, None] * shape[1] + columns
    gathered = np.zeros(shape[0] * shape[1])
    np.add.at(gathered, patch, volume)
    through = (wall - present.world_mm)[slab, ray]
    square = np.abs(np.einsum("ij,ij->i", through, inward[slab, ray]))
    return CutPlaces(
        at_mm=wall[slab, ray],
        into=-inward[slab, ray],
        metal_mm=np.maximum(square, chart.tolerance.length_mm),
        volume_mm3=gathered[block],
        distance_mm=chart.distance_mm[slab],
        clock_deg=clocks_deg(after.points_mm[slab, ray], chart.centre_mm[slab]),
        slab=slab,
        row=block // shape[1],
        column=block % shape[1],
        shape=shape,
    )


def _volume_mm3(present: Surface, after: Surface) -> F64:
    """Return the volume (m, n) between two surfaces, ray by ray: half of each neighbouring quadrilateral."""
    chart = after.chart
    inner, outer = present.points_mm, after.points_mm
    far, near = np.roll(outer, -1, axis=1) - inner, np.roll(inner, -1, axis=1) - outer
    quad = 0.5 * np.abs(far[..., 0] * near[..., 1] - far[..., 1] * near[..., 0])
    area = 0.5 * (quad + np.roll(quad, 1, axis=1))
    middle = 0.5 * (inner + outer)
    planes = chart.planes
    advance = np.einsum("ij,ij->i", planes.velocity, planes.normal)[:, None]
    turn = np.einsum("ij,ij->i", planes.right, planes.turning_per_mm)[:, None] * middle[..., 0]
    turn += np.einsum("ij,ij->i", planes.up, planes.turning_per_mm)[:, None] * middle[..., 1]
    return area * np.maximum(advance - turn, 0.0) * np.gradient(chart.distance_mm)[:, None]


def _blocks(gaps_mm: F64, *, closed: bool) -> Int:
    """Return which block each of a run of rows belongs to, blocks being about one step long."""
    at = np.concatenate([[0.0], np.cumsum(gaps_mm)])
    length = float(at[-1])
    count = max(1, round(length / PLACE_STEP_MM))
    places = at[:-1] if closed else at
    return np.unique(np.minimum((places * (count / length)).astype(np.intp), count - 1), return_inverse=True)[1]


def _nearest_to_middle(cut: Bool, rows: Int, columns: Int) -> tuple[Int, Int, Int]:
    """Return slab and ray of the cut place nearest to the middle of each block, and the block's number."""
    slab, ray = np.nonzero(cut)
    block = rows[slab] * (columns[-1] + 1) + columns[ray]
    off = np.hypot(_from_middle(rows)[slab], _from_middle(columns)[ray])
    order = np.lexsort((off, block))
    _, first = np.unique(block[order], return_index=True)
    chosen = order[first]
    return slab[chosen], ray[chosen], block[chosen]


def _from_middle(blocks: Int) -> F64:
    """Return how far each place lies from the middle of its block, as a share of it."""
    size = np.bincount(blocks)
    first = np.concatenate([[0], np.cumsum(size)[:-1]])
    return (np.arange(len(blocks)) - first[blocks] + 0.5) / size[blocks] - 0.5
