"""Where is the face in a scan, which way is in, and how does the scan stand in the head?"""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

import numpy as np

from portgeom.capture.meshes.values import MeshError, ScanMesh
from portgeom.capture.slicing.ends import Flat, end_near, plane_of_points
from portgeom.capture.slicing.frame import HeadFrame
from portgeom.capture.slicing.index import MeshIndex
from portgeom.geometry.arrays import F64
from portgeom.job.faults import Spot
from portgeom.job.files import decoded, read_bounded

MATRIX_BYTES = 10_000


@dataclass(frozen=True, slots=True)
class Entry:
    """How the person gave the entry plane, in mm in the scan's axes; one of the three ways, or none of them.

    ``points_mm`` (3, 3): three points of the plane. ``near_mm``: a point on the flange or in the open mouth that is
    to be fitted. ``point_mm`` and ``into``: a point of the plane and the way in.
    """

    points_mm: F64 | None = None
    near_mm: F64 | None = None
    point_mm: F64 | None = None
    into: F64 | None = None


@dataclass(frozen=True, slots=True)
class Up:
    """How the person said which way is up; one of the four.

    ``towards``: from deck to roof, square to the deck. ``point_mm``: a place on the roof's side. ``matrix`` (4, 4),
    its shift in the scan's unit. ``same``: the scan already lies in the head frame.
    """

    towards: F64 | None = None
    point_mm: F64 | None = None
    matrix: F64 | None = None
    same: bool = False


def entry_plane(entry: Entry, up: Up, mesh: ScanMesh, index: MeshIndex, spot: Spot, mm_per_unit: float) -> Flat:
    """Return the entry plane, its normal the way in.

    Raises
    ------
    MeshError
        If it cannot be had from what was given.
    """
    if entry.points_mm is not None:
        flat = _inward(plane_of_points(entry.points_mm), mesh)
    elif entry.near_mm is not None:
        flat = _inward(end_near(mesh, index, entry.near_mm), mesh)
        spot.note(
            f"the entry plane is fitted to {flat.what}, which strays {flat.stray_mm:.3f} mm from it (root mean square)",
            "give three points with --entry-points if it is not the face",
        )
    elif entry.point_mm is not None and entry.into is not None:
        flat = Flat(entry.point_mm, entry.into / np.linalg.norm(entry.into), 0.0, "a point and the way in")
    else:
        frame = fixed_frame(up, mm_per_unit)
        if frame is None:
            raise MeshError("nothing says where the face is", "give --entry-points, --entry-fit, or --entry and --into")
        middle = 0.5 * (index.low_mm + index.high_mm)
        on_face = frame.placed_mm(middle) * (1.0, 0.0, 1.0)
        flat = Flat(frame.scanned_mm(on_face), frame.axes[1], 0.0, "y = 0 of the head frame")
        spot.note("the face is taken at y = 0 of the head frame", "else give --entry-points or --entry-fit")
    return flat


def fixed_frame(up: Up, mm_per_unit: float) -> HeadFrame | None:
    """Return the head frame where the person gave all of it, None where it follows from the entry."""
    if up.same:
        return HeadFrame.same()
    return HeadFrame.from_matrix(up.matrix, mm_per_unit) if up.matrix is not None else None


def frame_of(up: Up, into: F64, start_mm: F64, at_mm: F64, spot: Spot, mm_per_unit: float) -> HeadFrame:
    """Return the head frame, telling what was assumed of it.

    ``start_mm`` is where the path starts in the scan and ``at_mm`` where that is in the head.
    """
    fixed = fixed_frame(up, mm_per_unit)
    if fixed is not None:
        return fixed
    if up.towards is not None:
        frame = HeadFrame.from_up(up.towards, into, start_mm, at_mm)
        lean = float(np.degrees(np.arcsin(np.clip(-frame.turned(into)[2] / np.linalg.norm(into), -1.0, 1.0))))
        spot.note(
            f"up is taken as square to the deck, so the face leans: the entry plane has {lean:.2f} degrees of pitch",
            "give --up-point instead if you only know which side the roof is on",
        )
        return frame
    if up.point_mm is None:
        raise MeshError("nothing says which way is up", "give --up, --up-point, --transform or --head-frame")
    d = into / np.linalg.norm(into)
    off = up.point_mm - start_mm
    square = off - (off @ d) * d
    if np.linalg.norm(square) == 0.0:
        raise MeshError("the point given for up is straight ahead of the entry", "give a point on the roof")
    spot.note("the face is taken as square to the deck", "give --up if the deck's own direction is known")
    return HeadFrame.from_up(square, d, start_mm, at_mm)


def read_matrix(path: Path, spot: Spot) -> F64:
    """Return the 4 x 4 matrix of a text file: sixteen numbers, row by row, blanks or commas between.

    Raises
    ------
    JobError
        If it holds anything else.
    """
    data = read_bounded(path, MATRIX_BYTES, spot)
    text = None if data is None else decoded(data, spot)
    spot.gathered.refuse()
    assert text is not None
    try:
        numbers = [float(word) for word in text.replace(",", " ").split()]
    except ValueError:
        numbers = []
    if len(numbers) != 16:
        spot.fault("does not hold sixteen numbers", "give the 4 x 4 matrix row by row, as text")
    spot.gathered.refuse()
    return np.array(numbers).reshape(4, 4)


def _inward(flat: Flat, mesh: ScanMesh) -> Flat:
    """Return a plane with its normal on the side where most of the mesh is."""
    side = (mesh.vertices_mm - flat.point_mm) @ flat.normal
    return flat if float(side.mean()) >= 0.0 else flat.facing(-flat.normal)
