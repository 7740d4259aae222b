"""How far does a state keep to each demand, and how does that change with the cuts?

Every demand is a margin that must not fall below zero. Margins come in blocks, one for each kind of demand and port;
``scale`` says how much margin one unit of relaxation gives: a percent of area, a mm of wall.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from portgeom.geometry.arrays import F64, Int
from portgeom.questions.propose.gauges import thinnest
from portgeom.questions.propose.port_model import PortModel, PortSlopes, PortState
from portgeom.questions.propose.runs import SIDES

AREA, TOO_LARGE, NECK, GROWTH, BOW, SLOPE = "area", "too large", "neck", "growth", "bow", "slope"
MOST = {"roof": "most roof", "left": "most side", "right": "most side", "floor": "most floor"}
MATCH, VOLUMES = "match", "volumes"
WALL = "wall: "

NECK_SHARE = 0.9
"""Necks are kept to this share of the limit: what is finer than the slabs here must not break it."""

SEEN_PERCENT = 3.0
"""Margins of area larger than this need no row."""


@dataclass(frozen=True, slots=True)
class Block:
    """Margins of one kind.

    Attributes
    ----------
    kind : str
    port : int
        Which port, the first of a pair for what is asked of both.
    margin, scale, where_mm : (r,) float
        ``where_mm`` is the distance along the path.
    slope : (r, n) float
        Derivatives of the margins by the unknowns of that port; of both ports for what is asked of both.
    """

    kind: str
    port: int
    margin: F64
    scale: F64
    where_mm: F64
    slope: F64


def port_blocks(k: int, model: PortModel, state: PortState, slopes: PortSlopes | None, step_mm: float) -> list[Block]:
    """Return all margins of one port; without slopes those of walls at every place watched."""
    blocks = [
        *_area(k, model, state, slopes),
        _necks(k, model, state, slopes),
        _growth(k, model, state, slopes),
        _bow(k, model, state),
        *_own_bounds(k, model, state),
        *_walls(k, model, state, slopes, step_mm),
    ]
    return [b for b in blocks if len(b.margin)]


def worst(blocks: Sequence[Block]) -> dict[str, float]:
    """Return by how much each kind of demand is missed, in its own unit."""
    missed: dict[str, float] = {}
    for b in blocks:
        missed[b.kind] = max(missed.get(b.kind, 0.0), float((-b.margin / b.scale).max(initial=0.0)))
    return missed


def _flow_slope(model: PortModel, slopes: PortSlopes | None, slab: Int) -> F64:
    """Return derivatives (r, n) of the flow area at slabs."""
    if slopes is None:
        return np.empty((len(slab), 0))
    return slopes.flow[:, slab].T


def _area(k: int, model: PortModel, state: PortState, slopes: PortSlopes | None) -> list[Block]:
    s, flow, asked = model.port.chart.distance_mm, state.flow_mm2, model.demand
    made = []
    for kind, margin, bound, sign in (
        (AREA, flow - asked.least_mm2, asked.least_mm2, 1.0),
        (TOO_LARGE, asked.most_mm2 - flow, asked.most_mm2, -1.0),
    ):
        slab = np.flatnonzero(np.isfinite(bound) & (bound > 0.0))
        slope = sign * _flow_slope(model, slopes, slab)
        made.append(Block(kind, k, margin[slab], 0.01 * bound[slab], s[slab], slope))
    return made


def _necks(k: int, model: PortModel, state: PortState, slopes: PortSlopes | None) -> Block:
    """Return how far each place stands above where it would be a neck between the places beside it.

    Where the line that the area follows narrows and widens again, a neck is wanted: both sides are judged apart.
    """
    chart, flow = model.port.chart, state.flow_mm2
    last = chart.slab_at(model.port.throat_mm)
    line = model.demand.line_mm2
    rise = np.diff(line[:, 1])
    turns = line[1:-1, 0][(rise[:-1] < 0.0) & (rise[1:] > 0.0)]
    share = 1.0 - 0.01 * NECK_SHARE * model.limits.neck_percent
    places, shoulders = [], []
    ends = [0, *(chart.slab_at(t) for t in turns), last]
    for a, b in pairwise(ends):
        here = np.arange(a, b + 1)
        before = np.maximum.accumulate(flow[here])
        after = np.maximum.accumulate(flow[here][::-1])[::-1]
        first = np.array([int(np.argmax(flow[here] == top)) for top in np.where(before <= after, before, after)])
        places.append(here)
        shoulders.append(here[first])
    slab, shoulder = np.concatenate(places), np.concatenate(shoulders)
    margin = flow[slab] - share * flow[shoulder]
    near = (margin < 0.01 * SEEN_PERCENT * flow[slab]) & (slab != shoulder)
    slab, shoulder, margin = slab[near], shoulder[near], margin[near]
    slope = _flow_slope(model, slopes, slab) - share * _flow_slope(model, slopes, shoulder)
    return Block(NECK, k, margin, 0.01 * flow[shoulder], chart.distance_mm[slab], slope)


def _growth(k: int, model: PortModel, state: PortState, slopes: PortSlopes | None) -> Block:
    """Return how much slower the radius of equal area grows than the cone allows, as ``taper_of`` sees it."""
    fixed = model.fixed
    radius = np.sqrt(state.flow_mm2[fixed.growth_slab] / np.pi)
    angle, window = 0.5 * np.radians(model.limits.cone_angle_deg), fixed.window_mm
    margin = window * np.tan(angle) - fixed.growth @ radius
    degree = window * (np.tan(angle + np.radians(0.5)) - np.tan(angle))
    slope = -fixed.growth @ (_flow_slope(model, slopes, fixed.growth_slab) / (2.0 * np.pi * radius[:, None]))
    return Block(GROWTH, k, margin, np.full(len(margin), degree), fixed.growth_at_mm, slope)


def _bow(k: int, model: PortModel, state: PortState) -> Block:
    """Return how far the roof line may still move off the chord of any straightedge over it."""
    chords, at = model.fixed.chords, model.fixed.chord_at_mm
    hangs = chords @ (model.runs[0].start_mm + model.line(0, state.cut_mm))
    slope = np.zeros((2 * len(chords), model.count))
    slope[:, : chords.shape[1]] = np.concatenate([-chords, chords])
    bow = model.wishes.roof_bow_mm
    margin = np.concatenate([bow - hangs, bow + hangs])
    return Block(BOW, k, margin, np.ones(len(margin)), np.tile(at, 2), slope)


def _own_bounds(k: int, model: PortModel, state: PortState) -> list[Block]:
    """Return what is left of the user's own limits: most off each side, and how fast a line may rise or fall."""
    made = []
    for i, run in enumerate(model.runs):
        value = model.line(i, state.cut_mm)
        slope = np.zeros((len(value), model.count))
        slope[:, model.first[i] : model.first[i + 1]] = -np.eye(len(value))
        free = np.flatnonzero(run.most_mm > 0.0)
        made.append(
            Block(MOST[SIDES[i]], k, (run.most_mm - value)[free], np.ones(len(free)), run.knot_mm[free], slope[free])
        )
        if SIDES[i] == "roof":
            continue
        step = np.diff(run.knot_mm)
        rate = np.diff(slope, axis=0)
        rise = np.diff(value)
        margin = np.concatenate([model.wishes.slope * step - rise, model.wishes.slope * step + rise])
        middle = 0.5 * (run.knot_mm[:-1] + run.knot_mm[1:])
        made.append(Block(SLOPE, k, margin, np.ones(len(margin)), np.tile(middle, 2), np.concatenate([rate, -rate])))
    return made


def _walls(k: int, model: PortModel, state: PortState, slopes: PortSlopes | None, step_mm: float) -> list[Block]:
    made = []
    s = model.port.chart.distance_mm
    for g, (gauge, wall) in enumerate(zip(model.gauges, state.walls_mm, strict=True)):
        margin = wall - gauge.need_mm
        chosen = np.arange(len(margin)) if slopes is None else thinnest(gauge, margin, 3.0 * step_mm)
        slab = gauge.slab[chosen]
        slope = np.empty((len(chosen), 0))
        if slopes is not None:
            by_side = slopes.walls[g][:, chosen]
            slope = np.concatenate([by_side[i][:, None] * run.hat[slab] for i, run in enumerate(model.runs)], axis=1)
        kind = WALL + gauge.behind.hazard.name
        made.append(Block(kind, k, margin[chosen], np.ones(len(chosen)), s[slab], slope))
    return made
