"""How far do the edges at a face stand beside each other, round the clock?"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal, TypeAlias

import numpy as np

from portgeom.geometry.arrays import F64
from portgeom.job.match_values import FaceMatch, MatchPart
from portgeom.job.values import PortKind
from portgeom.questions.match.edges import ClockPlaces, beyond
from portgeom.questions.match.fit import Fit, Motion
from portgeom.questions.match.laid import Laid
from portgeom.questions.match.milling import Shift

Facing: TypeAlias = Literal["flush", "faces the flow", "faces away", "no manifold"]


FLUSH_MM = 0.05
"""A step under this is none: no finger and no gauge tells it."""


@dataclass(frozen=True, slots=True)
class Within:
    """A step as its part lies best, and the least and the most that its play allows."""

    best_mm: float
    least_mm: float
    most_mm: float


@dataclass(frozen=True, slots=True)
class ClockStep:
    """What meets at one place round the clock.

    Attributes
    ----------
    clock_deg : float
    manifold, gasket : Within or None
        How far their edges lie outside the port's: positive where theirs is the larger opening.
    facing : Facing
        Whether the step between port and manifold faces the flow, as the manifold lies best.
    overhang_mm, most_overhang_mm : float
        How far the gasket stands into the stream, past whichever of the other two stands further in; at best and
        at worst within all play. 0 where it does not, or there is none.
    after_mm : float or None
        The manifold's step once deck or face is milled; None where nothing shifts.
    """

    clock_deg: float
    manifold: Within | None
    gasket: Within | None
    facing: Facing
    overhang_mm: float
    most_overhang_mm: float
    after_mm: float | None


def clock_steps(
    kind: PortKind,
    places: ClockPlaces,
    given: FaceMatch,
    gasket: Laid | None,
    manifold: Laid | None,
    shift: Shift | None,
) -> tuple[ClockStep, ...]:
    """Return what meets at every place round the clock."""
    edge = None if manifold is None or given.manifold is None else _within(places, given.manifold, manifold.fit)
    lip = None if gasket is None or given.gasket is None else _within(places, given.gasket, gasket.fit)
    after = None
    if shift is not None and manifold is not None and shift.shift_mm:
        # the port moves up by the shift, so the manifold lies lower by it as the port sees it
        after = beyond(places.place_mm, manifold.outline_mm - np.array([0.0, shift.shift_mm])).distance_mm
    steps = []
    for k in range(len(places.clock_deg)):
        m, g = (None if edge is None else edge[k]), (None if lip is None else lip[k])
        stands = 0.0 if m is None else min(0.0, m.best_mm)
        worst = 0.0 if m is None else min(0.0, m.most_mm)
        steps.append(
            ClockStep(
                clock_deg=float(places.clock_deg[k]),
                manifold=m,
                gasket=g,
                facing="no manifold" if m is None else facing(m.best_mm, kind),
                overhang_mm=0.0 if g is None else max(0.0, stands - g.best_mm),
                most_overhang_mm=0.0 if g is None else max(0.0, worst - g.least_mm),
                after_mm=None if after is None else float(after[k]),
            )
        )
    return tuple(steps)


def facing(step_mm: float, kind: PortKind) -> Facing:
    """Return whether a step between manifold and port faces the flow.

    The flow runs into an intake port: what stands in its way is the port's edge inside a larger manifold. It runs
    out of an exhaust port: what stands in its way is the manifold's edge inside a larger port.

    Examples
    --------
    >>> facing(0.8, "intake"), facing(0.8, "exhaust")
    ('faces the flow', 'faces away')
    """
    if abs(step_mm) < FLUSH_MM:
        return "flush"
    return "faces the flow" if (step_mm > 0.0) == (kind == "intake") else "faces away"


def _within(places: ClockPlaces, part: MatchPart, fit: Fit) -> list[Within]:
    """Return the steps of a part's edge: best, least and most within its play."""
    outline = part.outline.points_mm
    best = beyond(places.place_mm, fit.best.of(outline))
    if not fit.within:
        return [Within(float(d), float(d), float(d)) for d in best.distance_mm]
    out = _out(places, best.distance_mm, best.nearest_mm)
    # where each nearest point lies on the part itself, and where it goes at every end of the play
    own = (best.nearest_mm - fit.best.shift_mm) @ _turned(fit.best).T
    moved = np.stack([m.of(own) for m in fit.within]) - best.nearest_mm[None]
    along = (moved * out[None]).sum(axis=-1)
    found = []
    for k, distance in enumerate(best.distance_mm):
        ends = [
            float(beyond(places.place_mm[k : k + 1], fit.within[int(pick)].of(outline)).distance_mm[0])
            for pick in (np.argmin(along[:, k]), np.argmax(along[:, k]))
        ]
        found.append(Within(float(distance), min(float(distance), *ends), max(float(distance), *ends)))
    return found


def _turned(motion: Motion) -> F64:
    c, s = math.cos(motion.turn_rad), math.sin(motion.turn_rad)
    return np.array([[c, s], [-s, c]])


def _out(places: ClockPlaces, distance_mm: F64, nearest_mm: F64) -> F64:
    """Return the way in which a step grows: from the place to the nearest point, or the port's own way out."""
    far = np.abs(distance_mm) > FLUSH_MM
    safe = np.where(far, distance_mm, 1.0)
    return np.where(far[:, None], (nearest_mm - places.place_mm) / safe[:, None], places.out)
