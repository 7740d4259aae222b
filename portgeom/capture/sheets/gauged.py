"""Where do sections lie that were gauged from the face, the short side and the arbor, and how do they stand?

Nobody gauges a pitch, a yaw or a path. From the set-up readings every plane's place and tilt is computed: face
sections stand parallel to the face, turn sections fan out about the centre of the short side radius, bowl
sections stand square to the arbor. Head frame: x to the right looking in, y into the port, z up from the deck;
the origin is in the deck's plane, on the line where the face meets it, square across from the arbor.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from portgeom.capture.sheets.gauged_order import refuse_disorder
from portgeom.capture.sheets.gauged_values import (
    POINTER_CLOCK_DEG,
    BowlSection,
    FaceSection,
    Placed,
    Section,
    SetUp,
    TurnSection,
)
from portgeom.geometry import shapes
from portgeom.geometry.arrays import F64, frozen
from portgeom.geometry.findings import Finding, GeometryError
from portgeom.geometry.gauged_shape import gauged_outline
from portgeom.geometry.outline import Outline, OutlineError
from portgeom.geometry.path import direction
from portgeom.geometry.polar import polar_outline
from portgeom.geometry.shapes import CornerRadii

HELD_DEG = 3.0
"""How far out a turn section is easily held, and the standard deviation a job takes for a pitch."""

ROUND = 0.5
"""Corner radius over the smaller of width and height where a section is round, as a bowl is taken to be."""


@dataclass(frozen=True, slots=True)
class _Frame:
    """The head's own directions and places."""

    into: F64
    face_up: F64
    floor_mm: F64
    out: F64
    seat_mm: F64
    fan_axis: F64
    fan_mm: F64
    short_radius_mm: float

    @property
    def turn_rad(self) -> float:
        """Return how far the port turns from square to the face to along the arbor."""
        return float(np.arccos(np.clip(self.into @ self.out, -1.0, 1.0)))


RIGHT = frozen([1.0, 0.0, 0.0])
ACROSS = frozen([0.0, 1.0, 0.0])


def frame_of(set_up: SetUp) -> _Frame:
    """Return the directions and places that the set-up readings give."""
    lean = np.radians(set_up.face_to_deck_deg)
    into = np.array([0.0, np.sin(lean), -np.cos(lean)])
    face_up = np.array([0.0, np.cos(lean), np.sin(lean)])
    z = set_up.floor_above_deck_mm
    foot = np.array([set_up.along_head_mm, z / np.tan(lean), z])
    away, right = np.radians([set_up.arbor_away_deg, set_up.arbor_right_deg])
    slope = np.array([1.0 / np.tan(right), 1.0 / np.tan(away), -1.0])  # of the arbor, a mm down from the deck
    out = slope / np.linalg.norm(slope)
    arbor = np.array([set_up.along_head_mm, set_up.face_to_arbor_mm, 0.0])
    axis = np.cross(out, into)
    below = set_up.crest_height_mm - set_up.short_radius_mm
    fan = foot + set_up.crest_depth_mm * into + below * face_up
    seat = arbor - set_up.seat_below_deck_mm * slope
    length = float(np.linalg.norm(axis))
    axis = axis / length if length > 0.0 else RIGHT  # an arbor square to the face leaves nothing to fan about
    return _Frame(into, face_up, foot, out, seat, axis, fan, set_up.short_radius_mm)


