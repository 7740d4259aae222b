"""Along which line is a scan cut, and how does the scan stand in the head?"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from portgeom.capture.meshes.file import MM
from portgeom.capture.meshes.values import MeshError, ScanMesh
from portgeom.capture.slicing.asked import Asked, Three
from portgeom.capture.slicing.cut import Plane, plane_at
from portgeom.capture.slicing.ends import Flat, flat_of_rim
from portgeom.capture.slicing.fork import Fork
from portgeom.capture.slicing.frame import HeadFrame
from portgeom.capture.slicing.index import MeshIndex
from portgeom.capture.slicing.line import JobLine, SliceLine, TrackLine, read_line
from portgeom.capture.slicing.march import Found, march
from portgeom.capture.slicing.mouth import Mouth, diameter_mm, mouth_at
from portgeom.capture.slicing.place import Entry, Up, entry_plane, frame_of, read_matrix
from portgeom.capture.slicing.section import Expected, GapLimits, NoSection, Section, section
from portgeom.geometry.arrays import F64
from portgeom.job.faults import Gathered, JobError, Spot, nearest, printable
from portgeom.job.read import read_job
from portgeom.model.lofted import path_of

OUTSIDE, ALIKE = (0.15, 0.3), 0.1
"""How far outside the entry plane, in diameters, a section so like the mouth's says that the passage goes on there."""


MOST_UP_DEG = -30.0
"""A port whose end points further up than this stands on its head."""


@dataclass(frozen=True, slots=True)
class Laid:
    """The line along which a scan is cut, how the scan stands in the head, and distances that go with the line.

    ``trim`` says that the line ends where it could be followed no further, not at a mouth.
    """

    line: SliceLine
    frame: HeadFrame
    at_mm: tuple[float, ...] = ()
    trim: bool = False


def laid_line(asked: Asked, mesh: ScanMesh, index: MeshIndex, gathered: Gathered) -> Laid:
    """Return the line to cut along, found or given, and the scan's place in the head.

    Raises
    ------
    JobError
        Saying why there is none.
    """
    spot = Spot(gathered, printable(asked.mesh.name), None, "placing")
    try:
        if asked.like is not None:
            return _like(asked, spot)
        if asked.path_file is not None:
            return _given(asked, spot)
        return _found(asked, mesh, index, spot)
    except MeshError as error:
        spot.fault(error.found, error.mend)
    except NoSection as error:
        spot.fault(error.found, "check the entry plane and --mesh-units, or give the line with --path")
    raise JobError(gathered.faults)


def _way(way: Three | None, what: str) -> F64 | None:
    if way is not None and not any(way):
        raise MeshError(f"{what} 0,0,0 says no direction", "give a direction, as 0,0,1")
    return None if way is None else np.array(way)


def _up(asked: Asked, spot: Spot) -> Up:
    matrix = None
    if asked.transform is not None:
        matrix = read_matrix(asked.transform, Spot(spot.gathered, printable(asked.transform.name), None, "matrix"))
    return Up(_way(asked.up, "--up"), asked.point_mm(asked.up_point), matrix, asked.head_frame)


def _tell_outside(mouth: Section, point_mm: F64, spot: Spot) -> None:
    """Tell that the point given for the face is not in the mouth that was found from it."""
    import shapely

    away = float(shapely.distance(shapely.Polygon(mouth.loop.points_mm), shapely.Point(mouth.plane.flat_mm(point_mm))))
    if away > 0.0:
        spot.note(
            f"the point given for the face lies {away:.1f} mm outside that section, which is the nearest there is",
            "give --entry a point inside the port's mouth",
        )


def _like(asked: Asked, spot: Spot) -> Laid:
    assert asked.like is not None
    job = read_job(asked.like)
    ports = {p.name: p for p in job.ports}
    if asked.port not in ports:
        raise MeshError(f"{printable(asked.like.name)} has no such port", nearest(asked.port, ports, what="port"))
    port = ports[asked.port]
    path = path_of(port.stages[0].sections, port.position_mm)
    up = _up(asked, spot)
    frame = frame_of(up, np.array([0.0, 1.0, 0.0]), np.zeros(3), np.zeros(3), spot, MM[asked.mesh_units])
    spot.note(f"path and stations are those of port {printable(port.name)} of the job given", "as --like asked")
    first = path.distance_mm - path.distance_mm[0]
    return Laid(JobLine(path, frame), frame, tuple(first.tolist()))


def _given(asked: Asked, spot: Spot) -> Laid:
    assert asked.path_file is not None
    track = read_line(asked.path_file, asked.scale_mm, spot.gathered)
    start = track.places_mm[0]
    frame = frame_of(_up(asked, spot), track.normals[0], start, np.array(asked.at_mm), spot, MM[asked.mesh_units])
    return Laid(TrackLine.of(track, frame), frame)


