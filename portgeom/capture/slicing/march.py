"""Where does the passage of a scan run, found from its mouth by planes that follow the middles of sections?

A first march takes planes square to where the last few middles point. The line through what it found is then
smoothed, cut again square to itself, and so on until the middles stay.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from portgeom.capture.slicing.cut import Plane, plane_at
from portgeom.capture.slicing.ends import Flat, cap_ahead
from portgeom.capture.slicing.fork import Fork, fork_ahead
from portgeom.capture.slicing.index import MeshIndex
from portgeom.capture.slicing.mouth import Mouth, diameter_mm, mouth_at
from portgeom.capture.slicing.section import Expected, GapLimits, NoSection, Section, section
from portgeom.capture.slicing.track import Ends, Track, over_forks, spread_turn, track_through
from portgeom.capture.slicing.wall import filled_shift_mm, wall_mm
from portgeom.geometry.arrays import F64, Int

STEP = 0.14
"""Length of a step, in diameters."""

MOST_STEPS = 400
SMALLEST_STEP = 0.1
"""How much a step is shortened, at the least, before the march gives up."""

AREA_STEP = 1.5
"""How many times larger or smaller a section may be than the one a step before."""

LOOK_BACK = 5
SHARPEST_DEG = 20.0
"""How far one step may turn."""

PLACE_EVERY = 0.09
FEWEST, MOST = 12, 60
"""How far apart the smooth line's places are, in diameters, and how many there may be."""

BRIDGE, SLACK = 0.75, 0.02
"""Length of the straightedge that bridges bosses before middles are taken, and how deep a dent it leaves, in
diameters."""

REACH_POINTS = 64

ROUNDS = 6
STILL_SHARE = 2e-4
"""The line stands still when no middle moves by more than this share of the diameter."""

FORK_BAND, AT_FORK, BRANCH_ALONE = 1.25, 0.6, 1.2
"""Middles are left out so far before a fork, in diameters of the section there, and so far past it, in diameters of
the branch, where a section still holds so many times the branch."""

DOME, DOME_BACK = 0.7, 7
"""Where there is no mouth, a last section this much smaller than any of so many before it is the round of a closed end:
seven steps are a diameter, over which a port narrows to its throat by less."""

END_WITHIN = 1.6
END_LEAN_DEG = 40.0
"""How far ahead of the last section, in diameters, an end is looked for, and how far it may lean."""


@dataclass(frozen=True, slots=True)
class Found:
    """The line that was found.

    Attributes
    ----------
    track : Track
    start, end : Mouth
    why_ended : str
        What stopped the march.
    at_mouth : bool
        Whether the line ends at an open rim or a flat end.
    spread : bool
        Whether planes were turned so as not to cross inside the passage.
    followed : tuple of Passed
        The forks past which a branch was followed.
    fork : Fork or None
        The fork at which the line ends.
    """

    track: Track
    start: Mouth
    end: Mouth
    why_ended: str
    at_mouth: bool
    spread: bool
    followed: tuple[Passed, ...]
    fork: Fork | None


@dataclass(frozen=True, slots=True)
class Passed:
    """A fork past which a branch was followed, and that branch."""

    fork: Fork
    branch: Section


def march(
    index: MeshIndex, start: Mouth, rims: tuple[Flat, ...], limits: GapLimits, *, towards_mm: F64 | None = None
) -> Found:
    """Return the line of the passage from its mouth to its end.

    ``rims`` are the planes of the mesh's open rims. Where the passage divides it ends, or goes on along the branch
    nearest to ``towards_mm`` (3,).

    Raises
    ------
    NoSection
        If the passage cannot be followed for three steps.
    """
    walk = _first_march(index, start.section, limits, towards_mm)
    sections, why = walk.sections, walk.why
    if len(sections) < 4:
        raise NoSection(f"the passage can be followed for {len(sections) - 1} steps only: {why}")
    diameter = float(np.median([diameter_mm(s) for s in sections]))
    end = _end_of(index, sections[walk.legs[-1] :], rims, limits) if walk.fork is None else None
    at_mouth = end is not None
    if end is None:
        whole = sections if walk.fork is not None else _without_dome(sections)
        if len(whole) < len(sections):
            why = f"{why}; where it closes like a dome before that, it is left out"
        sections = whole
        end = Mouth(sections[-1], 0.0)
    else:
        plane = end.section.plane
        sections = [s for s in sections[:-1] if _before(s, plane, 0.25 * diameter)]
        sections.append(end.section)
        why = f"{why}; its end there is taken from {_what(index, plane, rims)}"
    sections = _off_forks(sections, walk.followed)
    ends = Ends(
        start.section.plane.normal, end.section.plane.normal, diameter_mm(start.section), diameter_mm(end.section)
    )
    track, spread = _settled(index, sections, walk.followed, diameter, ends, start.section.plane.up, limits)
    return Found(track, start, end, why, at_mouth, spread, tuple(walk.followed), walk.fork)


