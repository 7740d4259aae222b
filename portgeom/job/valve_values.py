"""What does a job say of a valve's seat and guide, and of the chamber round it?"""

from __future__ import annotations

from dataclasses import dataclass

from portgeom.geometry.arrays import F64
from portgeom.geometry.outline import Outline


@dataclass(frozen=True, slots=True)
class SeatCut:
    """One cut of a seat: its angle from the plane of the seat, and its width along the slope."""

    angle_deg: float
    width_mm: float


@dataclass(frozen=True, slots=True)
class Seat:
    """A seat as cut, from the chamber inwards; None for what was not measured.

    ``contact_diameter_mm`` is that of the middle of the contact, ``depth_mm`` how far the valve's head lies below
    the chamber.
    """

    cuts: tuple[SeatCut, ...] = ()
    contact_diameter_mm: float | None = None
    insert_diameter_mm: float | None = None
    runout_mm: float | None = None
    depth_mm: float | None = None


@dataclass(frozen=True, slots=True)
class ValveGuide:
    """A guide as measured; None for what was not."""

    outer_diameter_mm: float | None = None
    inner_diameter_mm: float | None = None
    boss_diameter_mm: float | None = None
    boss_length_mm: float | None = None


@dataclass(frozen=True, slots=True)
class ValveLimits:
    """What the user accepts of a valve job; None where common practice is to be taken."""

    throat_low_percent: float | None = None
    throat_high_percent: float | None = None
    insert_wall_mm: float | None = None
    runout_mm: float | None = None
    clearance_low_mm: float | None = None
    clearance_high_mm: float | None = None
    guide_metal_mm: float | None = None
    room_mm: float | None = None


@dataclass(frozen=True, slots=True)
class Chamber:
    """The chamber, in the deck's plane, as seen from the chamber with the manifold face up.

    Across and up are from the middle of the bore; across to the right is x of the head frame. None for what was
    not measured.

    Attributes
    ----------
    outline : Outline or None
        The chamber's wall at the deck.
    intake_mm, exhaust_mm : (2,) float or None
        Middle of the valve there.
    poured_cc, wanted_cc : float or None
        What the chamber holds, and what it is to hold.
    deck_area_mm2 : float or None
        Of the chamber at the deck, where it is not the outline's.
    gasket_bore_mm, gasket_thickness_mm, deck_clearance_mm : float or None
        What is needed for a compression ratio, with the engine's bore and stroke.
    piston_cc : float or None
        What the piston's crown holds: a dish positive, a dome negative.
    """

    outline: Outline | None = None
    bore_mm: float | None = None
    intake_mm: F64 | None = None
    exhaust_mm: F64 | None = None
    poured_cc: float | None = None
    wanted_cc: float | None = None
    deck_area_mm2: float | None = None
    gasket_bore_mm: float | None = None
    gasket_thickness_mm: float | None = None
    deck_clearance_mm: float | None = None
    piston_cc: float | None = None
