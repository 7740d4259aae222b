"""How far can the mesh of a stage be from the surface it stands for, at this resolution?"""

from __future__ import annotations

import numpy as np

from portgeom.model.lofted import LoftedStage


def mesh_bound_mm(stage: LoftedStage) -> float:
    """Return how far the mesh's flat pieces can lie from the measured outlines and the loft between them.

    Notes
    -----
    Round the section: the greatest distance from any point of a measured outline to the polygon of rays
    drawn in its place, found at every station. Along the port: the greatest sag of a chord between
    slabs, an eighth of the second difference. The sum of both bounds what either can do. It says nothing
    of what the port does between stations, which nobody measured.
    """
    import shapely

    surface = stage.surface
    points = surface.points_mm
    across = 0.0
    for slab, outline in stage.measured().items():
        ring = shapely.LinearRing(points[slab])
        across = max(across, float(shapely.distance(shapely.points(outline), ring).max()))
    world = surface.chart.planes.world_mm(points)
    bend = world[:-2] - 2.0 * world[1:-1] + world[2:]
    along = float(np.linalg.norm(bend, axis=-1).max()) / 8.0
    return across + along