@dataclass(slots=True)
class _Walk:
    """The sections of the first march, where its legs begin, the forks passed, and what stopped it."""

    sections: list[Section]
    legs: list[int]
    followed: list[Passed]
    why: str = ""
    fork: Fork | None = None


def _first_march(index: MeshIndex, first: Section, limits: GapLimits, towards_mm: F64 | None) -> _Walk:
    walk = _Walk([first], [0], [])
    sections = walk.sections
    while len(sections) < MOST_STEPS:
        leg = sections[walk.legs[-1] :]
        full = STEP * diameter_mm(leg[-1])
        step, found = full, None
        while found is None and step >= SMALLEST_STEP * full:
            try:
                found = _next(index, leg, step, limits)
            except NoSection as error:
                walk.why, step = error.found, 0.5 * step
        if found is None:
            walk.why = f"{float(_run(sections)[-1]):.1f} mm in, {walk.why}"
            walk.fork = fork_ahead(index, leg[-1], _heading(leg, 0.0), limits)
            if walk.fork is None or towards_mm is None:
                return walk
            found = walk.fork.towards(towards_mm)
            walk.followed.append(Passed(walk.fork, found))
            walk.legs.append(len(sections))
            walk.fork = None
        sections.append(found)
        if _run(sections)[-1] > 6.0 * index.size_mm:
            walk.why = "it runs on and on"
            return walk
    walk.why = f"it was followed for {MOST_STEPS} steps"
    return walk


def _next(index: MeshIndex, sections: list[Section], step: float, limits: GapLimits) -> Section:
    here = sections[-1]
    way = _heading(sections, step)
    plane = plane_at(here.centroid_mm + step * way, way, here.plane.up)
    found = section(index, plane, Expected(np.zeros(2), here.loop.area_mm2), limits)
    ratio = found.loop.area_mm2 / here.loop.area_mm2
    if not 1.0 / AREA_STEP <= ratio <= AREA_STEP:
        raise NoSection(
            f"its area changes from {here.loop.area_mm2:.1f} mm2 to {found.loop.area_mm2:.1f} mm2 in one step"
        )
    moved = found.centroid_mm - here.centroid_mm
    if moved @ way < 0.5 * step:
        raise NoSection("the next section is not further on")
    return found


def _heading(sections: list[Section], step: float) -> F64:
    """Return which way the middles go on: a parabola through the last of them."""
    before = sections[-1].plane.normal
    last = sections[-LOOK_BACK:]
    if len(last) < 3:
        return before
    middles = np.array([s.centroid_mm for s in last])
    run = _run(last)
    order = 2 if len(last) >= LOOK_BACK else 1
    fit = np.polynomial.polynomial.polyfit(run - run[-1], middles, order)
    way = fit[1] + (step * fit[2] if order == 2 else 0.0)  # half way to where the next will be
    way = way / np.linalg.norm(way)
    turn = float(np.arccos(np.clip(way @ before, -1.0, 1.0)))
    most = np.radians(SHARPEST_DEG)
    if turn > most:
        way = before + (most / turn) * (way - before)
        way = way / np.linalg.norm(way)
    return way


def _run(sections: list[Section]) -> F64:
    middles = np.array([s.centroid_mm for s in sections])
    return np.concatenate([[0.0], np.cumsum(np.linalg.norm(np.diff(middles, axis=0), axis=1))])


def _off_forks(sections: list[Section], followed: list[Passed]) -> list[Section]:
    """Return the sections without those just before each fork, whose middles lie between the branches."""
    return [s for s in sections if not any(_between_branches(s, passed) for passed in followed)]


def _between_branches(found: Section, passed: Passed) -> bool:
    """Return whether a section is close before a fork and still holds more than the branch that was followed."""
    before = passed.fork.before
    ahead = float((before.centroid_mm - found.centroid_mm) @ before.plane.normal)
    near = -AT_FORK * diameter_mm(passed.branch) <= ahead <= FORK_BAND * diameter_mm(before)
    return near and found.loop.area_mm2 > BRANCH_ALONE * passed.branch.loop.area_mm2


def _end_of(index: MeshIndex, sections: list[Section], rims: tuple[Flat, ...], limits: GapLimits) -> Mouth | None:
    """Return the flat end just ahead of the last section, or None where there is none."""
    last = sections[-1]
    ahead = _heading(sections, 0.0)
    radius = 0.5 * diameter_mm(last)
    flats = [f.facing(ahead) for f in rims]
    cap = cap_ahead(index, last.centroid_mm, ahead, 1.3 * radius)
    flats += [cap] if cap is not None else []
    for flat in sorted(flats, key=lambda f: float(np.linalg.norm(f.point_mm - last.centroid_mm))):
        forward = float((flat.point_mm - last.centroid_mm) @ flat.normal) / float(ahead @ flat.normal)
        meets = last.centroid_mm + forward * ahead
        aside = float(np.linalg.norm(flat.point_mm - meets))
        leans = float(flat.normal @ ahead) < np.cos(np.radians(END_LEAN_DEG))
        if leans or aside > radius or not -0.5 * radius < forward < END_WITHIN * 2.0 * radius:
            continue
        plane = plane_at(meets, flat.normal, last.plane.up)
        try:
            return mouth_at(index, plane, limits, inward=-1.0, area_mm2=sections[-2].loop.area_mm2)
        except NoSection:
            continue
    return None


