"""Which errors can the readings of a section have, and what does each do to it?

Every reading is an independent error of its own standard deviation; what a tool is off by is common to all of
its readings in the whole campaign.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import TypeAlias

import numpy as np

from portgeom.geometry.arrays import F64, frozen
from portgeom.geometry.chart import Chart
from portgeom.geometry.outline import Outline, OutlineError
from portgeom.geometry.surface import station_distances
from portgeom.job.shape_readings import ShapeReadings
from portgeom.job.values import Accuracy, StationRow
from portgeom.model.lofted import LoftedStage

TRACE_ALONG_MM = 10.0
"""The error of a traced outline runs together over about this length: a slip of the hand, not a jitter."""

LEAST_SHARE = 1e-3
"""Waves of a trace's error with less than this share of its variance are left out."""

STEP_MM = 0.05
"""Step in which the response of a section to a reading is taken."""

BIASED = ("width", "height", "width_low", "width_high", "height_left", "height_right")
"""Readings across a section, which a caliper that reads wrong gets wrong; radii and places it does not."""


@dataclass(frozen=True, slots=True)
class Term:
    """One independent error: whose reading, of what, and its standard deviation in mm."""

    station: int
    what: str
    sd_mm: float


@dataclass(frozen=True, slots=True)
class SectionErrors:
    """What errors do to the distances of a stage's stations, for one millimetre (or one unit) of each.

    Attributes
    ----------
    terms : tuple of Term
        Independent errors, station by station. The waves of one trace share their station and their name.
    response : (t, n) float
        Change of the station's distances along the rays, a row a term.
    gauge_bias, trace_bias : (k, n) float
        Change at every station for 1 mm that calipers, or tracing, make every width and height too large.
    """

    terms: tuple[Term, ...]
    response: F64
    gauge_bias: F64
    trace_bias: F64


def section_errors(chart: Chart, stage: LoftedStage, accuracy: Accuracy) -> SectionErrors:
    """Return the errors of a stage's sections, and what each does to them on a chart.

    Notes
    -----
    The response is taken by moving the reading a little each way and measuring the outline along the same
    rays again. A section is so nearly straight in its readings that over three standard deviations of the
    usual accuracy this is within 0.01 mm.
    """
    rows = stage.stage.sections.rows
    terms: list[Term] = []
    moves: list[_Move] = []
    for k, row in enumerate(rows):
        for what, sd, moved in _readings(row, accuracy):
            if sd > 0.0:
                terms.append(Term(k, what, sd))
                moves.append(_both_ways(k, row.outline, moved))
    moves += [_both_ways(k, row.outline, _biased(row)) for k, row in enumerate(rows)]
    response = _responses(chart, stage, moves)
    bias = response[len(terms) :]
    gauged = np.array([row.readings is not None for row in rows], dtype=np.float64)[:, None]
    return SectionErrors(
        tuple(terms), frozen(response[: len(terms)]), frozen(bias * gauged), frozen(bias * (1.0 - gauged))
    )


def row_again(row: StationRow, size_mm: F64, *, gauge_bias_mm: float, trace_bias_mm: float) -> StationRow:
    """Return a row whose section is read again.

    Parameters
    ----------
    size_mm : (t,) float
        Errors of the row's terms, in their order in ``SectionErrors``; none where nothing is wrong with them.

    Raises
    ------
    OutlineError
        Where such readings make no outline.
    """
    if row.readings is None:
        push = np.full(len(row.outline.points_mm), 0.5 * trace_bias_mm)
        for size, wave in zip(size_mm, _waves(row.outline), strict=False):
            push += size * wave.around
        return replace(row, outline=Outline.polygon(_pushed_points(row.outline, push)))
    biased = np.isin(row.readings.columns, BIASED)
    values = row.readings.values_mm + gauge_bias_mm * biased
    readings = row.readings.with_values(values + size_mm if len(size_mm) else values)
    return replace(row, outline=readings.outline(), readings=readings)


_Moved: TypeAlias = Callable[[float], Outline]


