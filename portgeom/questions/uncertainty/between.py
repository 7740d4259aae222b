"""How much may a port do between its stations that nobody measured?

Each station but the outermost is left out in turn and the port lofted through the others. What that changes tells
how far a loft strays over a gap twice as long as the real ones.
"""

from __future__ import annotations

import numpy as np

from portgeom.geometry.interpolate import shape_preserving
from portgeom.questions.uncertainty.draws import Block, drawn, without_errors
from portgeom.questions.uncertainty.figures import Figures, block_figures, each_figure
from portgeom.questions.uncertainty.prepared import Prepared

STRAYS = 0.125
"""A cubic that keeps the shape strays as the third power of the gap, so over half a gap by an eighth."""


def between_stations(p: Prepared, k: int) -> Figures:
    """Return the standard deviation of every figure of a stage from what lies between its stations, as one row.

    Notes
    -----
    The changes of all stations, taken down to the real gaps, are added as independent errors are. With two
    stations there is none to leave out, and the term is zero.
    """
    m = p.measuring
    stations, at = m.stations_mm[k], m.port.stages[k].distance_mm
    inner = range(1, len(at) - 1)
    if not inner:
        return each_figure(np.zeros_like, p.plain[k])
    without = np.stack(
        [shape_preserving(np.delete(at, i), np.delete(stations, i, axis=0), m.chart.distance_mm) for i in inner]
    )
    whole = drawn(without_errors(m, len(without)), slice(0, len(without)))
    rho = tuple(without if j == k else own for j, own in enumerate(whole.rho_mm))
    (found,) = block_figures(m, p.asked, Block(whole.draws, whole.chart, rho), only=k)
    return each_figure(
        lambda left_out, plain: STRAYS * np.sqrt(((left_out - plain) ** 2).sum(axis=0, keepdims=True)),
        found,
        p.plain[k],
    )
