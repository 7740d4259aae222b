"""Which loop of a plane is the passage, and how was it made whole?"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from portgeom.capture.clock import clock_words
from portgeom.capture.slicing.cut import Plane, cut
from portgeom.capture.slicing.index import MeshIndex
from portgeom.capture.slicing.loops import Gap, Loop, loops_of
from portgeom.geometry.arrays import F64

MICRON_MM = 0.001
MOVES_MM = (MICRON_MM, -MICRON_MM, 2.0 * MICRON_MM, -2.0 * MICRON_MM, 5.0 * MICRON_MM, -5.0 * MICRON_MM)
ON_PLANE_SHARE = 1e-7
"""How close to the plane a vertex counts as on it, as a share of the mesh's size: what 32-bit numbers keep."""

RING_SHARE = 0.05
"""From this share of a cut's points on vertices, the plane runs through a ring of them."""

WIDEST_GAP = 0.15
MOST_GAPS = 0.30
"""A loop may be bridged over this share of its length in one gap, and in all. A person may say otherwise."""

FURTHEST_SCORE = 1.0
"""Log of the ratio of areas, plus how far off it is in radii, beyond which a loop does not continue the last."""


class NoSection(Exception):  # noqa: N818 - an answer about one plane, not a failure of the program
    """A plane at which there is no section. ``found`` says why."""

    def __init__(self, found: str) -> None:
        self.found = found
        super().__init__(found)


@dataclass(frozen=True, slots=True)
class Expected:
    """What the section before leads one to look for.

    ``centre_mm`` (2,) is where its middle should be in the plane; ``area_mm2`` is 0 where nothing is known.
    """

    centre_mm: F64
    area_mm2: float = 0.0


@dataclass(frozen=True, slots=True)
class GapLimits:
    """How much of a loop may be bridged: share of its length in one gap, and in all."""

    widest: float = WIDEST_GAP
    together: float = MOST_GAPS


@dataclass(frozen=True, slots=True)
class Section:
    """The passage in one plane.

    Attributes
    ----------
    plane : Plane
        Where it was asked for; the outline's u and v are this plane's.
    loop : Loop
    moved_mm : float
        How far along the normal it was really taken, to miss a ring of vertices.
    inside : tuple of float
        Areas of other loops that lie inside it, left out.
    """

    plane: Plane
    loop: Loop
    moved_mm: float
    inside: tuple[float, ...]

    @property
    def centroid_mm(self) -> F64:
        """Return where its centroid is in space (3,)."""
        return self.plane.solid_mm(self.loop.centroid_mm)

    @property
    def gaps(self) -> tuple[Gap, ...]:
        """Return where it was closed."""
        return self.loop.gaps

    def carried(self, plane: Plane) -> Section:
        """Return the same outline in another plane, nothing known of what is between."""
        return replace(self, plane=plane)


def section(index: MeshIndex, plane: Plane, expected: Expected, limits: GapLimits = GapLimits()) -> Section:
    """Return the passage in a plane.

    Raises
    ------
    NoSection
        If the plane misses, no loop continues the section before, or its loop has a gap beyond the limits.
    """
    moved = 0.0
    loops, ring = _met(index, plane)
    if ring or not _sound(loops, expected, limits):
        for by in MOVES_MM:
            other, still = _met(index, plane.moved(by))
            if not still and _sound(other, expected, limits):
                loops, moved = other, by
                break
    loop = _picked(loops, expected)
    refuse_gaps(loop, limits)
    inside = tuple(o.area_mm2 for o in loops if o is not loop and o.area_mm2 < loop.area_mm2 and _holds(loop, o))
    return Section(plane, loop, moved, inside)


