"""Which solids does a port have: the passage as it is, the passage wanted, and the metal between?"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal, TypeAlias

from portgeom.geometry.difference import less
from portgeom.geometry.solid import Solid, solid_of
from portgeom.model.lofted import LoftedStage
from portgeom.questions.shape.removal import Removal

BEYOND_MM = 1.0
"""How far the passage goes on when it is taken out of the passage wanted: caps on each other leave skins of nothing."""

What: TypeAlias = Literal["passage", "wanted", "metal to remove"]


@dataclass(frozen=True, slots=True)
class Part:
    """One solid of a port, and the volume that the sections give for it."""

    what: What
    solid: Solid
    formula_mm3: float


def port_solids(stage: LoftedStage, metal: Removal) -> tuple[Part, ...]:
    """Return the closed solids of one stage of a port; where nothing comes off there is no third.

    The passage wanted holds the present one, since metal cannot be put back. The metal between is the
    difference of the two meshes, so the three fit together face to face.
    """
    present = solid_of(stage.surface)
    wanted = solid_of(metal.after)
    parts = [
        Part("passage", present, float(stage.surface.volume_mm3.sum())),
        Part("wanted", wanted, metal.volume_after_mm3),
    ]
    taken = solid_of(stage.surface, beyond_mm=BEYOND_MM)
    between = less(wanted, taken) if metal.volume_mm3 > 0.0 else None
    if between is not None:
        parts.append(Part("metal to remove", between, metal.volume_mm3))
    return tuple(parts)