def _found(asked: Asked, mesh: ScanMesh, index: MeshIndex, spot: Spot) -> Laid:
    up = _up(asked, spot)
    entry = Entry(
        points_mm=None if asked.entry_points is None else np.array(asked.entry_points) * asked.scale_mm,
        near_mm=asked.point_mm(asked.entry_fit),
        point_mm=asked.point_mm(asked.entry),
        into=_way(asked.into, "--into"),
    )
    flat = entry_plane(entry, up, mesh, index, spot, MM[asked.mesh_units])
    limits = asked.limits
    start = mouth_at(index, _standing(flat), limits)
    frame = frame_of(up, flat.normal, start.section.centroid_mm, np.array(asked.at_mm), spot, MM[asked.mesh_units])
    rims = tuple(f for f in (flat_of_rim(r) for r in mesh.rims) if f is not None)
    found = march(index, start, rims, limits, towards_mm=asked.point_mm(asked.towards))
    centre = np.round(frame.placed_mm(start.section.centroid_mm), 2) + 0.0  # no minus zero
    spot.note(
        f"the path starts in the middle of a section of {start.section.loop.area_mm2:.1f} mm2, in the head at "
        f"{centre[0]:.2f}, {centre[1]:.2f}, {centre[2]:.2f} mm",
        "check that this is the port's mouth",
    )
    if entry.point_mm is not None:
        _tell_outside(start.section, entry.point_mm, spot)
    if _goes_on_before(index, start, limits):
        spot.note(
            "the passage goes on outside the entry plane too, so that part of it is left out",
            "if the face lies further out, give a point there",
        )
    _tell_upside_down(frame.turned(found.track.normals), spot)
    _tell_forks(found, asked, spot)
    if found.spread:
        spot.note(
            "planes square to the path would cross inside the bend, so their turn is spread over more of it",
            "areas are in the planes; flow areas allow for it",
        )
    return Laid(TrackLine.of(found.track, frame), frame, trim=not found.at_mouth)


def _goes_on_before(index: MeshIndex, start: Mouth, limits: GapLimits) -> bool:
    """Return whether there is a section much like that at the mouth a little way outside it."""
    diameter = diameter_mm(start.section)
    expected = Expected(np.zeros(2), start.section.loop.area_mm2)
    for share in OUTSIDE:
        plane = plane_at(
            start.section.centroid_mm - share * diameter * start.section.plane.normal,
            start.section.plane.normal,
            start.section.plane.up,
        )
        try:
            met = section(index, plane, expected, limits)
        except NoSection:
            return False
        if abs(met.loop.area_mm2 / start.section.loop.area_mm2 - 1.0) > ALIKE:
            return False
    return True


def _tell_upside_down(normals: F64, spot: Spot) -> None:
    """Tell where a passage turns away from the deck, which no port does on its way to the valve."""
    pitch = float(np.degrees(np.arcsin(np.clip(-normals[-1, 2], -1.0, 1.0))))
    if pitch < MOST_UP_DEG:
        spot.note(
            f"the passage turns up by {-pitch:.0f} degrees at its end, away from the deck",
            "if it should turn down to the valve, up was given the wrong way round",
        )


def _tell_forks(found: Found, asked: Asked, spot: Spot) -> None:
    """Tell where the path ended, and past which forks it went on."""
    for passed in found.followed:
        spot.note(
            f"the passage divides past a section of {passed.fork.before.loop.area_mm2:.1f} mm2, into "
            f"{_branches(passed.fork, asked)}; that of {passed.branch.loop.area_mm2:.1f} mm2 was followed, being the "
            "nearest to the point given",
            "sections just before the fork hold both",
        )
    how = f"the path follows the middles of sections for {found.track.length_mm:.2f} mm"
    if found.fork is not None:
        where = _in_scan(found.fork.branches[0], asked)
        spot.note(
            f"{how}; there the passage divides, into {_branches(found.fork, asked)}",
            f"go on along one of them with --towards and a point in it, as --towards {where}",
        )
        return
    mend = "check that this is the port's end" if found.at_mouth else "give the line with --path if the port goes on"
    spot.note(f"{how}; there, {found.why_ended}", mend)


def _branches(fork: Fork, asked: Asked) -> str:
    return " and ".join(f"{b.loop.area_mm2:.1f} mm2 about {_in_scan(b, asked)}" for b in fork.branches)


def _in_scan(found: Section, asked: Asked) -> str:
    """Return the middle of a section in the mesh's own axes and unit, as options take points."""
    digits = 1 + int(np.ceil(np.log10(MM[asked.mesh_units])))  # a tenth of a millimetre or finer
    return ",".join(f"{x:.{digits}f}" for x in np.round(found.centroid_mm / asked.scale_mm, digits) + 0.0)


def _standing(flat: Flat) -> Plane:
    """Return the plane with any v at all; only its loop is wanted."""
    least = np.eye(3)[int(np.argmin(np.abs(flat.normal)))]
    return plane_at(flat.point_mm, flat.normal, least)
