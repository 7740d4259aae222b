"""What is there to see of a port in three dimensions? Places and heights in the head frame, and no drawing.

The passage is shown as a mould of it would look: its outer skin, where a boss in the roof is a dent.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from portgeom.geometry.arrays import F64, frozen
from portgeom.geometry.surface import Surface
from portgeom.job.values import Units
from portgeom.output.chart_style import ProudScale
from portgeom.output.names import harmless
from portgeom.output.roof_edges import roof_edges
from portgeom.questions.roof import RoofMap
from portgeom.questions.whole import Answers


@dataclass(frozen=True, slots=True)
class Ring:
    """A measured section in the head frame (k, 3), without a repeated end, and its station's name."""

    points_mm: F64
    station: str


@dataclass(frozen=True, slots=True)
class PortScene:
    """One stage of a port in the head frame: x right, y into the port, z up from the deck.

    Attributes
    ----------
    skin_mm : (m, n, 3) float
        The surface as it is, slabs by rays, each slab anticlockwise looking in.
    proud_mm : (m, n) float
        Height over the line at every point of the skin that is roof; NaN elsewhere.
    line_mm : (k, 3) float
        Where the crown is wanted, along the roof.
    crown_mm : (k, 3) float
        The skin right under the line.
    rings : tuple of Ring
        The measured sections.
    peak_mm : (3,) float
        Where the roof stands furthest over the line.
    peak_proud_mm : float
    """

    title: str
    units: Units
    skin_mm: F64
    proud_mm: F64
    line_mm: F64
    crown_mm: F64
    rings: tuple[Ring, ...]
    peak_mm: F64
    peak_proud_mm: float
    scale: ProudScale


def port_scene(answer: Answers, units: Units) -> PortScene:
    """Return what is there to see of one stage of a port."""
    surface, result = answer.stage.surface, answer.roof
    planes = answer.port.chart.planes
    skin = planes.world_mm(surface.points_mm)
    proud = skin_proud_mm(surface, result.map)
    rows = answer.stage.stage.sections.rows
    rings = tuple(Ring(frozen(skin[slab]), row.station) for row, slab in zip(rows, answer.stage.slab, strict=True))
    peak = result.peak
    slab = answer.port.chart.slab_at(peak.distance_mm)
    edge = answer.wanted.edges[slab]
    height = float(edge.height_mm(np.array([peak.across_mm]))[0]) - peak.proud_mm
    line, crown = _line_mm(answer)
    finite = result.map.proud_mm[np.isfinite(result.map.proud_mm)]
    return PortScene(
        title=harmless(f"Port {answer.port.port.name}, {answer.stage.stage.name}"),
        units=units,
        skin_mm=frozen(skin),
        proud_mm=frozen(proud),
        line_mm=frozen(line),
        crown_mm=frozen(crown),
        rings=rings,
        peak_mm=frozen(_placed(answer, slab, np.array([[peak.across_mm, height]]))[0]),
        peak_proud_mm=peak.proud_mm,
        scale=ProudScale.over(float(finite.min()), float(finite.max()), units),
    )


def skin_proud_mm(surface: Surface, roof_map: RoofMap) -> F64:
    """Return the map's heights at the points of a skin (m, n); NaN where a point is not on the roof."""
    points = surface.points_mm
    heights = np.full(points.shape[:2], np.nan)
    above = points[..., 1] > surface.chart.centre_mm[:, None, 1]
    edges = roof_edges(roof_map.distance_mm, roof_map.across_mm, roof_map.proud_mm)
    for row, proud in enumerate(roof_map.proud_mm):
        here = np.isfinite(proud)
        if not here.any():
            continue
        u = points[row, :, 0]
        on = above[row] & (u >= edges.left[row]) & (u <= edges.right[row])
        heights[row, on] = np.interp(u[on], roof_map.across_mm[here], proud[here])
    return heights


def _line_mm(answer: Answers) -> tuple[F64, F64]:
    """Return the wanted line along the middle of the roof and the metal under it, in the head frame."""
    roof_map = answer.roof.map
    edges = roof_edges(roof_map.distance_mm, roof_map.across_mm, roof_map.proud_mm)
    wanted, present = [], []
    for row, proud in enumerate(roof_map.proud_mm):
        here = np.isfinite(proud)
        if not here.any():
            continue
        columns = roof_map.across_mm[here]
        middle = float(np.clip(0.5 * (edges.left[row] + edges.right[row]), columns[0], columns[-1]))
        height = float(answer.wanted.edges[row].height_mm(np.array([middle]))[0])
        over = float(np.interp(middle, columns, proud[here]))
        pair = _placed(answer, row, np.array([[middle, height], [middle, height - over]]))
        wanted.append(pair[0])
        present.append(pair[1])
    return np.array(wanted), np.array(present)


def _placed(answer: Answers, slab: int, points_mm: F64) -> F64:
    planes = answer.port.chart.planes
    u, v = points_mm[:, :1], points_mm[:, 1:]
    return planes.origin_mm[slab] + u * planes.right[slab] + v * planes.up[slab]
