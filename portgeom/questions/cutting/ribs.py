"""What stands between two grooves, and how much metal is still over the line along them?"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from portgeom.geometry.arrays import F64
from portgeom.questions.cutting.cuts import Groove
from portgeom.questions.cutting.rows import Metal, groove_width_mm
from portgeom.questions.cutting.side import Heights, over


@dataclass(frozen=True, slots=True)
class Rib:
    """The tallest rib between two grooves over their bottoms, the widest top of one, and its slab."""

    height_mm: float
    top_mm: float
    widest_slab: int


NO_RIB = Rib(0.0, 0.0, 0)


def ribs_cut(before: Heights, grooves: Sequence[Groove], radius_mm: float) -> Rib:
    """Return what grooves leave standing between neighbours of a side that was as it was before them.

    Where grooves overlap there is no top left and the height is the cusp between them: that of two circles of
    the cutter's radius, r - sqrt(r2 - (pitch/2)2) over bottoms at one height.
    """
    return _tallest(before, grooves, radius_mm, just_cut=True)


def ribs_left(now: Heights, grooves: Sequence[Groove], radius_mm: float) -> Rib:
    """Return what still stands between the grooves' lines over their bottoms, on a side as it now is."""
    return _tallest(now, grooves, radius_mm, just_cut=False)


def _tallest(side: Heights, grooves: Sequence[Groove], radius_mm: float, *, just_cut: bool) -> Rib:
    found = NO_RIB
    for left, right in pairwise(grooves):
        slabs = np.flatnonzero(left.runs & right.runs & (left.along_mm < right.along_mm))
        if not len(slabs):
            continue
        a, b = left.along_mm[slabs, None], right.along_mm[slabs, None]
        low, high = left.bottom_mm[slabs, None], right.bottom_mm[slabs, None]
        across = np.broadcast_to(side.along_mm, (len(slabs), len(side.along_mm)))
        metal = side.height_mm[slabs]
        if just_cut:
            crossing = _crossing(a, b, low, high, radius_mm)
            across = np.concatenate([across, crossing], axis=1)
            metal = np.concatenate([metal, over(side.along_mm, metal, crossing)], axis=1)
            for place, bottom in ((a, low), (b, high)):
                metal = np.fmax(metal, _disc(across - place, bottom, radius_mm))
        stands = low + (high - low) * (across - a) / (b - a) - metal
        stands = np.where((across > a) & (across < b), stands, np.nan)
        tallest = np.fmax.reduce(stands, axis=1, initial=0.0)
        tops = (b - a)[:, 0] - 0.5 * sum(groove_width_mm(radius_mm, g.depth_mm[slabs]) for g in (left, right))
        tops = np.where(tallest > 0.0, np.maximum(tops, 0.0), 0.0)
        widest = int(np.argmax(tops))
        one = Rib(float(tallest.max()), float(tops[widest]), int(slabs[widest]))
        wider = one if one.top_mm > found.top_mm else found
        found = Rib(max(one.height_mm, found.height_mm), wider.top_mm, wider.widest_slab)
    return found


def _disc(aside: F64, bottom: F64, radius: float) -> F64:
    """Return how high a groove reaches beside its line; NaN where it does not."""
    square = radius**2 - aside**2
    return bottom - radius + np.sqrt(np.where(square >= 0.0, square, np.nan))


def _crossing(a: F64, b: F64, low: F64, high: F64, radius: float) -> F64:
    """Return where across two circles of one radius meet that reach ``low`` at ``a`` and ``high`` at ``b``.

    Where they do not meet it is halfway.
    """
    apart = np.hypot(b - a, high - low)
    rise = np.sqrt(np.maximum(0.0, radius**2 - 0.25 * apart**2))
    return 0.5 * (a + b) - rise * (high - low) / apart


def over_at_grooves_mm(metal: Metal, grooves: Sequence[Groove]) -> float:
    """Return the most metal still over the line along the grooves' own lines."""
    left = [(metal.wanted.at(g.along_mm) - metal.now.at(g.along_mm))[g.runs] for g in grooves]
    return max((float(np.nanmax(o)) for o in left if len(o)), default=0.0)
