"""What is there to see of a port in three dimensions? Places and values in the head frame, and no drawing.

The passage is shown as a mould of it would look: its outer skin, where a boss in the roof is a dent. Its skin
is coloured by one thing: how far the roof stands over the line, or how much metal is left behind the wall.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Protocol

import numpy as np

from portgeom.geometry.arrays import F64, frozen
from portgeom.geometry.surface import Surface
from portgeom.job.values import Units
from portgeom.output.charts.chart_style import ProudScale, Ramp
from portgeom.output.charts.roof_edges import roof_edges
from portgeom.output.charts.wall_scale import WallScale
from portgeom.output.scene.hazard_shapes import HazardShape, place_mm
from portgeom.output.words.names import harmless
from portgeom.output.words.shown import Shown
from portgeom.questions.shape.roof import RoofMap
from portgeom.questions.states import State
from portgeom.questions.walls.walls import WallMap, Walls
from portgeom.questions.whole import Answers

if TYPE_CHECKING:
    from matplotlib.colors import Colormap, Normalize


SEEN_MM = 0.05
"""Less than this past the line prints as at the line, and is coloured so."""


class Scale(Protocol):
    """A colour scale: its ends and marks in the units shown, and what its ends mean."""

    @property
    def low(self) -> float:
        """Return its lower end."""
        ...

    @property
    def high(self) -> float:
        """Return its upper end."""
        ...

    @property
    def marks(self) -> tuple[float, ...]:
        """Return where it is marked."""
        ...

    @property
    def low_words(self) -> str:
        """Return what its lower end means."""
        ...

    @property
    def high_words(self) -> str:
        """Return what its upper end means."""
        ...

    @property
    def words(self) -> str:
        """Return what it shows."""
        ...

    @property
    def ramp(self) -> Ramp:
        """Return the colours."""
        ...

    def colours(self) -> tuple[Colormap, Normalize]:
        """Return the colour map and its norm, for those who draw with them."""
        ...


@dataclass(frozen=True, slots=True)
class Ring:
    """A measured section in the head frame (k, 3), without a repeated end, and its station's name."""

    points_mm: F64
    station: str


@dataclass(frozen=True, slots=True)
class Pin:
    """A place (3,) and what is said of it."""

    place_mm: F64
    words: str


@dataclass(frozen=True, slots=True)
class PortScene:
    """One surface of a port in the head frame: x right, y into the port, z up from the deck.

    Attributes
    ----------
    skin_mm : (m, n, 3) float
        The surface, slabs by rays, each slab anticlockwise looking in.
    value_mm : (m, n) float
        What the skin is coloured by; NaN where it is plain.
    scale : Scale
        Of the colours.
    scale_words : str
    line_mm : (k, 3) float
        Where the crown is wanted, along the roof; empty where that is not shown.
    crown_mm : (k, 3) float
        The skin right under the line.
    rings : tuple of Ring
        Sections where the port was measured.
    pin : Pin or None
        The place to look at first.
    shapes : tuple of HazardShape
        What lies behind the walls.
    soft : bool
        Whether its colours have to be read off, in the shade too.
    """

    title: str
    units: Units
    skin_mm: F64
    value_mm: F64
    scale: Scale
    scale_words: str
    line_mm: F64
    crown_mm: F64
    rings: tuple[Ring, ...]
    pin: Pin | None
    shapes: tuple[HazardShape, ...] = ()
    soft: bool = False


def port_scene(answer: Answers, units: Units, state: State | None = None) -> PortScene:
    """Return one stage of a port, or another state of it, its roof coloured by height over the line.

    The colours of any state mean what they mean for the stage, so that two pictures compare.
    """
    shown = state or State(answer.stage.stage.name, answer.stage.surface, answer.roof)
    surface, result = shown.surface, shown.roof
    skin = _skin_mm(surface)
    peak = result.peak
    slab = answer.port.chart.slab_at(peak.distance_mm)
    edge = answer.wanted.edges[slab]
    height = float(edge.height_mm(np.array([peak.across_mm]))[0]) - peak.proud_mm
    line, crown = _line_mm(answer, result.map)
    heights = np.concatenate([r.map.proud_mm[np.isfinite(r.map.proud_mm)] for r in (answer.roof, result)])
    lowest = float(heights.min())
    scale = ProudScale.over(lowest if lowest <= -SEEN_MM else 0.0, float(heights.max()), units)
    return PortScene(
        title=_title(answer, shown.name),
        units=units,
        skin_mm=skin,
        value_mm=frozen(skin_proud_mm(surface, result.map)),
        scale=scale,
        scale_words=f"roof: {scale.words}",
        line_mm=frozen(line),
        crown_mm=frozen(crown),
        rings=_rings(answer, skin),
        pin=Pin(
            frozen(_placed(answer, slab, np.array([[peak.across_mm, height]]))[0]),
            f"roof peak: {Shown(units).proud(peak.proud_mm)}",
        ),
    )


def wall_scene(
    answer: Answers, units: Units, found: Walls, wall_map: WallMap, shapes: Sequence[HazardShape]
) -> PortScene:
    """Return one state of a port, coloured by the metal left behind its walls, and what lies behind them."""
    surface, least = found.surface, found.least
    skin = _skin_mm(surface)
    scale = WallScale.over([w.behind for w in found.walls], wall_map.to_mm, units)
    pin = None
    if least is not None and least.least is not None:
        at, shown = least.least, Shown(units)
        left = f"{shown.length(at.wall_mm)} to" if at.wall_mm > 0.0 else f"open, {shown.length(-at.wall_mm)} into"
        place = place_mm(surface, at.distance_mm, at.clock_deg)
        pin = Pin(frozen(place), harmless(f"thinnest wall: {left} {least.hazard}"))
    return PortScene(
        title=_title(answer, found.state),
        units=units,
        skin_mm=skin,
        value_mm=frozen(np.clip(wall_map.wall_mm, 0.0, wall_map.to_mm)),
        scale=scale,
        scale_words=scale.words + ("; grey: not known" if np.isnan(wall_map.wall_mm).any() else ""),
        line_mm=frozen(np.empty((0, 3))),
        crown_mm=frozen(np.empty((0, 3))),
        rings=_rings(answer, skin),
        pin=pin,
        shapes=tuple(shapes),
        soft=True,
    )


def _title(answer: Answers, state: str) -> str:
    return harmless(f"Port {answer.port.port.name}, {state}")


def _skin_mm(surface: Surface) -> F64:
    return surface.world_mm


def _rings(answer: Answers, skin: F64) -> tuple[Ring, ...]:
    """Return the sections of a skin where the stage was measured."""
    rows = answer.stage.stage.sections.rows
    return tuple(Ring(frozen(skin[slab]), row.station) for row, slab in zip(rows, answer.stage.slab, strict=True))


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


def _line_mm(answer: Answers, roof_map: RoofMap) -> tuple[F64, F64]:
    """Return the wanted line along the middle of the roof and the metal under it, in the head frame."""
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
