"""What meets a port at its face, and how are gasket and manifold placed there?"""

from __future__ import annotations

from typing import cast

import numpy as np

from portgeom.geometry.arrays import F64, frozen
from portgeom.geometry.outline import Outline
from portgeom.job.drawing import DrawingUnits
from portgeom.job.files import Folder
from portgeom.job.keys import Entry
from portgeom.job.match_values import FaceMatch, ManifoldHeld, MatchPart, Milling
from portgeom.job.outlines import DrawnAs, read_outline

FLIP = np.array([-1.0, 1.0])


def read_match(entry: Entry | None, folder: Folder) -> FaceMatch | None:
    """Return what meets a port at its face, or None where the job does not say or something is wrong."""
    if entry is None:
        return None
    pins = entry.array("holes")
    count = 0 if pins is None else len(pins)
    diameter = _sizes(entry, "pin_diameter", count)
    parts: dict[str, MatchPart | None] = {}
    sound = True
    for name in ("gasket", "manifold"):
        part = entry.table(name)
        parts[name] = None if part is None else _part(part, folder, count, diameter)
        sound = sound and (part is None or parts[name] is not None)
    if entry.complete and not {"gasket", "manifold"} & entry.given:
        entry.spot().fault("names nothing that meets the port", "give a gasket, a manifold or both")
        sound = False
    held = entry.text("bolted_to")
    if held == "two heads" and "vee_angle" not in entry.given:
        entry.spot("vee_angle").fault("is missing", "give the angle between the banks, as vee_angle = 90.0")
        sound = False
    if held != "two heads" and "vee_angle" in entry.given:
        entry.spot("vee_angle").fault(
            "means nothing to a manifold that is not bolted to two heads",
            'leave it out, or write bolted_to = "two heads"',
        )
        sound = False
    if not sound or not entry.complete or pins is None:
        return None
    return FaceMatch(
        holes_mm=pins,
        pin_diameter_mm=diameter,
        gasket=parts["gasket"],
        manifold=parts["manifold"],
        held=cast("ManifoldHeld", held or "one head"),
        vee_deg=entry.number("vee_angle"),
    )


def _part(entry: Entry, folder: Folder, count: int, pins: F64) -> MatchPart | None:
    outline = read_drawn(entry, folder)
    holes = entry.array("holes")
    if holes is not None and count and len(holes) != count:
        entry.spot("holes").fault(
            f"places {len(holes)} holes where the head has {count}", "give the holes that the head's pins go through"
        )
        return None
    diameter = _sizes(entry, "hole_diameter", count)
    for k in np.flatnonzero(diameter < pins):
        found = f"hole {k + 1} is smaller than its pin"
        entry.spot("hole_diameter").fault(found, "check both diameters; a pin must go through its hole")
        return None
    if outline is None or holes is None or not entry.complete:
        return None
    if entry.flag("from_head"):
        outline, holes = outline.mirrored(), frozen(holes * FLIP)
    return MatchPart(outline, holes, diameter)


def read_drawn(entry: Entry, folder: Folder) -> Outline | None:
    """Return the outline of a table with the keys outline, layer and drawing_units; None where it has none."""
    name = entry.text("outline")
    if not name:
        return None
    units = entry.text("drawing_units")
    drawn = DrawnAs(entry.text("layer"), cast("DrawingUnits", units) if units else None)
    return read_outline(name, entry.spot("outline"), folder=folder, units=entry.source.units, drawn=drawn)


def _sizes(entry: Entry, key: str, count: int) -> F64:
    """Return a size for each hole (n,): NaN where none was given."""
    given = entry.array(key)
    if given is None or not count:
        return frozen(np.full(count, np.nan))
    if len(given) not in (1, count):
        entry.spot(key).fault(f"gives {len(given)} sizes for {count} holes", "give one size, or one for each hole")
        return frozen(np.full(count, np.nan))
    return frozen(np.broadcast_to(given, count))


def read_milling(entry: Entry | None) -> Milling | None:
    """Return what is to be milled off, or None where the job does not say or something is wrong."""
    if entry is None or not entry.complete or not entry.given:
        return None
    return Milling(entry.number("deck") or 0.0, entry.number("intake_face") or 0.0, entry.number("exhaust_face") or 0.0)
