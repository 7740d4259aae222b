"""Which reading makes a figure unsure most, so that one knows what to measure again?

One reading at a time is moved by its standard deviation, through the same code as the draws. These slopes serve only
to rank the readings; intervals come from the draws.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np

from portgeom.geometry.arrays import F64
from portgeom.questions.uncertainty.draws import Bias, Measuring, blocks, without_errors
from portgeom.questions.uncertainty.figures import Figures, block_figures, joined_figures
from portgeom.questions.uncertainty.path_draws import PathErrors
from portgeom.questions.uncertainty.prepared import Prepared

GAUGE, TRACING = "gauge", "tracing"
"""The two tools whose bias all their readings share."""


@dataclass(frozen=True, slots=True)
class Reading:
    """A reading, or what a tool is off by.

    ``what`` is a column of the section table, or "outline" for a trace, or one of the two tools; ``station`` is the
    station's name, "" for a tool.
    """

    what: str
    station: str

    @property
    def shared(self) -> bool:
        """Return whether it is a tool's bias."""
        return self.station == ""


@dataclass(frozen=True, slots=True)
class Contribution:
    """A reading, and its share of the sum of squares of all."""

    reading: Reading
    share: float


@dataclass(frozen=True, slots=True)
class Ranking:
    """All readings of a port's stage, and how far each moves the stage's figures: one row a row of errors."""

    readings: tuple[Reading, ...]
    figures: Figures
    plain: Figures

    def most(self, of: Callable[[Figures], F64]) -> tuple[Contribution, ...]:
        """Return the contributions to a figure (b,) picked out of figures, the largest first."""
        squares: dict[Reading, float] = {}
        moved = of(self.figures) - of(self.plain)
        for reading, change in zip(self.readings, np.nan_to_num(moved), strict=True):
            squares[reading] = squares.get(reading, 0.0) + float(change) ** 2
        whole = sum(squares.values())
        if whole <= 0.0:
            return ()
        return tuple(sorted((Contribution(r, s / whole) for r, s in squares.items()), key=lambda c: -c.share))


def ranking(p: Prepared, k: int) -> Ranking:
    """Return how every reading that a stage's figures depend on moves them."""
    m = p.measuring
    own, path = m.port.stages[k].stage.sections.rows, m.port.cast.stage.sections.rows
    terms = m.stages[k].sections.terms
    readings = [Reading(t.what, own[t.station].station) for t in terms]
    readings += [Reading(name, row.station) for name in ("distance", "pitch", "yaw") for row in path]
    readings += [Reading(GAUGE, ""), Reading(TRACING, "")]
    moved = _one_at_a_time(m, k, len(readings))
    found = [figures for block in blocks(moved) for figures in block_figures(m, p.asked, block, only=k)]
    return Ranking(tuple(readings), joined_figures(found), p.plain[k])


def _one_at_a_time(m: Measuring, k: int, rows: int) -> Measuring:
    """Return draws in each of which one reading is off by its standard deviation: sections, path, tools."""
    path, stations = m.port.cast.stage.sections.rows, m.path.distance_mm.shape[1]
    first = len(m.stages[k].sections.terms)
    size = np.zeros((rows, first))
    np.fill_diagonal(size, [t.sd_mm for t in m.stages[k].sections.terms])
    read = [any(getattr(r, f"{name}_deg") is not None for r in path) for name in ("pitch", "yaw")]
    sds = m.accuracy.distance_mm, m.accuracy.pitch_deg * read[0], m.accuracy.pitch_deg * read[1]
    along = np.zeros((3, rows, stations))
    for j, sd in enumerate(sds):
        np.fill_diagonal(along[j, first + j * stations :], sd)
    along[0, first, 0] = 0.0  # the first station lies on the face
    bias = np.zeros((2, rows))
    bias[[0, 1], [rows - 2, rows - 1]] = m.accuracy.tool_bias_mm
    nothing = without_errors(m, rows)
    stages = [replace(s, size_mm=size) if j == k else s for j, s in enumerate(nothing.stages)]
    return replace(nothing, path=PathErrors(*along), bias=Bias(*bias), stages=tuple(stages))
