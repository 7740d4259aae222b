"""What did a person ask for of a scan?"""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

import numpy as np

from portgeom.capture.meshes.file import MM
from portgeom.capture.slicing.section import GapLimits
from portgeom.geometry.arrays import F64
from portgeom.job.units import length_to_mm
from portgeom.job.values import PortKind, Units

Three = tuple[float, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Asked:
    """What a person asked for. Points and directions are in the mesh's own axes and unit, lengths in the job's.

    At most one way of giving the entry (``entry_points``, ``entry_fit``, ``entry`` with ``into``, or by
    ``path_file`` or ``like``), and exactly one of saying what is up.
    """

    mesh: Path
    mesh_units: str
    folder: Path
    units: Units = "mm"
    entry_points: tuple[Three, ...] | None = None
    entry_fit: Three | None = None
    entry: Three | None = None
    into: Three | None = None
    up: Three | None = None
    up_point: Three | None = None
    transform: Path | None = None
    head_frame: bool = False
    at: Three | None = None
    towards: Three | None = None
    path_file: Path | None = None
    like: Path | None = None
    port: str = "1"
    spacing: float | None = None
    stations: Three | None = None
    even: bool = False
    gap_percent: float = 15.0
    within: float | None = None
    shrink_percent: float = 0.0
    kind: PortKind = "intake"
    material: str = "grey iron"
    title: str | None = None
    stage: str = "as cast"
    force: bool = False

    @property
    def limits(self) -> GapLimits:
        """Return how wide a gap in a loop may be closed."""
        widest = 0.01 * self.gap_percent
        return GapLimits(widest, max(2.0 * widest, GapLimits().widest))

    @property
    def scale_mm(self) -> float:
        """Return how many mm one unit of the scan is, a mould's shrinking made good."""
        return MM[self.mesh_units] / (1.0 - 0.01 * self.shrink_percent)

    @property
    def at_mm(self) -> tuple[float, ...]:
        """Return where the path is to start in the head, in mm."""
        return tuple(length_to_mm(x, self.units) for x in self.at or (0.0, 0.0, 0.0))

    def point_mm(self, point: Three | None) -> F64 | None:
        """Return a point of the scan in mm, in the scan's own axes; None where none was given."""
        return None if point is None else np.array(point) * self.scale_mm
