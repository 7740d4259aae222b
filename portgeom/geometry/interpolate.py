"""What shape does a reading have between stations? A cubic that never overshoots its neighbours.

Written here because it must run over any number of rays and draws at once, and because importing the
library form would cost more than a whole profile takes.
"""

from __future__ import annotations

import numpy as np

from portgeom.geometry.arrays import F64, Int


def shape_preserving(knots: F64, values: F64, at: F64) -> F64:
    """Return values between knots by the monotone piecewise cubic.

    Parameters
    ----------
    knots : (n,) or (..., n) float
        Rising, n >= 2; one row for all curves, or one for each leading index.
    values : (..., n, k) float
        One curve for each leading index and each column.
    at : (m,) or (..., m) float
        Places within the knots, likewise.

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
    if knots.ndim == 1 and at.ndim == 1:
        cell = np.clip(np.searchsorted(knots, at, side="right") - 1, 0, len(knots) - 2)
        h, slopes = np.diff(knots)[cell][:, None], _slopes(np.diff(knots), values)
        share = (at - knots[cell])[:, None] / h
        start, end = values[..., cell, :], values[..., cell + 1, :]
        return _cubic(start, end, h * slopes[..., cell, :], h * slopes[..., cell + 1, :], share)
    lead = np.broadcast_shapes(knots.shape[:-1], at.shape[:-1])
    knots = np.broadcast_to(knots, (*lead, knots.shape[-1]))
    cells = np.clip(_cell(knots, at), 0, knots.shape[-1] - 2)
    start, end = (np.take_along_axis(knots, cells + one, axis=-1) for one in (0, 1))
    step, slopes = np.diff(knots), _slopes(np.diff(knots), values)
    chosen = cells[..., None]
    first, last, leave, arrive = (
        np.take_along_axis(row, chosen + one, axis=-2) for row in (values, slopes) for one in (0, 1)
    )
    h = np.take_along_axis(step, cells, axis=-1)[..., None]
    return _cubic(first, last, h * leave, h * arrive, ((at - start) / (end - start))[..., None])


def in_cells(knots: F64, values: F64, cell: Int, share: F64) -> F64:
    """Return the same cubic at shares (m,) of the way through cells (m,) between knots (..., n), one row a curve.

    All curves are asked in the same cells, at the same shares of them, so the cubic is a product of matrices:
    Hermite's four polynomials at the shares, and the values and slopes at the knots.
    """
    count, row = knots.shape[-1], np.arange(len(cell))
    from_values = np.zeros((len(cell), count))
    from_leaving, from_arriving = np.zeros((2, len(cell), count - 1))
    rest = 1.0 - share
    from_values[row, cell] = rest**2 * (1.0 + 2.0 * share)
    from_values[row, cell + 1] = share**2 * (3.0 - 2.0 * share)
    from_leaving[row, cell] = share * rest**2
    from_arriving[row, cell] = -(share**2) * rest
    step = np.diff(knots)[..., None, :]
    from_slopes = np.zeros((*knots.shape[:-1], len(cell), count))
    from_slopes[..., :-1] += from_leaving * step
    from_slopes[..., 1:] += from_arriving * step
    curve = from_values @ values
    curve += from_slopes @ _slopes(step[..., 0, :], values)
    return curve


def _cubic(start: F64, end: F64, leave: F64, arrive: F64, t: F64) -> F64:
    """Return the cubic from start to end at shares t of the way, exact at both ends."""
    rise = end - start
    curve = start + t * (leave + t * (3.0 * rise - 2.0 * leave - arrive + t * (leave + arrive - 2.0 * rise)))
    exact_end = t == 1.0
    return np.where(exact_end, end, curve) if exact_end.any() else curve


def _slopes(step: F64, values: F64) -> F64:
    h = step[..., :, None]
    chord = np.diff(values, axis=-2) / h
    if step.shape[-1] == 1:
        return np.concatenate([chord, chord], axis=-2)
    before, after = chord[..., :-1, :], chord[..., 1:, :]
    first_h, last_h = h[..., :-1, :], h[..., 1:, :]
    w_before, w_after = 2.0 * last_h + first_h, last_h + 2.0 * first_h
    same = before * after > 0.0
    with np.errstate(divide="ignore", invalid="ignore", over="ignore"):  # where chords change sign, taken out below
        inner = w_before / before
        inner += w_after / after
        np.divide(w_before + w_after, inner, out=inner)
    inner[~same] = 0.0
    first = _end_slope(h[..., 0, :], h[..., 1, :], chord[..., 0, :], chord[..., 1, :])
    last = _end_slope(h[..., -1, :], h[..., -2, :], chord[..., -1, :], chord[..., -2, :])
    return np.concatenate([first[..., None, :], inner, last[..., None, :]], axis=-2)


def _end_slope(near: F64, far: F64, chord: F64, next_chord: F64) -> F64:
    slope = ((2.0 * near + far) * chord - near * next_chord) / (near + far)
    slope = np.where(slope * chord <= 0.0, 0.0, slope)
    limited = (chord * next_chord < 0.0) & (np.abs(slope) > 3.0 * np.abs(chord))
    return np.where(limited, 3.0 * chord, slope)


def straight_between(places: F64, values: F64, at: F64) -> F64:
    """Return values (..., m, k) along rising places (..., m) at other places (..., q), straight between neighbours.

    Each leading index has places of its own; beyond the ends the pieces there are carried on.
    """
    cell = np.clip(_cell(places, at), 0, places.shape[-1] - 2)
    start, end = (np.take_along_axis(places, cell + one, axis=-1) for one in (0, 1))
    first, last = (np.take_along_axis(values, (cell + one)[..., None], axis=-2) for one in (0, 1))
    share = ((at - start) / (end - start))[..., None]
    return (1.0 - share) * first + share * last


def _cell(places: F64, at: F64) -> Int:
    """Return after which of its row's places (..., m) each of at (..., q) comes, -1 before the first."""
    if places.ndim == 1:
        return np.searchsorted(places, at, side="right") - 1
    rows, width = places.reshape(-1, places.shape[-1]), places.shape[-1]
    wanted = np.broadcast_to(at, (*places.shape[:-1], at.shape[-1])).reshape(len(rows), -1)
    # rows laid end to end, far enough apart that none of one lies among another's
    low, high = min(rows.min(), wanted.min()), max(rows.max(), wanted.max())
    shift = 2.0 * (high - low + 1.0) * np.arange(len(rows))[:, None]
    found = np.searchsorted((rows + shift).ravel(), (wanted + shift).ravel(), side="right")
    return (found.reshape(wanted.shape) - 1 - width * np.arange(len(rows))[:, None]).reshape(
        *places.shape[:-1], at.shape[-1]
    )
