"""What does a job say of the gasket and the manifold at a port's face, and of milling?"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal, TypeAlias

from portgeom.geometry.arrays import F64
from portgeom.geometry.outline import Outline

ManifoldHeld: TypeAlias = Literal["one head", "two heads", "elsewhere"]


@dataclass(frozen=True, slots=True)
class MatchPart:
    """A gasket or a manifold flange: its opening, and the holes that place it, all as seen looking in.

    ``holes_mm`` (n, 2) lie in the outline's own coordinates, in the order of the head's holes;
    ``hole_diameter_mm`` (n,) is NaN where it was not given.
    """

    outline: Outline
    holes_mm: F64
    hole_diameter_mm: F64


@dataclass(frozen=True, slots=True)
class FaceMatch:
    """What meets a port at its face.

    Attributes
    ----------
    holes_mm : (n, 2) float
        Bolts or dowels in the head, across and up from where the path starts, in the plane of the face.
    pin_diameter_mm : (n,) float
        Of the bolts or dowels; NaN where it was not given.
    gasket, manifold : MatchPart or None
    held : ManifoldHeld
        What the manifold is bolted to: this head, two heads of a vee, or something that is not the head.
    vee_deg : float or None
        Angle between the banks of a vee.
    """

    holes_mm: F64
    pin_diameter_mm: F64
    gasket: MatchPart | None
    manifold: MatchPart | None
    held: ManifoldHeld = "one head"
    vee_deg: float | None = None


@dataclass(frozen=True, slots=True)
class Milling:
    """What is to be milled off the deck and off the manifold faces, or has been since they were measured."""

    deck_mm: float = 0.0
    intake_face_mm: float = 0.0
    exhaust_face_mm: float = 0.0