def placed_sections(set_up: SetUp, sections: tuple[Section, ...]) -> tuple[Placed, ...]:
    """Return every section in its plane, from the face to the seat, in the order given.

    The path that the planes are strung on runs along the rod, half way up the port at the face, round the centre
    of the short side radius, and along the arbor: straight, a circle, straight, always square to the planes. So no
    section's drift bends it; sections lie off it by as much as they were gauged to.

    What was not gauged of a turn section is carried over: its side position runs evenly with the angle from the
    last face section to the first bowl section, its corners' roundness (radius over the smaller of width and
    height) likewise, a bowl counting as round.

    Raises
    ------
    GeometryError
        Naming the section (by its index) whose readings make no outline, or that is not beyond the one before.
    """
    frame = frame_of(set_up)
    refuse_disorder(
        sections,
        turn_deg=float(np.degrees(frame.turn_rad)),
        crest_depth_mm=set_up.crest_depth_mm,
        fan_above_seat_mm=float((frame.fan_mm - frame.seat_mm) @ -frame.out),
    )
    placed: dict[int, Placed] = {}
    findings: list[Finding] = []
    ordered = sorted(range(len(sections)), key=lambda i: isinstance(sections[i], TurnSection))  # what is carried, last
    for i in ordered:
        if findings and isinstance(sections[i], TurnSection):
            break  # what is missing might be carried over to it
        try:
            placed[i] = _placed(frame, i, sections, placed)
        except OutlineError as error:
            found, _, mend = str(error).partition("; ")
            findings.append(Finding(i, "section", found, mend or "gauge it again"))
    if findings:
        raise GeometryError(findings)
    return tuple(placed[i] for i in range(len(sections)))


def moved_percent(placed: tuple[Placed, ...], *, held_deg: float = HELD_DEG) -> dict[int, float]:
    """Return by how much of itself the area of each turn section would change if it had been held wrong.

    Notes
    -----
    A section held ``held_deg`` further round lies where its neighbour's area is nearer: the steeper of the two
    slopes of area against angle, to the neighbours either side, times the angle. The last face section counts
    at angle 0, the first bowl section at the whole turn.
    """
    out = {}
    angle = [_angle_deg(placed, i) for i in range(len(placed))]
    for i, p in enumerate(placed):
        if not isinstance(p.section, TurnSection):
            continue
        slopes = [
            abs(q.outline.area_mm2 - p.outline.area_mm2) / abs(angle[j] - angle[i])
            for j, q in ((k, placed[k]) for k in (i - 1, i + 1) if 0 <= k < len(placed))
            if angle[j] != angle[i]
        ]
        out[i] = 100.0 * held_deg * max(slopes, default=0.0) / p.outline.area_mm2
    return out


def plane_angles(right: F64, normal: F64) -> tuple[float, float, float]:
    """Return pitch, yaw and roll in degrees of the plane with these u and d; d may look back towards the face.

    Examples
    --------
    >>> plane_angles(np.array([1.0, 0.0, 0.0]), np.array([0.0, 0.0, -1.0]))
    (90.0, 0.0, 0.0)
    """
    level = float(np.hypot(normal[0], normal[1]))
    ahead = -1.0 if normal[1] < 0.0 else 1.0
    yaw = float(np.degrees(np.arctan2(ahead * normal[0], ahead * normal[1]))) if level > 1e-12 else 0.0
    pitch = float(np.degrees(np.arctan2(-normal[2], ahead * level)))
    own = np.array([np.cos(np.radians(yaw)), -np.sin(np.radians(yaw)), 0.0])
    above = np.cross(own, direction(pitch, yaw))
    roll = float(np.degrees(np.arctan2(float(right @ above), float(right @ own))))
    return pitch + 0.0, yaw + 0.0, roll + 0.0


def _placed(frame: _Frame, i: int, sections: tuple[Section, ...], placed: dict[int, Placed]) -> Placed:
    section = sections[i]
    level = _level_mm(sections)
    if isinstance(section, FaceSection):
        outline = gauged_outline(section.gauged).outline
        across = 0.5 * float(section.gauged.widths_mm[1]) - section.side_mm
        up = section.floor_mm + 0.5 * float(section.gauged.heights_mm[1])
        place = frame.floor_mm + section.depth_mm * frame.into + level * frame.face_up
        return _shifted(section, place, RIGHT, frame.into, outline, (across, up - level))
    if isinstance(section, BowlSection):
        away = ACROSS - (ACROSS @ frame.out) * frame.out
        right = np.cross(frame.out, away / np.linalg.norm(away))
        outline = polar_outline(POINTER_CLOCK_DEG, section.radii_mm)
        turned = any(isinstance(s, TurnSection) for s in sections)
        off = _off_arbor_mm(frame, level) if turned else np.zeros(3)
        place = frame.seat_mm - section.above_seat_mm * frame.out + off
        up_axis = np.cross(right, frame.out)
        return _shifted(section, place, right, frame.out, outline, (-float(off @ right), -float(off @ up_axis)))
    return _turned(frame, i, section, sections, placed)


