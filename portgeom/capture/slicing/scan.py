"""What sections does a scan hold along a line, and what had to be done to have them?"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from portgeom.capture.clock import clock_words
from portgeom.capture.slicing.frame import Angles, HeadFrame, angles_of
from portgeom.capture.slicing.index import MeshIndex
from portgeom.capture.slicing.line import JobLine, SliceLine
from portgeom.capture.slicing.mouth import diameter_mm, mouth_at
from portgeom.capture.slicing.outline import Traced, traced
from portgeom.capture.slicing.section import Expected, GapLimits, NoSection, Section, section
from portgeom.capture.slicing.stations import MOST_STATIONS, Stations, chosen_stations
from portgeom.capture.undercut import CUT_OFF, Hidden, opened
from portgeom.geometry.arrays import F64, frozen
from portgeom.geometry.findings import GeometryError
from portgeom.geometry.path import Path
from portgeom.job.faults import Gathered, Spot

SMALL_GAP_MM = 0.05
"""Gaps below this are told together, not one by one."""

CARRIED_TOLD_MM = 0.005
LENGTH_SLACK = 1e-3
"""How far beyond the line's end, as a share of its length, a listed station still means that end."""

AGREE_WITHIN = 0.01
"""How far a step along the line may be from the same step along the job's path; a job allows twice that."""

MOST_LEFT_OUT, MOST_LEFT_OUT_SHARE = 3, 0.1
"""How many sections that the tool itself chose may be left out for not being seen from their middle."""

FACING = 0.02
"""Up to this share of a loop facing the other way is the noise of small triangles."""


@dataclass(frozen=True, slots=True)
class Wish:
    """Which stations are wanted, and how true.

    ``at_mm`` lists distances; empty, they are chosen: every ``spacing_mm`` (None for a share of the passage's
    width), and closer where the passage changes if ``denser``.
    """

    at_mm: tuple[float, ...] = ()
    spacing_mm: float | None = None
    denser: bool = True
    within_mm: float = 0.005
    limits: GapLimits = GapLimits()  # noqa: RUF009


@dataclass(frozen=True, slots=True)
class SlicedStation:
    """One station: distance along the line, place (3,) in the head frame, the section and its outline."""

    distance_mm: float
    place_mm: F64
    section: Section
    traced: Traced
    carried_mm: float


@dataclass(frozen=True, slots=True)
class Sliced:
    """Every station of a port, and the angles of their planes."""

    stations: tuple[SlicedStation, ...]
    angles: Angles

    def without_last(self) -> Sliced:
        """Return it with its last station left out."""
        a = self.angles
        return Sliced(self.stations[:-1], Angles(a.pitch_deg[:-1], a.yaw_deg[:-1], a.roll_deg[:-1]))


@dataclass(slots=True)
class _Cutter:
    """Cuts at a distance along the line; at both ends it carries the nearest whole section out."""

    index: MeshIndex
    line: SliceLine
    limits: GapLimits
    carried: dict[float, float]

    def __call__(self, at: float) -> Section:
        plane = self.line.plane(at)
        ends = (0.0, 1.0), (self.line.length_mm, -1.0)
        inward = next((way for end, way in ends if abs(at - end) <= 1e-9 * self.line.length_mm), 0.0)
        if not inward:
            return section(self.index, plane, Expected(np.zeros(2)), self.limits)
        try:
            found = mouth_at(self.index, plane, self.limits, inward=inward)
        except NoSection:
            if inward > 0.0:
                raise
            return section(self.index, plane, Expected(np.zeros(2)), self.limits)  # the line may end at no mouth
        self.carried[at] = found.inset_mm
        return found.section


