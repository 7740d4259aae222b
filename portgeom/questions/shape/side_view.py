"""What does the port look like from the side: roof, floor, path and wanted line?"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from portgeom.geometry.arrays import F64
from portgeom.model.lofted import LoftedPort, LoftedStage
from portgeom.model.wanted import Wanted


@dataclass(frozen=True, slots=True)
class SideView:
    """Curves in the head frame: y into the port, z up from the deck.

    Attributes
    ----------
    path_mm, roof_mm, floor_mm, line_mm : (m, 2) float
        Each slab's path, crown, lowest point and wanted crown, as (y, z).
    planes_mm : (n, 2, 2) float
        Lowest point and crown of every measured station.
    """

    path_mm: F64
    roof_mm: F64
    floor_mm: F64
    line_mm: F64
    planes_mm: F64


def side_view(port: LoftedPort, stage: LoftedStage, wanted: Wanted) -> SideView:
    """Return the port seen from its right side, right as looking in: the face to the left, the deck below.

    Roof, floor and line are drawn at their heights above the path, whatever their place across.
    """
    chart = port.chart
    points = stage.surface.points_mm
    top, bottom = points[..., 1].max(axis=1), points[..., 1].min(axis=1)
    origin, up = chart.planes.origin_mm, chart.planes.up

    def at(height_mm: F64) -> F64:
        return (origin + height_mm[:, None] * up)[:, 1:]

    roof, floor = at(top), at(bottom)
    return SideView(
        path_mm=origin[:, 1:],
        roof_mm=roof,
        floor_mm=floor,
        line_mm=at(wanted.height_mm),
        planes_mm=np.stack([floor[stage.slab], roof[stage.slab]], axis=1),
    )