def _shifted(
    section: Section,
    place: F64,
    right: F64,
    normal: F64,
    outline: Outline,
    shift: tuple[float, float],
    carried: tuple[str, ...] = (),
) -> Placed:
    """Return a section whose shape's own middle lies off the path."""
    return Placed(section, place, right, normal, outline.moved(*shift), frozen(shift), carried)


def _level_mm(sections: tuple[Section, ...]) -> float:
    """Return how high over the floor at the face the path enters: half way up the first section."""
    assert isinstance(sections[0], FaceSection)
    return 0.5 * float(sections[0].gauged.heights_mm[1])


def _path_radius_mm(frame: _Frame, level: float) -> float:
    """Return how far from the centre of the short side radius the path goes round it."""
    return float((frame.floor_mm + level * frame.face_up - frame.fan_mm) @ frame.face_up)


def _off_arbor_mm(frame: _Frame, level: float) -> F64:
    """Return how far off the arbor's axis (3,) the path runs down to the seat after the turn."""
    last = frame.fan_mm + _path_radius_mm(frame, level) * np.cross(frame.fan_axis, frame.out)
    off = last - frame.seat_mm
    return off - (off @ frame.out) * frame.out


def _turned(
    frame: _Frame, i: int, section: TurnSection, sections: tuple[Section, ...], placed: dict[int, Placed]
) -> Placed:
    phi, turn = np.radians(section.angle_deg), frame.turn_rad
    normal = (np.sin(turn - phi) * frame.into + np.sin(phi) * frame.out) / np.sin(turn)
    up = np.cross(frame.fan_axis, normal)
    faces = [placed[k] for k in range(i) if isinstance(sections[k], FaceSection)]
    bowls = [placed[k] for k in range(i, len(sections)) if isinstance(sections[k], BowlSection)]
    part = phi / turn if bowls else 0.0
    carried = []
    radii, side = section.radii_mm, section.side_mm
    if radii is None:
        carried.append("corner radii")
        radii = _round_between(section, faces[-1], part)
    if side is None:
        carried.append("side position")
        in_bowl = float(bowls[0].outline.centroid_mm[0] - bowls[0].shift_mm[0]) if bowls else 0.0
        ends = [_middle_mm(faces[-1]), in_bowl]
        side = 0.5 * section.width_mm - ((1.0 - part) * ends[0] + part * ends[1])
    outline = shapes.rectangle(section.width_mm, section.height_mm, radii)
    around = _path_radius_mm(frame, _level_mm(sections))
    above = frame.short_radius_mm + section.floor_mm + 0.5 * section.height_mm - around
    whole = replace(section, radii_mm=radii, side_mm=side)
    shift = (0.5 * section.width_mm - side, above)
    return _shifted(whole, frame.fan_mm + around * up, frame.fan_axis, normal, outline, shift, tuple(carried))


def _middle_mm(face: Placed) -> float:
    """Return how far the middle of a face section lies right of the arbor's line."""
    assert isinstance(face.section, FaceSection)
    return 0.5 * float(face.section.gauged.widths_mm[1]) - face.section.side_mm


def _round_between(section: TurnSection, face: Placed, part: float) -> CornerRadii:
    """Return corner radii as round, for their size, as lies between a face section and a round bowl."""
    assert isinstance(face.section, FaceSection)
    gauged = face.section.gauged
    size = min(section.width_mm, section.height_mm)
    of_face = min(float(gauged.widths_mm[1]), float(gauged.heights_mm[1]))
    r = gauged.radii_mm
    radii = (r.top_left, r.top_right, r.bottom_right, r.bottom_left)
    return CornerRadii(*(size * min(ROUND, (1.0 - part) * radius / of_face + part * ROUND) for radius in radii))


def _angle_deg(placed: tuple[Placed, ...], i: int) -> float:
    """Return the fan angle of a section: a face section stands at 0, a bowl section at the whole turn."""
    section = placed[i].section
    if isinstance(section, TurnSection):
        return section.angle_deg
    into, here = placed[0].normal, placed[i].normal
    return float(np.degrees(np.arccos(np.clip(into @ here, -1.0, 1.0))))
