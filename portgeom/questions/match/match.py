"""How do port, gasket and manifold meet at the face, as their bolts or dowels place them?

All outlines are as seen looking in, in the plane of the face, across and up from where the port's path starts.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Literal, TypeAlias

import numpy as np

from portgeom.geometry.arrays import F64, frozen
from portgeom.geometry.outline import Outline
from portgeom.job.match_values import FaceMatch, MatchPart, Milling
from portgeom.job.values import PortKind
from portgeom.questions.match.edges import ClockPlaces, beyond, clock_places
from portgeom.questions.match.fit import Fit, Motion, lay_on
from portgeom.questions.match.milling import Shift, milled

Facing: TypeAlias = Literal["flush", "faces the flow", "faces away", "no manifold"]

FLUSH_MM = 0.05
"""A step under this is none: no finger and no gauge tells it."""


class NoOverlapError(ValueError):
    """A part whose opening does not overlap the port's once its holes lie on their pins. Holds the part's name."""


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


@dataclass(frozen=True, slots=True)
class Laid:
    """A part laid on the face.

    Attributes
    ----------
    outline_mm, holes_mm : (n, 2), (k, 2) float
        Where its opening and its holes come to lie.
    hole_diameter_mm : (k,) float
        NaN where it was not given.
    fit : Fit
    play_known : bool
        Whether the sizes of pins and holes were given, so that there is play to speak of.
    shifts_mm, turns_deg : float
        The most that the middle of its opening moves, and that it turns, either way within its play.
    """

    outline_mm: F64
    holes_mm: F64
    hole_diameter_mm: F64
    fit: Fit
    play_known: bool
    shifts_mm: float
    turns_deg: float


@dataclass(frozen=True, slots=True)
class Match:
    """How port, gasket and manifold meet.

    Attributes
    ----------
    kind : PortKind
    places : ClockPlaces
        On the port's edge, where the steps are told.
    port_mm, pins_mm, pin_diameter_mm : (n, 2), (k, 2), (k,) float
    gasket, manifold : Laid or None
    steps : tuple of ClockStep
        Twelve, from the roof on.
    matched_mm : (m, 2) float
        The opening that port and manifold have once both are cut to their common line: the union of the two.
    common_mm : (m, 2) float
        What is open through all of them now.
    port_area_mm2, matched_area_mm2, common_area_mm2 : float
    shift : Shift or None
        What milling does; None where nothing is milled or there is no manifold.
    lean_deg : float
        How far the face leans, for the shift.
    bolts_bind_mm : float
        How far the shift goes beyond what the bolts' play allows; 0 where they still go in.
    """

    kind: PortKind
    places: ClockPlaces
    port_mm: F64
    pins_mm: F64
    pin_diameter_mm: F64
    gasket: Laid | None
    manifold: Laid | None
    steps: tuple[ClockStep, ...]
    matched_mm: F64
    common_mm: F64
    port_area_mm2: float
    matched_area_mm2: float
    common_area_mm2: float
    shift: Shift | None
    lean_deg: float
    bolts_bind_mm: float

    @property
    def found(self) -> bool:
        """Return whether a step faces the flow, a gasket stands in it, or a part does not go on."""
        rough = any(s.facing == "faces the flow" or s.overhang_mm > FLUSH_MM for s in self.steps)
        return rough or self.bolts_bind_mm > 0.0 or any(p and not p.fit.goes_on for p in (self.gasket, self.manifold))


def match(port: Outline, given: FaceMatch, *, kind: PortKind, lean_deg: float, milling: Milling | None = None) -> Match:
    """Return how what meets at a port's face meets.

    Parameters
    ----------
    port : Outline
        The port's own, at the face.
    lean_deg : float
        The pitch of the first station: how far the face leans.

    Raises
    ------
    NoOverlapError
        Where an opening lies wholly beside the port's.

    Notes
    -----
    A step is the distance from a place on the port's edge to the nearest point of the other edge, so it is exact for
    an outline grown by the same all round, and at straight walls for one that is shifted. Within the play each step
    is taken where it is least and most: the place at the end of the play that moves its nearest point furthest in
    or out is found first, and the step there is measured anew.
    """
    places = clock_places(port.points_mm, port.centroid_mm)
    gasket = None if given.gasket is None else _laid(given.gasket, given)
    manifold = None if given.manifold is None else _laid(given.manifold, given)
    for name, part in (("gasket", gasket), ("manifold", manifold)):
        if part is not None and not _overlap(port.points_mm, part.outline_mm):
            raise NoOverlapError(name)
    shift = None
    if milling is not None and manifold is not None:
        face = milling.intake_face_mm if kind == "intake" else milling.exhaust_face_mm
        if milling.deck_mm or face:
            shift = milled(milling.deck_mm, face, lean_deg=lean_deg, held=given.held, vee_deg=given.vee_deg)
    openings = [port.points_mm, *(p.outline_mm for p in (gasket, manifold) if p is not None)]
    met = [port.points_mm] if manifold is None else [port.points_mm, manifold.outline_mm]
    matched, common = _joined(met), _shared(openings)
    return Match(
        kind=kind,
        places=places,
        port_mm=port.points_mm,
        pins_mm=given.holes_mm,
        pin_diameter_mm=given.pin_diameter_mm,
        gasket=gasket,
        manifold=manifold,
        steps=_steps(kind, places, given, gasket, manifold, shift),
        matched_mm=matched,
        common_mm=common,
        port_area_mm2=port.area_mm2,
        matched_area_mm2=_area_mm2(matched),
        common_area_mm2=_area_mm2(common),
        shift=shift,
        lean_deg=lean_deg,
        bolts_bind_mm=_bind_mm(shift, manifold),
    )


def _laid(part: MatchPart, given: FaceMatch) -> Laid:
    play = 0.5 * (part.hole_diameter_mm - given.pin_diameter_mm)
    known = bool(np.isfinite(play).all())
    fit = lay_on(part.holes_mm, given.holes_mm, play if known else np.zeros(len(play)))
    if not known:
        fit = replace(fit, goes_on=True)  # without sizes nobody can say that it does not
    centre = part.outline.centroid_mm[None]
    at = fit.best.of(centre)[0]
    ends = [m.of(centre)[0] for m in fit.within]
    return Laid(
        outline_mm=frozen(fit.best.of(part.outline.points_mm)),
        holes_mm=frozen(fit.best.of(part.holes_mm)),
        hole_diameter_mm=part.hole_diameter_mm,
        fit=fit,
        play_known=known,
        shifts_mm=max((float(np.linalg.norm(e - at)) for e in ends), default=0.0),
        turns_deg=max((abs(math.degrees(m.turn_rad - fit.best.turn_rad)) for m in fit.within), default=0.0),
    )


def _steps(
    kind: PortKind,
    places: ClockPlaces,
    given: FaceMatch,
    gasket: Laid | None,
    manifold: Laid | None,
    shift: Shift | None,
) -> tuple[ClockStep, ...]:
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


def _bind_mm(shift: Shift | None, manifold: Laid | None) -> float:
    """Return how far a shift goes beyond the play of the bolts; 0 where no play is known."""
    if shift is None or manifold is None or not manifold.play_known:
        return 0.0
    return max(0.0, abs(shift.shift_mm) - float(manifold.fit.play_mm.min()))


def _overlap(one_mm: F64, other_mm: F64) -> bool:
    import shapely

    return bool(shapely.intersects(shapely.Polygon(one_mm), shapely.Polygon(other_mm)))


def _joined(outlines_mm: Sequence[F64]) -> F64:
    import shapely

    return _ring(shapely.union_all([shapely.Polygon(o) for o in outlines_mm]))


def _shared(outlines_mm: Sequence[F64]) -> F64:
    """Return what lies inside every outline; no points where nothing does."""
    import shapely

    return _ring(shapely.intersection_all([shapely.Polygon(o) for o in outlines_mm]))


def _ring(shape: object) -> F64:
    """Return the outer edge of the largest piece, anticlockwise, without a repeated end."""
    import shapely
    from shapely.geometry.polygon import orient

    pieces = [p for p in shapely.get_parts(shape) if p.geom_type == "Polygon"]
    if not pieces:
        return frozen(np.empty((0, 2)))
    largest = orient(max(pieces, key=lambda p: p.area))
    return frozen(shapely.get_coordinates(largest.exterior)[:-1])


def _area_mm2(points_mm: F64) -> float:
    from portgeom.geometry.moments import polygon_moments

    return float(polygon_moments(points_mm).area_mm2) if len(points_mm) else 0.0
