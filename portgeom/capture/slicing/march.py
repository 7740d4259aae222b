"""Where does the passage of a scan run, found from its mouth by planes that follow the middles of sections?

A first march takes planes square to where the last few middles point. The line through what it found is then
smoothed, cut again square to itself, and so on until the middles stay.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from portgeom.capture.slicing.cut import Plane, plane_at
from portgeom.capture.slicing.ends import Flat, cap_ahead
from portgeom.capture.slicing.index import MeshIndex
from portgeom.capture.slicing.mouth import Mouth, diameter_mm, mouth_at
from portgeom.capture.slicing.section import Expected, GapLimits, NoSection, Section, section
from portgeom.capture.slicing.track import Track, spread_turn, track_through
from portgeom.capture.slicing.wall import filled_shift_mm, wall_mm
from portgeom.geometry.arrays import F64

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

BRIDGE = 0.75
"""Length of the straightedge that bridges bosses before middles are taken, in diameters."""

REACH_POINTS = 64

ROUNDS = 6
STILL_SHARE = 2e-4
"""The line stands still when no middle moves by more than this share of the diameter."""

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
    """

    track: Track
    start: Mouth
    end: Mouth
    why_ended: str
    at_mouth: bool
    spread: bool


def march(index: MeshIndex, start: Mouth, rims: tuple[Flat, ...], limits: GapLimits) -> Found:
    """Return the line of the passage from its mouth to its end.

    ``rims`` are the planes of the mesh's open rims.

    Raises
    ------
    NoSection
        If the passage cannot be followed for three steps.
    """
    sections, why = _first_march(index, start.section, limits)
    if len(sections) < 4:
        raise NoSection(f"the passage can be followed for {len(sections) - 1} steps only: {why}")
    diameter = float(np.median([diameter_mm(s) for s in sections]))
    end = _end_of(index, sections, rims, limits)
    at_mouth = end is not None
    if end is None:
        end = Mouth(sections[-1], 0.0)
    else:
        plane = end.section.plane
        sections = [s for s in sections[:-1] if _before(s, plane, 0.25 * diameter)]
        sections.append(end.section)
        why = f"{why}; its end there is taken from {_what(index, plane, rims)}"
    middles = np.array([s.centroid_mm for s in sections])
    ends = start.section.plane.normal, end.section.plane.normal
    areas = np.array([s.loop.area_mm2 for s in sections])
    track, spread = _settled(index, middles, areas, diameter, ends, start.section.plane.up, limits)
    return Found(track, start, end, why, at_mouth, spread)


def _first_march(index: MeshIndex, first: Section, limits: GapLimits) -> tuple[list[Section], str]:
    sections = [first]
    while len(sections) < MOST_STEPS:
        here = sections[-1]
        full = STEP * diameter_mm(here)
        step, why, found = full, "", None
        while found is None and step >= SMALLEST_STEP * full:
            try:
                found = _next(index, sections, step, limits)
            except NoSection as error:
                why, step = error.found, 0.5 * step
        if found is None:
            return sections, f"{float(_run(sections)[-1]):.1f} mm in, {why}"
        sections.append(found)
        if _run(sections)[-1] > 6.0 * index.size_mm:
            return sections, "it runs on and on"
    return sections, f"it was followed for {MOST_STEPS} steps"


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


def _before(found: Section, end: Plane, margin: float) -> bool:
    return float((end.origin_mm - found.centroid_mm) @ end.normal) > margin


def _what(index: MeshIndex, plane: Plane, rims: tuple[Flat, ...]) -> str:
    near = [r for r in rims if abs(float((r.point_mm - plane.origin_mm) @ plane.normal)) < 1e-6 * index.size_mm]
    return "an open rim" if near else "a flat end"


def _settled(
    index: MeshIndex,
    middles: F64,
    areas: F64,
    diameter: float,
    ends: tuple[F64, F64],
    up: F64,
    limits: GapLimits,
) -> tuple[Track, bool]:
    """Return the line once cutting square to it no longer moves the middles."""
    length = float(np.linalg.norm(np.diff(middles, axis=0), axis=1).sum())
    count = int(np.clip(np.ceil(length / (PLACE_EVERY * diameter)), FEWEST, MOST))
    track = track_through(middles, diameter, first=ends[0], last=ends[1], count=count, stiff=True)
    spread = False
    share = np.linspace(0.0, 1.0, len(areas))
    for _ in range(ROUNDS):
        area = np.interp(np.linspace(0.0, 1.0, count), share, areas)
        cuts = _cut_along(index, track, area, up, limits)
        at = track.distance_mm[[k for k, _ in cuts]]
        shift = filled_shift_mm(at, np.array([wall_mm(s.loop.points_mm) for _, s in cuts]), BRIDGE * diameter)
        again = [s.plane.solid_mm(s.loop.centroid_mm + by) for (_, s), by in zip(cuts, shift, strict=True)]
        line = np.array([middles[0], *again, middles[-1]])
        after = track_through(line, diameter, first=ends[0], last=ends[1], count=count)
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