@dataclass(frozen=True, slots=True)
class _Move:
    """The outlines of a station with one reading larger and smaller, and how far apart the two readings are."""

    station: int
    larger: Outline
    smaller: Outline
    apart_mm: float


def _both_ways(station: int, outline: Outline, moved: _Moved) -> _Move:
    """Return both outlines; where one does not exist, as a corner radius that would not fit, the other and none."""
    sides, apart = [], 0.0
    for way in (STEP_MM, -STEP_MM):
        try:
            sides.append(moved(way))
            apart += STEP_MM
        except OutlineError:
            sides.append(outline)
    return _Move(station, sides[0], sides[1], apart or STEP_MM)


def _responses(chart: Chart, stage: LoftedStage, moves: Sequence[_Move]) -> F64:
    at = stage.distance_mm[[m.station for m in moves]]
    larger = station_distances(chart, at, [m.larger for m in moves])
    smaller = station_distances(chart, at, [m.smaller for m in moves])
    return (larger - smaller) / np.array([m.apart_mm for m in moves])[:, None]


def _readings(row: StationRow, accuracy: Accuracy) -> list[tuple[str, float, _Moved]]:
    """Return every reading of a row: what it is, its standard deviation, and the outline with it moved."""
    if row.readings is None:
        sd = accuracy.trace_mm if row.sd_mm is None else row.sd_mm
        return [("outline", sd * w.share, _pushed(row.outline, w.around)) for w in _waves(row.outline)]
    sd = accuracy.gauge_mm if row.sd_mm is None else row.sd_mm
    return [(column, sd, _moved_readings(row.readings, k)) for k, column in enumerate(row.readings.columns)]


def _moved_readings(readings: ShapeReadings, *which: int) -> _Moved:
    chosen = np.isin(np.arange(len(readings.columns)), which)
    return lambda by_mm: readings.with_values(readings.values_mm + by_mm * chosen).outline()


def _biased(row: StationRow) -> _Moved:
    """Return the outline whose widths and heights are all read too large by a length."""
    if row.readings is None:
        return _pushed(row.outline, np.full(len(row.outline.points_mm), 0.5))
    across = [k for k, column in enumerate(row.readings.columns) if column in BIASED]
    return _moved_readings(row.readings, *across)


@dataclass(frozen=True, slots=True)
class _Wave:
    """A wave of a trace's error: its share of the standard deviation, and its height (n,) at the outline's points."""

    share: float
    around: F64


def _waves(outline: Outline) -> list[_Wave]:
    """Return the waves of a trace's error round an outline.

    A random run of errors whose correlation falls off as exp(-(d / TRACE_ALONG_MM)^2 / 2) along the outline,
    closed round it, is a sum of waves of whole numbers round with these variances.
    """
    points = outline.points_mm
    step = np.hypot(*(np.roll(points, -1, axis=0) - points).T)
    share = 2.0 * np.pi * (np.cumsum(step) - step) / step.sum()
    number = np.arange(max(1, len(points) // 4))
    power = np.exp(-0.5 * (number * 2.0 * np.pi * TRACE_ALONG_MM / step.sum()) ** 2)
    power[1:] *= 2.0
    power /= power.sum()
    # a sine and a cosine of unit variance each have the variance of the whole wave everywhere
    return [
        _Wave(float(np.sqrt(power[n])), wave(n * share))
        for n in np.flatnonzero(power >= LEAST_SHARE).tolist()
        for wave in (np.cos, np.sin)[: 1 if n == 0 else 2]
    ]


def _pushed(outline: Outline, by: F64) -> _Moved:
    """Return the outline pushed outwards along its normals by shares (n,) of a length."""
    return lambda mm: Outline.curve(
        _pushed_points(outline, mm * by), area_mm2=outline.area_mm2, perimeter_mm=outline.perimeter_mm
    )


def _pushed_points(outline: Outline, by_mm: F64) -> F64:
    points = outline.points_mm
    along = np.roll(points, -1, axis=0) - np.roll(points, 1, axis=0)
    outward = np.column_stack([along[:, 1], -along[:, 0]]) / np.hypot(*along.T)[:, None]
    return points + by_mm[:, None] * outward
