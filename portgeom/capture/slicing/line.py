"""Which plane stands at a distance along the passage, as the scan lies?

The line was found in the scan, or given as places, or is the path of a job.
"""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path as FilePath
from typing import Protocol

import numpy as np

from portgeom.capture.slicing.cut import Plane
from portgeom.capture.slicing.frame import LEVEL_TO_DEG, HeadFrame, ups_along
from portgeom.capture.slicing.track import Track, smooth_line
from portgeom.geometry.arrays import F64, frozen
from portgeom.geometry.path import Path, direction
from portgeom.job.cells import read_sheet
from portgeom.job.faults import Gathered, Spot, printable
from portgeom.job.files import TABLE_BYTES, decoded, read_bounded
from portgeom.job.kinds import Number

MOST_PLACES = 20_000
DENSE = 30
"""From so many places on, a given line is smoothed; fewer are run through."""


class SliceLine(Protocol):
    """A line with a plane at every distance along it, in the scan's axes."""

    @property
    def length_mm(self) -> float:
        """Return its length."""
        ...

    def plane(self, distance_mm: float) -> Plane:
        """Return the plane there."""
        ...


@dataclass(frozen=True, slots=True)
class TrackLine:
    """A line found or given: its planes stand level, then go on without twist.

    ``ups`` (m, 3) is v at the track's places and ``level_to_mm`` how far u is level, all in the scan's axes.
    """

    track: Track
    ups: F64
    level_to_mm: float
    head_up: F64

    @classmethod
    def of(cls, track: Track, frame: HeadFrame) -> TrackLine:
        """Return the line with its planes stood up in the head frame."""
        normals = frame.turned(track.normals)
        steep = np.flatnonzero(np.abs(normals[:, 2]) > np.sin(np.radians(LEVEL_TO_DEG)))
        first = int(steep[0]) if len(steep) else len(normals)
        level = float(track.distance_mm[first - 1]) if first else -1.0
        if first == len(normals):
            level = np.inf
        return cls(track, frozen(ups_along(normals) @ frame.axes), level, frame.up)

    @property
    def length_mm(self) -> float:
        """Return its length."""
        return self.track.length_mm

    def plane(self, distance_mm: float) -> Plane:
        """Return the plane there."""
        at = np.array([distance_mm])
        d = self.track.normals_at(at)[0]
        v = self.head_up
        if distance_mm > self.level_to_mm:
            v = np.array([np.interp(distance_mm, self.track.distance_mm, c) for c in self.ups.T])
        v = v - (v @ d) * d
        v = v / np.linalg.norm(v)
        return Plane(self.track.places_at(at)[0], np.cross(d, v), d, v)


@dataclass(frozen=True, slots=True)
class JobLine:
    """The path of a job's port, brought into the scan's axes."""

    path: Path
    frame: HeadFrame

    @property
    def length_mm(self) -> float:
        """Return its length."""
        return self.path.length_mm

    def plane(self, distance_mm: float) -> Plane:
        """Return the plane there."""
        p = self.path.planes(np.array([distance_mm]))
        axes = self.frame.axes
        return Plane(self.frame.scanned_mm(p.origin_mm[0]), p.right[0] @ axes, p.normal[0] @ axes, p.up[0] @ axes)


def read_line(path: FilePath, mm_per_unit: float, gathered: Gathered) -> Track:
    """Return the line through the places of a CSV: x, y, z and, if given, pitch and yaw, in the scan's axes.

    Raises
    ------
    JobError
        With every fault of the file.
    """
    spot = Spot(gathered, printable(path.name), None, "x, y, z")
    data = read_bounded(path, TABLE_BYTES, spot)
    text = None if data is None else decoded(data, spot)
    gathered.refuse()
    assert text is not None
    sheet = read_sheet(
        text, spot, known=("x", "y", "z", "pitch", "yaw"), required=("x", "y", "z"), most_rows=MOST_PLACES
    )
    gathered.refuse()
    assert sheet is not None
    turned = {"pitch", "yaw"} & set(sheet.columns)
    columns = ("x", "y", "z", *(("pitch", "yaw") if turned else ()))
    rows = []
    for row in sheet.rows:
        values = [row.number(c, Number(least=-1e9, most=1e9), "mm") for c in columns]
        for column, value in zip(columns, values, strict=True):
            if value is None and not row.text(column):
                row.at(column).fault("is blank", "give every place its " + ", ".join(columns))
        rows.append([0.0 if v is None else v for v in values])
    if len(rows) < 2:
        spot.fault(f"holds {len(rows)} places", "a line needs two places or more")
    gathered.refuse()
    table = np.array(rows)
    places = table[:, :3] * mm_per_unit
    again = np.concatenate([[False], (np.diff(places, axis=0) == 0.0).all(axis=1)])
    if again.any():
        row = sheet.rows[int(np.flatnonzero(again)[0])]
        row.at("x").note(
            f"repeats the place before, as {int(again.sum())} of {len(again)} do, the first here", "left out"
        )
        table, places = table[~again], places[~again]
    if len(places) < 2:
        spot.fault("holds one place only, again and again", "a line needs two places or more")
    gathered.refuse()
    return smooth_line(places, direction(table[:, 3], table[:, 4]) if turned else None, dense=DENSE)
