"""What stands between two grooves, and how much metal is still over the line along them?"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from portgeom.questions.cuts import Groove
from portgeom.questions.rows import Metal, groove_width_mm


@dataclass(frozen=True, slots=True)
class Rib:
    """The tallest rib between two grooves over their bottoms, and the widest top of one."""

    height_mm: float
    top_mm: float


def ribs(metal: Metal, grooves: Sequence[Groove], radius_mm: float) -> Rib:
    """Return what stands between neighbouring grooves of a side as it now is.

    Where grooves overlap there is no top left and the height is the cusp between them.
    """
    tallest = widest = 0.0
    across = metal.now.along_mm
    for left, right in pairwise(grooves):
        gap = right.along_mm - left.along_mm
        top = gap - 0.5 * (groove_width_mm(radius_mm, left.depth_mm) + groove_width_mm(radius_mm, right.depth_mm))
        for j in np.flatnonzero(left.runs & right.runs):
            a, b = left.along_mm[j], right.along_mm[j]
            between = (across > a) & (across < b)
            if not between.any():
                continue
            bottom = np.interp(across[between], [a, b], [left.bottom_mm[j], right.bottom_mm[j]])
            stands = float(np.nanmax(bottom - metal.now.height_mm[j, between]))
            if stands > 0.0:
                tallest, widest = max(tallest, stands), max(widest, float(top[j]))
    return Rib(tallest, widest)


def over_at_grooves_mm(metal: Metal, grooves: Sequence[Groove]) -> float:
    """Return the most metal still over the line along the grooves' own lines."""
    over = [(metal.wanted.at(g.along_mm) - metal.now.at(g.along_mm))[g.runs] for g in grooves]
    return max((float(np.nanmax(o)) for o in over if len(o)), default=0.0)
