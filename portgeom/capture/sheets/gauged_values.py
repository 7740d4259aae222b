"""What is gauged of a port through a measuring sheet, and what is a section once it has its plane?"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal, TypeAlias

import numpy as np

from portgeom.geometry.arrays import F64, frozen
from portgeom.geometry.gauged_shape import Gauged
from portgeom.geometry.outline import Outline
from portgeom.geometry.shapes import CornerRadii

Kind: TypeAlias = Literal["face", "turn", "bowl"]

POINTER_CLOCK_DEG = frozen(np.arange(8) * 45.0)
"""Clock of the pointer's eight readings: 0 straight away from the face, then round by the right."""


@dataclass(frozen=True, slots=True)
class SetUp:
    """How port, deck and arbor stand to each other. Angles in degrees, lengths in mm.

    Attributes
    ----------
    face_to_deck_deg : float
        Between deck and manifold face, through the metal: 90 square, less where the face looks up.
    arbor_away_deg, arbor_right_deg : float
        Between the deck and the arbor where it stands out of the chamber, seen along the head on the side
        away from the face, and seen square to the face on the right side.
    face_to_arbor_mm : float
        Along the deck, from the plane of the face to the arbor's middle.
    seat_below_deck_mm : float
        From the deck to the seat, square to the deck, on the arbor's axis.
    floor_above_deck_mm, roof_above_deck_mm : float
        At the face, square to the deck.
    crest_depth_mm, crest_height_mm, short_radius_mm : float
        The place on the short side's radius gauge that runs square from the face: its depth, its height over the
        floor at the face, and the radius. NaN where no turn section is gauged.
    along_head_mm : float
        x of the arbor where it meets the deck.
    """

    face_to_deck_deg: float
    arbor_away_deg: float
    arbor_right_deg: float
    face_to_arbor_mm: float
    seat_below_deck_mm: float
    floor_above_deck_mm: float
    roof_above_deck_mm: float
    crest_depth_mm: float = np.nan
    crest_height_mm: float = np.nan
    short_radius_mm: float = np.nan
    along_head_mm: float = 0.0


@dataclass(frozen=True, slots=True)
class FaceSection:
    """Parallel to the face, ``depth_mm`` square from it.

    ``floor_mm`` is how far its floor lies above the floor at the face, parallel to the face; ``side_mm`` how
    far its left wall at middle height lies left of the arbor's line.
    """

    depth_mm: float
    gauged: Gauged
    floor_mm: float
    side_mm: float


@dataclass(frozen=True, slots=True)
class TurnSection:
    """Fanned about the centre of the short side radius, ``angle_deg`` on from parallel to the face.

    ``floor_mm`` is how far its floor stands off the radius gauge into the passage. ``radii_mm`` and ``side_mm`` are
    None where they were not gauged.
    """

    angle_deg: float
    width_mm: float
    height_mm: float
    radii_mm: CornerRadii | None = None
    floor_mm: float = 0.0
    side_mm: float | None = None


@dataclass(frozen=True, slots=True)
class BowlSection:
    """Square to the arbor, ``above_seat_mm`` up its axis: eight radii (8,) by a pointer, from straight away from
    the face round by the right."""

    above_seat_mm: float
    radii_mm: F64


Section: TypeAlias = FaceSection | TurnSection | BowlSection


@dataclass(frozen=True, slots=True)
class Placed:
    """One section in its plane in the head frame.

    Attributes
    ----------
    section : Section
        With what was not gauged filled in.
    place_mm, right, normal : (3,) float
        Origin of the plane, on the path, and its u and d.
    outline : Outline
        About the origin.
    shift_mm : (2,) float
        Where in the plane the shape's own middle lies: of a bowl section the arbor's.
    carried : tuple of str
        Readings that were not taken and were carried over from the neighbours.
    """

    section: Section
    place_mm: F64
    right: F64
    normal: F64
    outline: Outline
    shift_mm: F64
    carried: tuple[str, ...] = ()

    @property
    def up(self) -> F64:
        """Return the plane's v."""
        return np.cross(self.right, self.normal)

    def centroid_mm(self) -> F64:
        """Return the section's centroid in the head frame (3,)."""
        u, v = self.outline.centroid_mm
        return self.place_mm + u * self.right + v * self.up
