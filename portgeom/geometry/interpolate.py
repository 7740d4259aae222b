"""What shape does a reading have between stations? A cubic that never overshoots its neighbours.

Written here because it must run over any number of rays and draws at once, and because importing the
library form would cost more than a whole profile takes.
"""

from __future__ import annotations

import numpy as np

from portgeom.geometry.arrays import F64


def shape_preserving(knots: F64, values: F64, at: F64) -> F64:
    """Return values between knots by the monotone piecewise cubic.

    Parameters
    ----------
    knots : (n,) float
        Rising, n >= 2.
    values : (..., n, k) float
        One curve for each leading index and each column.
    at : (m,) float
        Places within the knots.

    Returns
    -------
    (..., m, k) float
        Exactly ``values`` at the knots; between two knots never outside their two values.

    Notes
    -----
    Slopes after F. N. Fritsch and J. Butland, SIAM J. Sci. Stat. Comput. 5 (1984) 300: a weighted
    harmonic mean of the neighbouring chords, zero where they change sign; three-point slopes at the
    ends, held to the shape. Third order in the spacing, second at a turning point.

    Examples
    --------
    >>> y = np.array([[0.0], [1.0], [1.0]])
    >>> shape_preserving(np.array([0.0, 1.0, 2.0]), y, np.array([1.0, 1.5])).ravel().tolist()
    [1.0, 1.0]
    """
    step = np.diff(knots)
    slopes = _slopes(step, values)
    cell = np.clip(np.searchsorted(knots, at, side="right") - 1, 0, len(knots) - 2)
    h = step[cell][:, None]
    t = (at - knots[cell])[:, None] / h
    start, end = values[..., cell, :], values[..., cell + 1, :]
    rise = end - start
    leave = h * slopes[..., cell, :]
    arrive = h * slopes[..., cell + 1, :]
    curve = start + t * (leave + t * (3.0 * rise - 2.0 * leave - arrive + t * (leave + arrive - 2.0 * rise)))
    exact_end = at == knots[cell + 1]
    curve[..., exact_end, :] = end[..., exact_end, :]
    return curve


def _slopes(step: F64, values: F64) -> F64:
    h = step[:, None]
    chord = np.diff(values, axis=-2) / h
    if len(step) == 1:
        return np.concatenate([chord, chord], axis=-2)
    before, after = chord[..., :-1, :], chord[..., 1:, :]
    w_before, w_after = 2.0 * h[1:] + h[:-1], h[1:] + 2.0 * h[:-1]
    same = before * after > 0.0
    safe_before, safe_after = np.where(same, before, 1.0), np.where(same, after, 1.0)
    inner = np.where(same, (w_before + w_after) / (w_before / safe_before + w_after / safe_after), 0.0)
    first = _end_slope(h[0], h[1], chord[..., 0, :], chord[..., 1, :])
    last = _end_slope(h[-1], h[-2], chord[..., -1, :], chord[..., -2, :])
    return np.concatenate([first[..., None, :], inner, last[..., None, :]], axis=-2)


def _end_slope(near: F64, far: F64, chord: F64, next_chord: F64) -> F64:
    slope = ((2.0 * near + far) * chord - near * next_chord) / (near + far)
    slope = np.where(slope * chord <= 0.0, 0.0, slope)
    limited = (chord * next_chord < 0.0) & (np.abs(slope) > 3.0 * np.abs(chord))
    return np.where(limited, 3.0 * chord, slope)
