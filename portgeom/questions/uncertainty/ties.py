"""Which places of a port may as well be its narrowest?"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from portgeom.model.lofted import LoftedPort, LoftedStage
from portgeom.questions.shape.profile import smallest_area
from portgeom.questions.uncertainty.campaign import StageDraws

CLEAR_SD = 3.0
"""A place is narrower than another for certain where the difference is this many of its standard deviations."""

APART_MM = 4.0
"""Places nearer to the smallest than this are the same narrow place."""


@dataclass(frozen=True, slots=True)
class Tie:
    """A place whose area is not clearly larger than the smallest: where, its area, and how often it is smaller."""

    distance_mm: float
    area_mm2: float
    smaller_share: float


def ties(port: LoftedPort, stage: LoftedStage, draws: StageDraws) -> tuple[Tie, ...]:
    """Return the narrow places, up to the throat, from which the smallest area does not stand clear."""
    flow = stage.surface.flow_area_mm2
    least = smallest_area(port, flow)
    s, areas = draws.distance_mm, draws.flow_area_mm2[draws.kept]
    own = np.interp(s, port.chart.distance_mm, flow)
    last = int(np.argmin(np.abs(s - port.throat_mm)))
    beside = np.concatenate([[np.inf], own[: last + 1], [np.inf]])
    narrow = np.flatnonzero((own[: last + 1] <= beside[:-2]) & (own[: last + 1] <= beside[2:]))
    first = int(np.argmin(np.abs(s[: last + 1] - least.distance_mm)))
    found = []
    for j in narrow:
        if abs(s[j] - least.distance_mm) < APART_MM:
            continue
        wider = areas[:, j] - areas[:, first]
        if own[j] - own[first] < CLEAR_SD * float(wider.std()):
            found.append(Tie(float(s[j]), float(own[j]), float((wider < 0.0).mean())))
    return tuple(sorted(found, key=lambda t: t.area_mm2))
