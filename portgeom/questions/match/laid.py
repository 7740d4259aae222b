"""How does a part lie on the face once its holes are on their pins?"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np

from portgeom.geometry.arrays import F64, frozen
from portgeom.job.match_values import FaceMatch, MatchPart
from portgeom.questions.match.fit import Fit, lay_on


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


def laid_on_pins(part: MatchPart, given: FaceMatch) -> Laid:
    """Return a part laid as its holes and the pins best agree."""
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
