"""Which patches of the wall hang together, and where is each for someone at the bench?"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Generic, TypeVar

import numpy as np

from portgeom.geometry.arrays import F64, Bool, Int
from portgeom.geometry.hanging import hanging_together
from portgeom.questions.reach.cut_places import CutPlaces

NAMED_SHARE = 0.005
"""Share of all the metal below which a patch is not named, only counted."""

ALL_ROUND = 0.35
"""How little a patch may lean to one side and still be said to run all round."""

Why = TypeVar("Why")


@dataclass(frozen=True, slots=True)
class Patch(Generic[Why]):
    """Places side by side: from where to where, round which clock position, how much metal, and why."""

    from_mm: float
    to_mm: float
    clock_deg: float
    all_round: bool
    volume_mm3: float
    why: Why


def patches(places: CutPlaces, chosen: Bool, volume_mm3: F64, why: Int, meaning: tuple[Why, ...]) -> list[Patch[Why]]:
    """Return the patches of chosen places, the largest first.

    Parameters
    ----------
    places : CutPlaces
    chosen : (n,) bool
    volume_mm3 : (n,) float
        Metal of each place that counts.
    why : (n,) int
        Index into ``meaning``; a patch takes the one that stands for most of its metal.
    """
    group = _groups(places, chosen)
    found = []
    for k in np.unique(group[group > 0]):
        own = group == k
        metal = volume_mm3[own]
        if metal.sum() < NAMED_SHARE * places.volume_mm3.sum():
            continue
        round_it = np.radians(places.clock_deg[own])
        lean = np.average(np.exp(1j * round_it), weights=metal)
        distance = places.distance_mm[own]
        found.append(
            Patch(
                float(distance.min()),
                float(distance.max()),
                float(np.degrees(np.angle(lean))) % 360.0,
                bool(abs(lean) < ALL_ROUND),
                float(metal.sum()),
                meaning[int(np.argmax(np.bincount(why[own], weights=metal, minlength=len(meaning))))],
            )
        )
    return sorted(found, key=lambda p: -p.volume_mm3)


def border_mm3(places: CutPlaces, share: F64) -> float:
    """Return half the metal of the places beside which the answer is another one.

    The border between two answers runs somewhere within these, so a sum is off by no more.
    """
    grid = places.grid(share)
    differs = np.zeros(grid.shape, dtype=bool)
    for axis, step in ((0, 1), (0, -1), (1, 1), (1, -1)):
        beside = np.roll(grid, step, axis=axis)
        if axis == 0:
            beside[0 if step > 0 else -1] = np.nan
        differs |= np.abs(grid - beside) > 0.5  # NaN, no metal beside it, never differs
    return 0.5 * float(places.volume_mm3[differs[places.row, places.column]].sum())


def _groups(places: CutPlaces, chosen: Bool) -> Int:
    """Return the number of the patch each place belongs to; 0 for one not chosen. The columns close round the port."""
    grid = places.grid(chosen.astype(np.float64)) == 1.0
    return hanging_together(grid, closed=True)[places.row, places.column]
