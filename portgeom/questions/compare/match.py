"""What would have to come off each port, and where, so that all of them are alike?

Metal only ever comes off, so the pattern is the union of them all: at every place the port that goes furthest. Ports
that mirror each other are laid over each other mirrored. Where a port is within the tolerance of the pattern it is
left alone; where it is not, it is cut to it.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from portgeom.geometry.arrays import F64
from portgeom.job.faults import JobError
from portgeom.model.wanted import Pattern, copied_onto
from portgeom.questions.compare.members import Member
from portgeom.questions.shape.removal import Removal, metal_between

WITHIN_MM = 0.2
"""Two surfaces nearer to each other than this match: no gauge at the bench tells them apart."""


@dataclass(frozen=True, slots=True)
class Match:
    """What has to come off one port so that it matches the pattern within the tolerance."""

    metal: Removal
    within_mm: float


@dataclass(frozen=True, slots=True)
class NoMatch:
    """Two ports that cannot be laid over each other: which is the other one, and why."""

    other: str
    why: str


def matches(found: Sequence[Member], *, within_mm: float = WITHIN_MM) -> tuple[Match | NoMatch, ...]:
    """Return what would come off each of several ports so that all match."""
    return tuple(_match(found, k, within_mm) for k in range(len(found)))


def _match(found: Sequence[Member], k: int, within_mm: float) -> Match | NoMatch:
    own = found[k]
    chart, present = own.port.chart, own.stage.surface.rho_mm
    furthest = present
    for other in (m for i, m in enumerate(found) if i != k):
        mirrored = other.port.port.mirrored != own.port.port.mirrored
        try:
            copied = copied_onto(chart, Pattern(other.stage.surface, mirrored))
        except JobError as error:
            return NoMatch(other.name, error.faults[0].found)
        furthest = np.where(copied.covered[:, None], np.maximum(furthest, copied.rho_mm), furthest)
    beyond: F64 = np.where(furthest - present > within_mm, furthest, present)
    metal = metal_between(own.port, own.stage, beyond, list(chart.tips_mm(beyond)), density_g_cc=own.job.density_g_cc)
    return Match(metal, within_mm)
