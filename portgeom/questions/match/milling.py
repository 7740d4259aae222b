"""Where does a port come to lie against its manifold once deck or face is milled?

Seen from the side, the deck level and below: z is up from the deck, the face leans by p (positive: its outward side
looks up, away from the deck). Milling m off the deck lets the head down by m along z. Milling f off the face lets
the head's face in by f, square to itself. Shifts are told along the face, up positive, as the port moves against
the manifold; gaps square to the face, positive where a gap opens.

A manifold bolted to this head alone goes with it: nothing shifts. One that is held elsewhere stays where it is. One
between the two heads of a vee can only rise or drop along the vee's middle, and does so until both faces touch.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from portgeom.job.match_values import ManifoldHeld

LEAST_LEAN = 1e-3
"""Sine of the lean of a face from the vee's middle, under which a manifold cannot close or open a gap by dropping."""


@dataclass(frozen=True, slots=True)
class Shift:
    """What milling does to a match.

    Attributes
    ----------
    shift_mm : float
        How far the port moves along its face against the manifold, up positive.
    gap_mm : float
        What opens between the faces (positive), or what they overlap by (negative).
    drop_mm : float
        How far the manifold drops in a vee; 0 for others.
    face_too_mm : float or None
        What has to come off each face in all for the ports to meet as before; None but in a vee.
    drop_then_mm : float or None
        How far the manifold then drops: what its ends need off, too.
    """

    shift_mm: float
    gap_mm: float
    drop_mm: float
    face_too_mm: float | None = None
    drop_then_mm: float | None = None


def milled(
    deck_mm: float, face_mm: float, *, lean_deg: float, held: ManifoldHeld, vee_deg: float | None = None
) -> Shift:
    """Return what milling deck and face shifts.

    Parameters
    ----------
    deck_mm, face_mm : float
        What comes off, at least 0.
    lean_deg : float
        How far the face's outward side looks up from the deck: the pitch of the first station.
    vee_deg : float, optional
        Angle between the banks; needed for two heads.

    Notes
    -----
    In a vee of half angle b a face that leans by p stands g = b + p from upright. With w what the manifold drops,
    the faces touch where w sin g = m sin p + f; the shift is -m cos p + w cos g. Nothing shifts at all where
    f = m sin b / cos g, and the manifold drops by m cos p / cos g then.
    """
    p = math.radians(lean_deg)
    if held == "one head":
        return Shift(0.0, 0.0, 0.0)
    if held == "elsewhere":
        return Shift(-deck_mm * math.cos(p), deck_mm * math.sin(p) + face_mm, 0.0)
    assert vee_deg is not None
    b = math.radians(0.5 * vee_deg)
    g = b + p
    opened = deck_mm * math.sin(p) + face_mm
    upright = abs(math.sin(g)) < LEAST_LEAN
    drop = 0.0 if upright else opened / math.sin(g)
    flat = abs(math.cos(g)) < LEAST_LEAN
    return Shift(
        shift_mm=-deck_mm * math.cos(p) + drop * math.cos(g),
        gap_mm=opened if upright else 0.0,
        drop_mm=drop,
        face_too_mm=None if flat else deck_mm * math.sin(b) / math.cos(g),
        drop_then_mm=None if flat else deck_mm * math.cos(p) / math.cos(g),
    )
