"""What does a job say of a valve's seat and guide, and of the chamber round it?"""

from __future__ import annotations

from typing import cast

from portgeom.geometry.outline import Outline
from portgeom.job.files import Folder
from portgeom.job.keys import Entry
from portgeom.job.match import read_drawn
from portgeom.job.valve_values import Chamber, Seat, SeatCut, ValveGuide, ValveLimits


def read_seat(valve: Entry) -> Seat | None:
    """Return a seat as cut, or None after taking down what is wrong with it."""
    entry = valve.table("seat")
    if entry is None:
        return None
    head, throat = valve.number("head_diameter"), valve.number("throat_diameter")
    contact, insert = entry.number("contact_diameter"), entry.number("insert_diameter")
    if contact is not None and head is not None and contact >= head:
        entry.spot("contact_diameter").fault("is no smaller than the valve's head", "check both diameters")
    if contact is not None and throat is not None and contact <= throat:
        entry.spot("contact_diameter").fault("is no larger than the throat", "check both diameters")
    if insert is not None and throat is not None and insert <= throat:
        entry.spot("insert_diameter").fault("is no larger than the throat", "give the outer diameter of the insert")
    cuts = cast("tuple[SeatCut, ...]", entry.values.get("cuts", ()))
    angle = valve.number("seat_angle")
    if cuts and angle is not None and angle not in [c.angle_deg for c in cuts]:
        entry.spot("cuts").fault(
            f"holds no cut of {angle:g} degrees, the seat's angle", "list the cut that the valve seats on, too"
        )
    if not entry.complete:
        return None
    return Seat(cuts, contact, insert, entry.number("runout"), entry.number("depth"))


def read_guide(valve: Entry) -> ValveGuide | None:
    """Return a guide as measured, or None after taking down what is wrong with it."""
    entry = valve.table("guide")
    if entry is None:
        return None
    stem, inner, outer = valve.number("stem_diameter"), entry.number("inner_diameter"), entry.number("outer_diameter")
    boss = entry.number("boss_diameter")
    if inner is not None and stem is not None and inner <= stem:
        entry.spot("inner_diameter").fault("is no larger than the stem", "give the bore that the stem runs in")
    if inner is not None and outer is not None and outer <= inner:
        entry.spot("outer_diameter").fault("is no larger than the inner diameter", "check both diameters")
    if boss is not None and outer is not None and boss <= outer:
        entry.spot("boss_diameter").fault("is no larger than the guide", "give the diameter of the metal round it")
    return ValveGuide(outer, inner, boss, entry.number("boss_length")) if entry.complete else None


def read_valve_limits(valve: Entry) -> ValveLimits:
    """Return what the user accepts of a valve job."""
    entry = valve.table("limits")
    if entry is None:
        return ValveLimits()
    for low, high in (("throat_low_percent", "throat_high_percent"), ("clearance_low", "clearance_high")):
        least, most = entry.number(low), entry.number(high)
        if least is not None and most is not None and least >= most:
            entry.spot(high).fault(f"is not above {low}", "give the lower one first")
    return ValveLimits(
        throat_low_percent=entry.number("throat_low_percent"),
        throat_high_percent=entry.number("throat_high_percent"),
        insert_wall_mm=entry.number("insert_wall"),
        runout_mm=entry.number("runout"),
        clearance_low_mm=entry.number("clearance_low"),
        clearance_high_mm=entry.number("clearance_high"),
        guide_metal_mm=entry.number("guide_metal"),
        room_mm=entry.number("room"),
    )


def read_chamber(entry: Entry | None, folder: Folder) -> Chamber | None:
    """Return the chamber, or None where the job does not say or something is wrong with it."""
    if entry is None:
        return None
    outline: Outline | None = None
    if "outline" in entry.given:
        outline = read_drawn(entry, folder)
        if outline is None:
            return None
    bore, gasket = entry.number("bore"), entry.number("gasket_bore")
    if bore is not None and gasket is not None and gasket < bore:
        entry.spot("gasket_bore").fault("is smaller than the bore", "check both diameters")
        return None
    if not entry.complete or not entry.given:
        return None
    return Chamber(
        outline=outline,
        bore_mm=bore,
        intake_mm=entry.array("intake_valve"),
        exhaust_mm=entry.array("exhaust_valve"),
        poured_cc=entry.number("poured_cc"),
        wanted_cc=entry.number("wanted_cc"),
        deck_area_mm2=entry.number("deck_area"),
        gasket_bore_mm=gasket,
        gasket_thickness_mm=entry.number("gasket_thickness"),
        deck_clearance_mm=entry.number("deck_clearance"),
        piston_cc=entry.number("piston_cc"),
    )
