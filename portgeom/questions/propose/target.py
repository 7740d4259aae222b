"""What target do cuts along the lines make, in figures a person would write?"""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from portgeom.geometry.arrays import F64, frozen
from portgeom.job.values import Line, Target, Units
from portgeom.questions.propose.port_model import PortModel

STEP_MM: dict[Units, float] = {"mm": 0.01, "in": 0.0005 * 25.4}
"""Steps to which the lines of a proposed target are rounded: finer than any gauge, so that nothing is lost."""

NOTHING_MM = 0.004
"""Less than this off a whole line is no line."""


def target_from(model: PortModel, cut_mm: F64, name: str, units: Units, *, radius: Line | None = None) -> Target:
    """Return the target that cuts (n,) make.

    There is always a roof line, since without one the roof would be bridged by guess.
    """
    roof, left, _, floor = model.runs
    depth = [model.line(i, cut_mm) for i in range(len(model.runs))]
    step = STEP_MM[units]
    height = roof.start_mm + depth[0]
    # a line that takes nothing off must not come to lie a hair below the roof
    height = np.where(np.abs(depth[0]) < step, step * np.ceil(height / step - 1e-6), height)
    target = Target(name, roof=_line(roof.knot_mm, height, step), corner_radius=radius)
    if max(depth[1].max(), depth[2].max()) > NOTHING_MM:
        sides = _rounded(np.stack([np.maximum(depth[1], 0.0), np.maximum(depth[2], 0.0)], axis=1), step)
        target = replace(target, widen=_rows(left.knot_mm, sides, step))
    if floor.most_mm.any() and depth[3].max() > NOTHING_MM:
        target = replace(target, floor_line=_line(floor.knot_mm, floor.start_mm - depth[3], step))
    return target


def _line(at: F64, value: F64, step: float) -> Line:
    return Line(_rows(at, _rounded(value[:, None], step), step))


def _rounded(values: F64, step: float) -> F64:
    return step * np.rint(values / step)


def _rows(at: F64, values: F64, step: float) -> F64:
    """Return rows of distance and values (k, c), without points that lie straight between their neighbours."""
    kept = [0]
    for k in range(1, len(at) - 1):
        # what has been left out since the last point kept must lie on the chord to the next one
        between = np.arange(kept[-1] + 1, k + 1)
        share = ((at[between] - at[kept[-1]]) / (at[k + 1] - at[kept[-1]]))[:, None]
        chord = (1.0 - share) * values[kept[-1]] + share * values[k + 1]
        if np.abs(chord - values[between]).max() > 0.5 * step:
            kept.append(k)
    kept.append(len(at) - 1)
    return frozen(np.column_stack([at[kept], values[kept]]))
