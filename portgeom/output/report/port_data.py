"""What does the page's script have to know of one stage of a port, to turn it, cut it and read it?

Every state of a port lies on the same rays, so its shape is one number for each slab and ray. The script lays the
rays out again. Colours are bytes that a ramp is looked up with.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from portgeom.geometry.arrays import Int
from portgeom.geometry.surface import Surface
from portgeom.job.units import area_from_mm2, length_from_mm
from portgeom.output.charts.wall_scale import WallScale
from portgeom.output.report.packed import Json, data_url, floats, lengths, shades
from portgeom.output.report.shown_states import ShownStates, port_states
from portgeom.output.scene.hazard_shapes import HazardShape
from portgeom.output.scene.port_scene import Scale
from portgeom.questions.shape.places import bench_scale
from portgeom.questions.walls.seen import walls_seen_mm
from portgeom.questions.walls.walls import MAP_TO_MM
from portgeom.questions.whole_job import WholeJob, WholeStage

PAGE_BYTES = 1_700_000
"""All shapes of a page together take no more than about this, as text."""

CELL_BYTES = 4.0 * 4.0 / 3.0
"""Text for one place of one state: two bytes of shape and two of colour."""

FEWEST, MOST = 2_000, 14_000
"""Places of one state."""

RAMP_STEPS = 255


def cells_for(whole: WholeJob) -> int:
    """Return how many places each state of a page may have, so that all of them fit."""
    states = sum(len(port_states(s)) for s in whole.stages)
    return int(np.clip(PAGE_BYTES / (CELL_BYTES * max(1, states)), FEWEST, MOST))


@dataclass(frozen=True, slots=True)
class Shown3d:
    """Which slabs (j,) and rays (k,) of a chart are shown."""

    slabs: Int
    rays: Int


def chosen_grid(surface: Surface, stations: Int, cells: int) -> Shown3d:
    """Return about ``cells`` places of a chart, every station and the middle of the roof among them."""
    chart = surface.chart
    m, n = surface.rho_mm.shape
    rays = int(np.clip(round(np.sqrt(cells)), 48, n))
    slabs = int(np.clip(cells // rays, 2, m))
    middle = chart.rays.fan + chart.rays.flat // 2
    even = np.linspace(0, n, rays, endpoint=False).round().astype(np.intp)
    # turned so that one of them stands in the middle of the roof
    chosen = np.unique((even + middle) % n)
    along = np.linspace(0, m - 1, slabs).round().astype(np.intp)
    return Shown3d(np.unique(np.concatenate([along, stations])), chosen)


def port_data(whole: WholeJob, stage: WholeStage, seen: ShownStates, shapes: Sequence[HazardShape], cells: int) -> Json:
    """Return all about one stage of a port for the page's script, lengths in the units shown unless they are codes."""
    answer, units = stage.answers, whole.units
    per, per_area = length_from_mm(1.0, units), area_from_mm2(1.0, units)
    surface, port = answer.stage.surface, answer.port.port
    chart, states = surface.chart, seen.states
    grid = chosen_grid(surface, answer.stage.slab, cells)
    pick = np.ix_(grid.slabs, grid.rays)
    rho = [s.surface.rho_mm[pick] for s in states]
    packed = [lengths(r, max(float(r.max()) for r in rho)) for r in rho]
    proud, scale = seen.proud_mm[:, grid.slabs[:, None], grid.rays], seen.scale
    hazards = stage.cutting.hazards
    walls = [walls_seen_mm(s.surface, hazards, grid.slabs, grid.rays) for s in states] if hazards else []
    bench = bench_scale(surface)
    planes = chart.planes
    stations = zip(answer.stage.stage.sections.rows, answer.stage.slab, strict=True)
    return {
        "name": f"Port {port.name}",
        "units": units,
        "digits": 1 if units == "mm" else 3,
        "area_digits": 0 if units == "mm" else 3,
        "at_line": 0.05 * per,
        "slabs": len(grid.slabs),
        "rays": len(grid.rays),
        "distance": floats(chart.distance_mm[grid.slabs] * per),
        "square": floats(bench.square_mm[grid.slabs] * per),
        "along_roof": floats(bench.along_roof_mm[grid.slabs] * per),
        "origin": floats(planes.origin_mm[grid.slabs] * per),
        "right": floats(planes.right[grid.slabs]),
        "up": floats(planes.up[grid.slabs]),
        "centre": floats(chart.centre_mm[grid.slabs] * per),
        "half": floats(chart.half_mm[grid.slabs] * per),
        "foot": floats(chart.rays.foot[grid.rays]),
        "direction": floats(chart.rays.direction[grid.rays]),
        "rho_step": packed[0].step * per,
        "states": [
            {
                "name": s.name,
                "kind": s.kind,
                "rho": p.data,
                "proud": shades(v * per, scale.low, scale.high),
                "wall": shades(np.maximum(walls[k], 0.0), 0.0, MAP_TO_MM) if hazards else "",
                "flow": floats(s.surface.flow_area_mm2[grid.slabs] * per_area),
            }
            for k, (s, p, v) in enumerate(zip(states, packed, proud, strict=True))
        ],
        "proud": _told_scale(scale),
        "wall": _told_scale(wall_scale(stage, whole)) if hazards else None,
        "stations": [[row.station, int(np.searchsorted(grid.slabs, slab))] for row, slab in stations],
        "sides": ["roof", port.right_wall, "floor", port.left_wall],
        "hazards": [_shape(shape, per) for shape in shapes],
    }


def wall_scale(stage: WholeStage, whole: WholeJob) -> WallScale:
    """Return the scale of the metal left behind the walls."""
    return WallScale.over(stage.cutting.hazards, MAP_TO_MM, whole.units)


def _told_scale(scale: Scale) -> Json:
    ramp = scale.ramp
    middles = ramp.low + np.arange(RAMP_STEPS) / (RAMP_STEPS - 1) * (ramp.high - ramp.low)
    return {
        "low": scale.low,
        "high": scale.high,
        "ramp": data_url(ramp.rgb(middles).tobytes()),
    }


def _shape(shape: HazardShape, per: float) -> Json:
    used, triangles = np.unique(shape.triangles, return_inverse=True)
    corner = shape.vertices_mm[used].min(axis=0)
    away = shape.vertices_mm[used] - corner
    most = float(away.max())
    return {
        "name": shape.name,
        "sheet": shape.sheet,
        "places": lengths(away, most).data,
        "corner": (corner * per).tolist(),
        "step": lengths(away, most).step * per,
        "triangles": data_url(triangles.astype("<u2").tobytes()),
    }
