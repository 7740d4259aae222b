"""How do port, gasket and manifold meet at the face, as their bolts or dowels place them?

All outlines are as seen looking in, in the plane of the face, across and up from where the port's path starts.
"""

from __future__ import annotations

from dataclasses import dataclass

from portgeom.geometry.arrays import F64
from portgeom.geometry.outline import Outline
from portgeom.job.match_values import FaceMatch, Milling
from portgeom.job.values import PortKind
from portgeom.questions.match.edges import ClockPlaces, clock_places
from portgeom.questions.match.laid import Laid, laid_on_pins
from portgeom.questions.match.milling import Shift, milled
from portgeom.questions.match.openings import area_mm2, joined, overlap, shared
from portgeom.questions.match.steps import FLUSH_MM, ClockStep, clock_steps


class NoOverlapError(ValueError):
    """A part whose opening does not overlap the port's once its holes lie on their pins. Holds the part's name."""


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
    gasket = None if given.gasket is None else laid_on_pins(given.gasket, given)
    manifold = None if given.manifold is None else laid_on_pins(given.manifold, given)
    for name, part in (("gasket", gasket), ("manifold", manifold)):
        if part is not None and not overlap(port.points_mm, part.outline_mm):
            raise NoOverlapError(name)
    shift = None
    if milling is not None and manifold is not None:
        face = milling.intake_face_mm if kind == "intake" else milling.exhaust_face_mm
        if milling.deck_mm or face:
            shift = milled(milling.deck_mm, face, lean_deg=lean_deg, held=given.held, vee_deg=given.vee_deg)
    openings = [port.points_mm, *(p.outline_mm for p in (gasket, manifold) if p is not None)]
    met = [port.points_mm] if manifold is None else [port.points_mm, manifold.outline_mm]
    matched, common = joined(met), shared(openings)
    return Match(
        kind=kind,
        places=places,
        port_mm=port.points_mm,
        pins_mm=given.holes_mm,
        pin_diameter_mm=given.pin_diameter_mm,
        gasket=gasket,
        manifold=manifold,
        steps=clock_steps(kind, places, given, gasket, manifold, shift),
        matched_mm=matched,
        common_mm=common,
        port_area_mm2=port.area_mm2,
        matched_area_mm2=area_mm2(matched),
        common_area_mm2=area_mm2(common),
        shift=shift,
        lean_deg=lean_deg,
        bolts_bind_mm=_bind_mm(shift, manifold),
    )


def _bind_mm(shift: Shift | None, manifold: Laid | None) -> float:
    """Return how far a shift goes beyond the play of the bolts; 0 where no play is known."""
    if shift is None or manifold is None or not manifold.play_known:
        return 0.0
    return max(0.0, abs(shift.shift_mm) - float(manifold.fit.play_mm.min()))