def _without_dome(sections: list[Section]) -> list[Section]:
    """Return the sections without the last, as far as they shrink as nothing but a closed round end does."""
    areas = np.array([s.loop.area_mm2 for s in sections])
    keep = len(sections)
    while keep > 4 and areas[keep - 1] < DOME * areas[max(0, keep - 1 - DOME_BACK) : keep - 1].max():
        keep -= 1
    return sections[:keep]


def _before(found: Section, end: Plane, margin: float) -> bool:
    return float((end.origin_mm - found.centroid_mm) @ end.normal) > margin


def _what(index: MeshIndex, plane: Plane, rims: tuple[Flat, ...]) -> str:
    near = [r for r in rims if abs(float((r.point_mm - plane.origin_mm) @ plane.normal)) < 1e-6 * index.size_mm]
    return "an open rim" if near else "a flat end"


def _settled(
    index: MeshIndex,
    sections: list[Section],
    followed: list[Passed],
    diameter: float,
    ends: Ends,
    up: F64,
    limits: GapLimits,
) -> tuple[Track, bool]:
    """Return the line once cutting square to it no longer moves the middles."""
    middles = np.array([s.centroid_mm for s in sections])
    areas = np.array([s.loop.area_mm2 for s in sections])
    run = _run(sections)
    count = int(np.clip(np.ceil(run[-1] / (PLACE_EVERY * diameter)), FEWEST, MOST))
    leg = _legs(middles, followed)
    first = over_forks(middles, leg, PLACE_EVERY * diameter)
    track = track_through(first, diameter, ends, count=count, stiff=True)
    spread = False
    for _ in range(ROUNDS):
        area = np.interp(np.linspace(0.0, run[-1], count), run, areas)
        cuts = _cut_along(index, track, area, up, limits)
        true = [(k, s) for k, s in cuts if not any(_between_branches(s, passed) for passed in followed)]
        leg = _legs(track.places_mm, followed)[[k for k, _ in true]]
        shift = _shift_mm(track, true, leg, diameter)
        again = [s.plane.solid_mm(s.loop.centroid_mm + by) for (_, s), by in zip(true, shift, strict=True)]
        line = np.array([middles[0], *again, middles[-1]])
        line = over_forks(line, np.array([0, *leg, len(followed)]), PLACE_EVERY * diameter)
        after = track_through(line, diameter, ends, count=count)
        reach = [np.zeros((1, 3))] * count
        for k, s in cuts:
            points = s.loop.points_mm[:: max(1, len(s.loop.points_mm) // REACH_POINTS)]
            reach[k] = s.plane.solid_mm(points) - s.plane.origin_mm
        after, spread = spread_turn(after, reach)
        moved = float(np.linalg.norm(after.places_mm - track.places_mm, axis=1).max())
        track = after
        if moved <= STILL_SHARE * diameter:
            break
    return track, spread


def _shift_mm(track: Track, cuts: list[tuple[int, Section]], leg: Int, diameter: float) -> F64:
    """Return how far middles (m, 2) move when what hangs in is bridged, though not across a fork."""
    at = track.distance_mm[[k for k, _ in cuts]]
    walls = np.array([wall_mm(s.loop.points_mm) for _, s in cuts])
    shift = np.zeros((len(cuts), 2))
    for one in np.unique(leg):
        own = leg == one
        shift[own] = filled_shift_mm(at[own], walls[own], BRIDGE * diameter, slack_mm=SLACK * diameter)
    return shift


def _legs(places: F64, followed: list[Passed]) -> Int:
    """Return how many forks lie before each place (k, 3), counted from amid the middles that are left out."""
    middles = [p.fork.before for p in followed]
    amid = [b.centroid_mm - 0.3 * FORK_BAND * diameter_mm(b) * b.plane.normal for b in middles]
    begins = [int(np.linalg.norm(places - place, axis=1).argmin()) for place in amid]
    return np.array([sum(k >= b for b in begins) for k in range(len(places))], dtype=np.intp)


def _cut_along(index: MeshIndex, track: Track, area: F64, up: F64, limits: GapLimits) -> list[tuple[int, Section]]:
    """Return the sections at the line's places between its ends, where there are any."""
    cuts = []
    for k in range(1, len(track.distance_mm) - 1):
        plane = plane_at(track.places_mm[k], track.normals[k], up)
        up = plane.up
        try:
            cuts.append((k, section(index, plane, Expected(np.zeros(2), float(area[k])), limits)))
        except NoSection:
            continue
    return cuts
