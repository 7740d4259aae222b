"""Where would a port's path run, were its distances and directions read again?"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from portgeom.geometry.arrays import F64
from portgeom.geometry.path import Path
from portgeom.job.values import Accuracy, SectionTable
from portgeom.model.lofted import PathReadings, path_readings
from portgeom.questions.uncertainty.chance import normals


@dataclass(frozen=True, slots=True)
class PathErrors:
    """Errors (n, k) of a path's readings at its stations, one row a draw; zero where nothing was read."""

    distance_mm: F64
    pitch_deg: F64
    yaw_deg: F64

    def of(self, draws: slice) -> PathErrors:
        """Return the errors of some of the draws."""
        return PathErrors(self.distance_mm[draws], self.pitch_deg[draws], self.yaw_deg[draws])

    def one(self, draw: int) -> PathErrors:
        """Return the errors (k,) of one draw."""
        return PathErrors(self.distance_mm[draw], self.pitch_deg[draw], self.yaw_deg[draw])


def path_errors(table: SectionTable, accuracy: Accuracy, *, draws: int, seed: int, port: str) -> PathErrors:
    """Return errors of a path's readings.

    The first station lies on the manifold face and has no distance to be wrong about. An angle whose column the
    table leaves out was not read.
    """
    rows = table.rows
    shape = (draws, len(rows))
    distance = accuracy.distance_mm * normals(seed, port, "distance", shape=shape)
    distance[:, 0] = 0.0
    angles = []
    for name in ("pitch", "yaw"):
        read = any(getattr(row, f"{name}_deg") is not None for row in rows)
        angles.append(accuracy.pitch_deg * read * normals(seed, port, name, shape=shape))
    return PathErrors(distance, *angles)


def drawn_path(table: SectionTable, errors: PathErrors, *, start_mm: F64 | None) -> Path:
    """Return the paths of the draws, with a leading axis, through the same formulas as the path itself.

    Where the table gives places, a station's error of distance moves it along its own plane's normal.
    """
    read = path_readings(table)
    places = read.places_mm
    if places is not None:
        nominal = read.path(start_mm)
        places = places + errors.distance_mm[..., None] * nominal.normal
    drawn = PathReadings(
        distance_mm=None if read.distance_mm is None else read.distance_mm + errors.distance_mm,
        pitch_deg=read.pitch_deg + errors.pitch_deg,
        yaw_deg=read.yaw_deg + errors.yaw_deg,
        roll_deg=np.broadcast_to(read.roll_deg, errors.pitch_deg.shape),
        places_mm=places,
    )
    return drawn.path(start_mm)