def sliced(index: MeshIndex, line: SliceLine, frame: HeadFrame, wish: Wish, gathered: Gathered, file: str) -> Sliced:
    """Return the sections of a scan along a line.

    Repairs go to the notes of ``gathered``; every plane without a section goes to its faults.

    Raises
    ------
    JobError
        Naming each plane at which there is no section.
    """
    middle = line.plane(0.5 * line.length_mm)
    whole = Spot(gathered, file, None, "sections")
    try:
        diameter = diameter_mm(section(index, middle, Expected(np.zeros(2)), wish.limits))
    except NoSection:
        diameter = line.length_mm / 3.0
    cutter = _Cutter(index, line, wish.limits, {})
    steps = line.length_mm / wish.spacing_mm if wish.spacing_mm else 0.0
    if steps > MOST_STATIONS:
        whole.fault(f"so close a spacing makes {steps:.0f} of them", f"at most {MOST_STATIONS} are taken")
        gathered.refuse()
    if wish.at_mm:
        stations = _listed(cutter, wish.at_mm, gathered, file)
    else:
        try:
            stations = chosen_stations(cutter, line.length_mm, diameter, spacing_mm=wish.spacing_mm, denser=wish.denser)
        except NoSection as error:
            whole.fault(error.found, "mend the mesh there, allow a wider --gap, or list other --stations")
    gathered.refuse()
    rows, first = [], float(stations.distance_mm[0])
    if first > 0.0:
        whole.note(f"the first is {first:.2f} mm along the line", "distances count from there")
    left_out: list[tuple[float, str]] = []
    for at, found in zip(stations.distance_mm.tolist(), stations.sections, strict=True):
        spot = _at(gathered, file, at)
        try:
            outline = _seen_whole(traced(found.loop.points_mm, wish.within_mm), spot)
        except NoSection as error:
            spot.fault(error.found, "mend the mesh there, or list other --stations")
            continue
        except Hidden as hidden:
            if not wish.at_mm and at > first:
                left_out.append((at, hidden.found))
            else:
                spot.fault(hidden.found, "list other --stations, or give a --path whose planes stand otherwise")
            continue
        place = frozen(frame.placed_mm(found.plane.origin_mm))
        rows.append(SlicedStation(at - first, place, found, outline, cutter.carried.get(at, 0.0)))
    few = len(left_out) <= max(MOST_LEFT_OUT, MOST_LEFT_OUT_SHARE * len(rows))
    for at, why in left_out:
        if few:
            _at(gathered, file, at).note(why, "left out; the sections beside it stand for it")
        else:
            _at(gathered, file, at).fault(why, "list other --stations, or give a --path whose planes stand otherwise")
    gathered.refuse()
    normals = frame.turned(np.array([r.section.plane.normal for r in rows]))
    ups = frame.turned(np.array([r.section.plane.up for r in rows]))
    for shift in stations.shifted:
        _at(gathered, file, shift.wanted_mm).note(shift.why, f"the section was taken at {shift.taken_mm:.2f} mm")
    _tell(rows, gathered, file)
    angles = angles_of(normals, ups)
    if isinstance(line, JobLine):
        return Sliced(tuple(rows), angles)
    return Sliced(_on_their_path(rows, angles, whole), angles)


def _seen_whole(outline: Traced, spot: Spot) -> Traced:
    """Return an outline without what a job could not hold of it, telling what that was; raises Hidden."""
    whole = opened(outline.outline)
    if not whole.found:
        return outline
    spot.note(whole.found, CUT_OFF)
    return replace(outline, outline=whole.outline)


def _on_their_path(rows: list[SlicedStation], angles: Angles, whole: Spot) -> tuple[SlicedStation, ...]:
    """Return the stations at distances that the path through them agrees with.

    A job's path leaves each station along its plane's normal. Where that is not quite the line's own direction, it
    is a little longer than the line.
    """
    places = np.array([r.place_mm for r in rows])
    given = np.array([r.distance_mm for r in rows])
    try:
        own = Path.through_places(places, angles.pitch_deg, angles.yaw_deg, angles.roll_deg).distance_mm
    except GeometryError:
        return tuple(rows)  # told with all the rest when the job is read back
    step = np.diff(own)
    if (np.abs(np.diff(given) - step) <= AGREE_WITHIN * step).all():
        return tuple(rows)
    whole.note(
        f"the path through the planes is {own[-1] - given[-1]:+.2f} mm longer than the line",
        "distances are those along the path",
    )
    return tuple(replace(r, distance_mm=float(s)) for r, s in zip(rows, own, strict=True))