def sections_met(index: MeshIndex, plane: Plane, limits: GapLimits) -> tuple[Section, ...]:
    """Return every loop of a plane that lies in no other and has no gap beyond the limits.

    Raises
    ------
    NoSection
        If the plane misses.
    """
    loops, _ = _met(index, plane)
    if not loops:
        raise NoSection("it meets nothing of the mesh")
    outer = [o for o in loops if not any(h is not o and h.area_mm2 > o.area_mm2 and _holds(h, o) for h in loops)]
    found = []
    for loop in outer:
        try:
            refuse_gaps(loop, limits)
        except NoSection:
            continue
        found.append(Section(plane, loop, 0.0, ()))
    return tuple(found)


def refuse_gaps(loop: Loop, limits: GapLimits) -> None:
    """Raise NoSection if more of a loop would have to be bridged than the limits allow."""
    if not loop.gaps:
        return
    widest = max(loop.gaps, key=lambda g: g.width_mm)
    if widest.width_mm > limits.widest * loop.length_mm:
        share = 100.0 * widest.width_mm / loop.length_mm
        raise NoSection(
            f"its loop is open over {widest.width_mm:.2f} mm, {share:.0f} percent of its length, at "
            f"{clock_words(widest.middle_mm - loop.centroid_mm)}"
        )
    if loop.gap_mm > limits.together * loop.length_mm:
        share = 100.0 * loop.gap_mm / loop.length_mm
        raise NoSection(f"its loop is open in {len(loop.gaps)} places, {share:.0f} percent of its length")


def _met(index: MeshIndex, plane: Plane) -> tuple[list[Loop], bool]:
    """Return the loops in a plane, and whether it runs through a ring of vertices."""
    met = cut(index, plane, near_mm=ON_PLANE_SHARE * index.size_mm)
    points = sum(len(line.points_mm) for line in met.lines)
    return loops_of(met.lines), met.on_plane >= max(3.0, RING_SHARE * points)


def _sound(loops: list[Loop], expected: Expected, limits: GapLimits) -> bool:
    try:
        refuse_gaps(_picked(loops, expected), limits)
    except NoSection:
        return False
    return True


def _picked(loops: list[Loop], expected: Expected) -> Loop:
    """Return the loop that continues the section before, or, where none is known, the one round the place."""
    if not loops:
        raise NoSection("it meets nothing of the mesh")
    if expected.area_mm2 > 0.0:
        best = min(loops, key=lambda loop: _score(loop, expected))
        if _score(best, expected) <= FURTHEST_SCORE:
            return best
        raise NoSection(_none_continues(loops, best, expected))
    round_it = [loop for loop in loops if holds(loop, expected.centre_mm)]
    if round_it:
        return min(round_it, key=lambda loop: loop.area_mm2)
    return min(loops, key=lambda loop: float(np.hypot(*(loop.centroid_mm - expected.centre_mm))) / loop.length_mm)


def _score(loop: Loop, expected: Expected) -> float:
    radius = np.sqrt(expected.area_mm2 / np.pi)
    off = float(np.hypot(*(loop.centroid_mm - expected.centre_mm)))
    return abs(float(np.log(loop.area_mm2 / expected.area_mm2))) + off / radius


def _none_continues(loops: list[Loop], best: Loop, expected: Expected) -> str:
    off = float(np.hypot(*(best.centroid_mm - expected.centre_mm)))
    who = "its loop does not continue" if len(loops) == 1 else f"none of its {len(loops)} loops continues"
    return (
        f"{who} the section before: {expected.area_mm2:.1f} mm2 was looked for, the likeliest has "
        f"{best.area_mm2:.1f} mm2, its middle {off:.1f} mm off"
    )


def holds(loop: Loop, point_mm: F64) -> bool:
    """Return whether a point (2,) is inside a loop."""
    a = loop.points_mm - point_mm
    b = np.roll(a, -1, axis=0)
    spans = (a[:, 1] > 0.0) != (b[:, 1] > 0.0)
    if not spans.any():
        return False
    a, b = a[spans], b[spans]
    right = a[:, 0] - a[:, 1] * (b[:, 0] - a[:, 0]) / (b[:, 1] - a[:, 1]) > 0.0
    return bool(right.sum() % 2)


def _holds(loop: Loop, other: Loop) -> bool:
    return holds(loop, other.points_mm[0])
