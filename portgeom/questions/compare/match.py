"""What would have to come off each port, and where, so that all of them are alike?

Metal only ever comes off, so the pattern is the union of them all: at every place the port that goes furthest. Ports
that mirror each other are laid over each other mirrored. Where a port is within the tolerance of the pattern it is
left alone; where it is not, it is cut to it.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from portgeom.geometry.arrays import F64
from portgeom.geometry.moments import Moments
from portgeom.geometry.surface import Surface, with_distances
from portgeom.job.faults import JobError
from portgeom.model.wanted import Copied, Pattern, copied_onto
from portgeom.questions.compare.members import Sibling
from portgeom.questions.shape.removal import Removal, metal_between

WITHIN_MM = 0.2
"""Two surfaces nearer to each other than this match: no gauge at the bench tells them apart."""

EACH_OVER_EACH = 4
"""So many ports are each laid over each other; more all over the first, whose rays their union is read along."""


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


def matches(found: Sequence[Sibling], *, within_mm: float = WITHIN_MM) -> tuple[Match | NoMatch, ...]:
    """Return what would come off each of several ports so that all match."""
    if len(found) <= EACH_OVER_EACH:
        return tuple(_over_each(found, k, within_mm) for k in range(len(found)))
    return _over_the_first(found, within_mm)


def _over_each(found: Sequence[Sibling], k: int, within_mm: float) -> Match | NoMatch:
    """Return what would come off one, every other laid over it."""
    own = found[k]
    furthest = own.stage.surface.rho_mm
    for other in (m for i, m in enumerate(found) if i != k):
        laid = _laid_over(own, other, other.stage.surface)
        if isinstance(laid, NoMatch):
            return laid
        furthest = np.where(laid.covered[:, None], np.maximum(furthest, laid.rho_mm), furthest)
    return _cut_to(own, furthest, within_mm)


def _over_the_first(found: Sequence[Sibling], within_mm: float) -> tuple[Match | NoMatch, ...]:
    """Return what would come off each, all laid over the first and their union over each in turn."""
    first = found[0]
    union = first.stage.surface.rho_mm
    apart: dict[int, NoMatch] = {}
    for k, other in enumerate(found[1:], 1):
        laid = _laid_over(first, other, other.stage.surface)
        if isinstance(laid, NoMatch):
            apart[k] = replace(laid, other=first.name)
        else:
            union = np.where(laid.covered[:, None], np.maximum(union, laid.rho_mm), union)
    nothing = Moments(np.zeros(len(union)), np.zeros((len(union), 2)))
    pattern = with_distances(first.stage.surface, union, nothing)
    return tuple(apart[k] if k in apart else _over_pattern(m, first, pattern, within_mm) for k, m in enumerate(found))


def _over_pattern(own: Sibling, first: Sibling, pattern: Surface, within_mm: float) -> Match | NoMatch:
    laid = _laid_over(own, first, pattern)
    if isinstance(laid, NoMatch):
        return laid
    present = own.stage.surface.rho_mm
    return _cut_to(own, np.where(laid.covered[:, None], np.maximum(present, laid.rho_mm), present), within_mm)


def _laid_over(own: Sibling, other: Sibling, surface: Surface) -> Copied | NoMatch:
    """Return a surface on the chart of another port than that it was measured in, mirrored where the two are."""
    mirrored = other.port.port.mirrored != own.port.port.mirrored
    try:
        return copied_onto(own.port.chart, Pattern(surface, mirrored))
    except JobError as error:
        return NoMatch(other.name, error.faults[0].found)


def _cut_to(own: Sibling, furthest_mm: F64, within_mm: float) -> Match:
    """Return what comes off one port that is cut to the pattern where it falls short of it by more than allowed."""
    chart, present = own.port.chart, own.stage.surface.rho_mm
    beyond: F64 = np.where(furthest_mm - present > within_mm, furthest_mm, present)
    metal = metal_between(own.port, own.stage, beyond, list(chart.tips_mm(beyond)), density_g_cc=own.job.density_g_cc)
    return Match(metal, within_mm)