def _listed(cutter: _Cutter, at_mm: Sequence[float], gathered: Gathered, file: str) -> Stations:
    sections = []
    for at in at_mm:
        if not 0.0 <= at <= cutter.line.length_mm * (1.0 + LENGTH_SLACK):
            _at(gathered, file, at).fault(
                "is beyond the line that was found", f"it runs from 0 to {cutter.line.length_mm:.2f} mm"
            )
            continue
        try:
            sections.append(cutter(min(at, cutter.line.length_mm)))
        except NoSection as error:
            _at(gathered, file, at).fault(error.found, "mend the mesh there, allow a wider --gap, or leave it out")
    return Stations(np.array(at_mm), tuple(sections), ())


def _at(gathered: Gathered, file: str, at_mm: float) -> Spot:
    return Spot(gathered, file, None, f"plane at {at_mm:.2f} mm")


def _tell(rows: list[SlicedStation], gathered: Gathered, file: str) -> None:
    """Note every repair, station by station, and what they share once."""
    whole = Spot(gathered, file, None, "sections")
    small = moved = 0
    for row in rows:
        spot, found = _at(gathered, file, row.distance_mm), row.section
        wide = [g for g in found.gaps if g.width_mm >= SMALL_GAP_MM]
        small += len(found.gaps) > len(wide)
        moved += found.moved_mm != 0.0
        if wide:
            said = ", ".join(
                f"{g.width_mm:.2f} mm at {clock_words(g.middle_mm - found.loop.centroid_mm)}"
                + (f" (bowed out {g.bow_mm:.2f} mm)" if g.bow_mm >= SMALL_GAP_MM else "")
                for g in wide
            )
            spot.note(f"the mesh is open over {said}", "closed as the wall on both sides goes on; gauge there")
        if row.carried_mm > CARRIED_TOLD_MM:
            spot.note(
                f"the mesh is not whole there; the section is drawn on from {row.carried_mm:.2f} mm further inside",
                "gauge the end itself if it matters",
            )
        if found.inside:
            listed = ", ".join(f"{area:.1f}" for area in sorted(found.inside, reverse=True)[:3])
            count = len(found.inside)
            lie = "1 more loop lies" if count == 1 else f"{count} more loops lie"
            spot.note(
                f"{lie} inside it ({listed} mm2)",
                "left out; if that is metal in the passage, take its area off yourself",
            )
        if row.traced.untangled_mm2 > 0.0:
            spot.note(
                f"its loop crosses itself; {row.traced.untangled_mm2:.3f} mm2 of small loops were cut off",
                "noise",
            )
    if small:
        whole.note(f"{small} of {len(rows)} have cracks narrower than {SMALL_GAP_MM} mm", "closed straight across")
    if moved:
        whole.note(
            f"{moved} of {len(rows)} cut through a ring of the mesh's corners",
            "their planes were moved by a micron or a few",
        )
    _tell_winding(rows, whole)


def _tell_winding(rows: list[SlicedStation], whole: Spot) -> None:
    outward = np.array([r.section.loop.outward_share for r in rows])
    if (outward <= FACING).all():
        whole.note(
            "the triangles face into the passage all round: a scan of the metal, or a mesh wound inside out",
            "the outlines are turned anticlockwise looking in, whatever the winding",
        )
    elif (outward < 1.0 - FACING).any():
        worst = int(np.argmin(np.abs(outward - 0.5)))
        whole.note(
            f"the winding is mixed: {int((outward < 1.0 - FACING).sum())} of {len(rows)} have triangles that face in, "
            f"over {100.0 * (1.0 - outward[worst]):.0f} percent of the wall at {rows[worst].distance_mm:.2f} mm",
            "the outlines are turned anticlockwise looking in, whatever the winding",
        )
