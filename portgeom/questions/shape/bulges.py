"""Which patches of the roof hang out of it, and how large is each?"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from portgeom.geometry.arrays import F64, Bool, Int
from portgeom.geometry.hanging import hanging_together
from portgeom.job.values import Limits

LEAST_AREA_MM2 = 10.0
"""A patch about 3 mm across or less is a grain of the casting or the noise of a scan at a corner, and no bulge: no
cutter takes it off by itself (common practice, no source)."""

FEW_STATIONS = 4
"""A bulge seen at fewer stations than this is known less well than the calipers would allow."""


@dataclass(frozen=True, slots=True)
class RoofPlace:
    """A place on the roof: along the path, to the right of it, and height over the line."""

    distance_mm: float
    across_mm: float
    proud_mm: float


@dataclass(frozen=True, slots=True)
class Bulge:
    """A connected patch of roof that stands out from the bridge by more than the limit, ``LEAST_AREA_MM2`` at least.

    Attributes
    ----------
    peak : RoofPlace
        Where it stands out most; its proud height is over the wanted line.
    stands_out_mm : float
        Height of the peak over the bridge.
    from_mm, to_mm, across_from_mm, across_to_mm : float
        Extent of the patch.
    area_mm2, volume_mm3 : float
        Of the patch, on the roof's own length.
    stations_seen : int
        Measured stations that cross it.
    """

    peak: RoofPlace
    stands_out_mm: float
    from_mm: float
    to_mm: float
    across_from_mm: float
    across_to_mm: float
    area_mm2: float
    volume_mm3: float
    stations_seen: int

    @property
    def thinly_measured(self) -> bool:
        """Return whether closer stations would tell more than better readings."""
        return self.stations_seen < FEW_STATIONS


def find_bulges(
    distance_mm: F64,
    across_mm: F64,
    stands_out_mm: F64,
    proud_mm: F64,
    stretch: F64,
    station_slab: Int,
    limits: Limits,
) -> tuple[Bulge, ...]:
    """Return the bulges of a roof map, the largest volume first.

    Parameters
    ----------
    distance_mm, across_mm : (j,), (k,) float
        The map's rows and columns.
    stands_out_mm, proud_mm : (j, k) float
        Height over the bridge and over the line, NaN where there is no roof.
    stretch : (j, k) float
        Length of roof on 1 mm of path.
    station_slab : (n,) int
        Rows at which a section was measured.
    """
    high = np.nan_to_num(stands_out_mm, nan=0.0) > limits.bulge_mm
    if not high.any():
        return ()
    label = hanging_together(high, corners=True)
    cell = np.gradient(distance_mm)[:, None] * np.gradient(across_mm) * np.where(high, stretch, 0.0)
    found = [
        _bulge(label == n, distance_mm, across_mm, stands_out_mm, proud_mm, cell, station_slab)
        for n in range(1, label.max() + 1)
    ]
    return tuple(sorted((b for b in found if b.area_mm2 >= LEAST_AREA_MM2), key=lambda b: -b.volume_mm3))


def _bulge(patch: Bool, s: F64, across: F64, out: F64, proud: F64, cell: F64, station_slab: Int) -> Bulge:
    rows, columns = np.nonzero(patch.any(axis=1))[0], np.nonzero(patch.any(axis=0))[0]
    i, j = np.unravel_index(int(np.argmax(np.where(patch, out, -np.inf))), patch.shape)
    seen = (station_slab >= rows[0]) & (station_slab <= rows[-1])
    return Bulge(
        peak=RoofPlace(float(s[i]), float(across[j]), float(proud[i, j])),
        stands_out_mm=float(out[i, j]),
        from_mm=float(s[rows[0]]),
        to_mm=float(s[rows[-1]]),
        across_from_mm=float(across[columns[0]]),
        across_to_mm=float(across[columns[-1]]),
        area_mm2=float(cell[patch].sum()),
        volume_mm3=float((cell * np.where(patch, out, 0.0)).sum()),
        stations_seen=int(seen.sum()),
    )
