"""What would a port measure, were it measured again and again?

A block of draws at a time goes through the same loft, areas and volumes as the port itself, with a leading axis,
on a coarse chart. What a draw differs by from the port itself on that chart is added to what the port measures on
its own, so the chart's coarseness cancels.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from portgeom.geometry.arrays import F64, Bool
from portgeom.geometry.chart import Chart, Resolution, lay_chart
from portgeom.geometry.interpolate import in_cells, shape_preserving
from portgeom.geometry.surface import station_distances
from portgeom.job.values import Accuracy
from portgeom.model.lofted import LoftedPort, LoftedStage
from portgeom.questions.uncertainty.chance import normals
from portgeom.questions.uncertainty.errors import SectionErrors, section_errors
from portgeom.questions.uncertainty.path_draws import PathErrors, drawn_path, path_errors

COARSE = Resolution(slab_mm=7.0, rays=64)
"""How finely a draw is cut up."""

BLOCK = 100
"""Draws worked on together: enough that the steps of their paths and roofs cost little by themselves, few enough that
their surfaces stay near the processor."""


@dataclass(frozen=True, slots=True)
class Bias:
    """What calipers and tracing are off by (n,) in mm, the same for every reading of a draw."""

    gauge_mm: F64
    trace_mm: F64


def tool_bias(accuracy: Accuracy, *, draws: int, seed: int) -> Bias:
    """Return what the tools are off by in every draw of a campaign."""
    gauge, trace = (accuracy.tool_bias_mm * normals(seed, "tool", tool, shape=(draws,)) for tool in ("gauge", "trace"))
    return Bias(gauge, trace)


@dataclass(frozen=True, slots=True)
class StageErrors:
    """The errors of one stage: what they do, and how large each is in every draw.

    Attributes
    ----------
    sections : SectionErrors
    size_mm : (n, t) float
        Of each independent term.
    distance_mm : (n, k) float
        Of the stage's own distances; zero where its stations lay the path, and at both ends.
    """

    sections: SectionErrors
    size_mm: F64
    distance_mm: F64


@dataclass(frozen=True, slots=True)
class Measuring:
    """All that is needed to draw one port's stages: the coarse chart, its stations and the errors.

    ``stations_mm`` holds each stage's distances (k, n) along the rays, without errors, and ``cast_mm`` (m, n) those
    of the sections as cast at every slab.
    """

    port: LoftedPort
    chart: Chart
    accuracy: Accuracy
    stations_mm: tuple[F64, ...]
    cast_mm: F64
    path: PathErrors
    bias: Bias
    stages: tuple[StageErrors, ...]

    @property
    def draws(self) -> int:
        """Return how many draws there are."""
        return len(self.bias.gauge_mm)


@dataclass(frozen=True, slots=True)
class Block:
    """Some draws of a port on their own paths: which ones, the chart, and each stage's distances (b, m, n)."""

    draws: slice
    chart: Chart
    rho_mm: tuple[F64, ...]


def measuring(port: LoftedPort, accuracy: Accuracy, bias: Bias, *, seed: int) -> Measuring:
    """Return what is needed to draw a port."""
    rows = port.cast.stage.sections.rows
    chart = lay_chart(
        port.chart.path, [r.outline for r in rows], more_knots_mm=port.chart.knots_mm.tolist(), resolution=COARSE
    )
    draws, name = len(bias.gauge_mm), port.port.name
    stages = tuple(_stage_errors(chart, port, stage, accuracy, draws, seed) for stage in port.stages)
    stations = tuple(
        station_distances(chart, s.distance_mm, [r.outline for r in s.stage.sections.rows]) for s in port.stages
    )
    path = path_errors(port.cast.stage.sections, accuracy, draws=draws, seed=seed, port=name)
    cast = shape_preserving(port.cast.distance_mm, stations[0], chart.distance_mm)
    return Measuring(port, chart, accuracy, stations, cast, path, bias, stages)


def _stage_errors(
    chart: Chart, port: LoftedPort, stage: LoftedStage, accuracy: Accuracy, draws: int, seed: int
) -> StageErrors:
    sections = section_errors(chart, stage, accuracy)
    names = port.port.name, stage.stage.name
    sd = np.array([t.sd_mm for t in sections.terms])
    size = sd * normals(seed, *names, "sections", shape=(draws, len(sd)))
    distance = np.zeros((draws, len(stage.distance_mm)))
    if stage is not port.cast:
        distance = accuracy.distance_mm * normals(seed, *names, "distance", shape=distance.shape)
        distance[:, [0, -1]] = 0.0
    return StageErrors(sections, size, distance)


