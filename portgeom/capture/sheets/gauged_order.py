"""Are gauged sections in order, each wholly beyond the one before, so that their planes do not cross?"""

from __future__ import annotations

from itertools import pairwise

from portgeom.capture.sheets.gauged_values import BowlSection, FaceSection, Kind, Section, TurnSection
from portgeom.geometry.findings import Finding, GeometryError

ORDER: dict[type[Section], int] = {FaceSection: 0, TurnSection: 1, BowlSection: 2}
KINDS: dict[type[Section], Kind] = {FaceSection: "face", TurnSection: "turn", BowlSection: "bowl"}


def refuse_disorder(
    sections: tuple[Section, ...], *, turn_deg: float, crest_depth_mm: float, fan_above_seat_mm: float
) -> None:
    """Raise GeometryError with every section that does not lie beyond the one before.

    Parameters
    ----------
    turn_deg : float
        By how much the port turns from square to the face to along the arbor.
    crest_depth_mm, fan_above_seat_mm : float
        Where the turn begins and ends: how deep the crest of the short side is, and how far above the seat, up the
        arbor, the line lies about which turn sections fan. Not looked at where there is no turn section.
    """
    findings = [f for f in (_first(sections), *_order(sections)) if f is not None]
    turns = [i for i, s in enumerate(sections) if isinstance(s, TurnSection)]
    if turns:
        for i, s in enumerate(sections):
            if isinstance(s, FaceSection) and s.depth_mm > crest_depth_mm:
                findings.append(_beyond(i, f"lies beyond the crest of the short side, {crest_depth_mm:g} mm in"))
            elif isinstance(s, TurnSection) and not 0.0 < s.angle_deg < turn_deg:
                findings.append(_beyond(i, f"is at {s.angle_deg:g} degrees where the port turns by {turn_deg:.1f}"))
            elif isinstance(s, BowlSection) and s.above_seat_mm > fan_above_seat_mm:
                findings.append(
                    _beyond(i, f"lies above the end of the turn, {fan_above_seat_mm:.1f} mm above the seat")
                )
    if findings:
        raise GeometryError(findings)


def _first(sections: tuple[Section, ...]) -> Finding | None:
    if len(sections) > 1 and isinstance(sections[0], FaceSection) and sections[0].depth_mm == 0.0:
        return None
    return Finding(
        0, "at", "is not on the manifold face", "begin with a face section at depth 0, and gauge two or more"
    )


def _order(sections: tuple[Section, ...]) -> list[Finding]:
    findings = []
    for i, (before, after) in enumerate(pairwise(sections), start=1):
        if ORDER[type(after)] < ORDER[type(before)]:
            findings.append(_beyond(i, f"is a {KINDS[type(after)]} section after a {KINDS[type(before)]} section"))
        elif type(after) is type(before) and _along(after) <= _along(before):
            findings.append(_beyond(i, "does not lie beyond the one before"))
    return findings


def _beyond(i: int, found: str) -> Finding:
    return Finding(i, "at", found, "list face, turn and bowl sections from the face to the seat, each place once")


def _along(section: Section) -> float:
    """Return what rises from one section to the next of its kind."""
    if isinstance(section, FaceSection):
        return section.depth_mm
    return section.angle_deg if isinstance(section, TurnSection) else -section.above_seat_mm
