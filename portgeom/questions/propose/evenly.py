"""Of all cuts that cost the same, which is the most even? Left as right, lines that change least, ports alike."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from portgeom.geometry.arrays import F64
from portgeom.questions.propose.problem import Problem

VARIATION = 0.5
"""What a mm of change between neighbouring points of a line weighs against a mm between left and right."""

BEND = 3.0
"""What a change of a line's slope weighs, in mm for a mm in a mm."""

ALIKE = 0.25
"""What a mm between two ports that are to match weighs."""


@dataclass(frozen=True, slots=True)
class Evenness:
    """Differences (q, n) of cuts, taken absolute and weighted (q,)."""

    rows: F64
    start: F64
    weight: F64

    def of(self, cut_mm: F64) -> float:
        """Return how uneven cuts are."""
        return float(self.weight @ np.abs(self.rows @ cut_mm + self.start))


def evenness(problem: Problem) -> Evenness:
    """Return the differences that an even solution has least of."""
    rows: list[F64] = []
    starts: list[float] = []
    weights: list[float] = []
    total = problem.first[-1]
    places = []
    for k, model in enumerate(problem.models):
        at = [problem.first[k] + f for f in model.first]
        places.append(at)
        unit = np.eye(total)
        for i, run in enumerate(model.runs):
            own = unit[at[i] : at[i + 1]]
            step = np.diff(run.knot_mm)
            change, rise = np.diff(own, axis=0), np.diff(run.start_mm)
            if run.side != "roof":
                rows += list(change)
                starts += [0.0] * len(step)
                weights += [VARIATION] * len(step)
            rate, climb = change / step[:, None], rise / step
            rows += list(np.diff(rate, axis=0))
            starts += list(np.diff(climb))
            weights += [BEND * float(np.mean(step))] * (len(step) - 1)
        left, right = unit[at[1] : at[2]], unit[at[2] : at[3]]
        rows += list(left - right)
        starts += [0.0] * len(left)
        weights += [1.0] * len(left)
    if problem.matched:
        first = problem.models[0]
        for k, model in enumerate(problem.models[1:], 1):
            swapped = model.port.port.mirrored != first.port.port.mirrored
            for i, j in ((0, 0), (1, 2 if swapped else 1), (2, 1 if swapped else 2), (3, 3)):
                here = [np.eye(total)[places[m][n] : places[m][n + 1]] for m, n in ((0, i), (k, j))]
                if len(here[0]) == len(here[1]):
                    rows += list(here[0] - here[1])
                    starts += [0.0] * len(here[0])
                    weights += [ALIKE] * len(here[0])
    return Evenness(np.array(rows), np.array(starts), np.array(weights))