def without_errors(m: Measuring, draws: int = 1) -> Measuring:
    """Return draws in which nothing is wrong."""
    stations = m.path.distance_mm.shape[1]
    path = PathErrors(*np.zeros((3, draws, stations)))
    stages = tuple(
        StageErrors(s.sections, np.zeros((draws, s.size_mm.shape[1])), np.zeros((draws, s.distance_mm.shape[1])))
        for s in m.stages
    )
    return Measuring(m.port, m.chart, m.accuracy, m.stations_mm, m.cast_mm, path, Bias(*np.zeros((2, draws))), stages)


def blocks(m: Measuring, *, size: int = BLOCK) -> Iterator[Block]:
    """Yield all draws of a port, some at a time."""
    for first in range(0, m.draws, size):
        yield drawn(m, slice(first, min(first + size, m.draws)))


def drawn(m: Measuring, draws: slice) -> Block:
    """Return some draws of a port."""
    path = drawn_path(m.port.cast.stage.sections, m.path.of(draws), start_mm=m.port.port.position_mm)
    chart = m.chart.laid_over(path)
    return Block(draws, chart, tuple(_stage_rho(m, k, chart, draws) for k in range(len(m.stages))))


def _stage_rho(m: Measuring, k: int, chart: Chart, draws: slice) -> F64:
    stage, errors = m.port.stages[k], m.stages[k]
    at_stations = _with_errors(m.stations_mm[k], errors, m.bias, draws)
    path, s = m.chart.path, m.chart.distance_mm
    if stage is m.port.cast:
        cell = path.interval_of(s)
        share = (s - path.distance_mm[cell]) / np.diff(path.distance_mm)[cell]
        return in_cells(chart.path.distance_mm, at_stations, cell, share)
    knots = _own_distances(m, stage) @ np.moveaxis(chart.path.distance_mm, -1, 0)
    knots = np.moveaxis(knots, 0, -1) + errors.distance_mm[draws]
    return shape_preserving(knots, at_stations, np.clip(chart.distance_mm, knots[:, :1], knots[:, -1:]))


def _own_distances(m: Measuring, stage: LoftedStage) -> F64:
    """Return the shares (k, i) of the path's stations that make up the places of a stage's stations."""
    path = m.chart.path
    i = path.interval_of(stage.distance_mm)
    share = (stage.distance_mm - path.distance_mm[i]) / np.diff(path.distance_mm)[i]
    weights = np.zeros((len(i), len(path.distance_mm)))
    row = np.arange(len(i))
    weights[row, i], weights[row, i + 1] = 1.0 - share, share
    return weights


def _with_errors(stations_mm: F64, errors: StageErrors, bias: Bias, draws: slice) -> F64:
    """Return the distances (b, k, n) of a stage's stations with the errors of some draws."""
    sections = errors.sections
    gauge, trace = bias.gauge_mm[draws], bias.trace_mm[draws]
    drawn = np.empty((len(gauge), *stations_mm.shape))
    station = np.array([t.station for t in sections.terms], dtype=np.intp)
    first = np.searchsorted(station, np.arange(len(stations_mm) + 1))
    for k, (a, b) in enumerate(pairwise(first)):
        own = errors.size_mm[draws, a:b] @ sections.response[a:b]
        drawn[:, k] = stations_mm[k] + own + np.outer(gauge, sections.gauge_bias[k])
        drawn[:, k] += np.outer(trace, sections.trace_bias[k])
    return drawn


def folded(chart: Chart, rho_mm: F64) -> Bool:
    """Return which draws (b,) have planes that cross inside sections with distances (b, m, n).

    Draws whose stations are out of order count too.
    """
    sweep, rays = chart.sweep, chart.rays
    crossed: Bool = np.any(np.diff(chart.distance_mm) <= 0.0, axis=-1)
    # no tip is further from the middle of its spine than half the spine and the longest distance
    reach = (chart.half_mm + rho_mm.max(axis=-1))[:, sweep.slab]
    centre = chart.centre_mm[sweep.slab]
    spare = sweep.advance - sweep.turn_right * centre[:, 0] - sweep.turn_up * centre[:, 1]
    near = spare <= reach * np.hypot(sweep.turn_right, sweep.turn_up)
    draw, row = np.nonzero(near & ~crossed[:, None])
    slab = sweep.slab[row]
    right, up = sweep.turn_right[draw, row, None], sweep.turn_up[draw, row, None]
    ahead = right * rays.direction[:, 0] + up * rays.direction[:, 1]
    furthest = (right * chart.half_mm[slab, None] * rays.foot + ahead * rho_mm[draw, slab]).max(axis=-1)
    crossed[draw[spare[draw, row] <= furthest]] = True
    return crossed
